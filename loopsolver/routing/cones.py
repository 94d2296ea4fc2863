"""Tubes with bends of given angles that close on both ends exactly.

Between two rays lie two bends and the leg that joins them: its direction stands at one
bend angle to the first ray and at another to the second, so it is where two cones meet.
Then the three legs follow from one linear system. Everything here is done for many
pairs of rays at once.

With ``f = x e1 + y e2 + z n``, ``n = e1 x e2 / |e1 x e2|`` and ``k = e1 . e2``::

    x = (cos a - k cos b) / (1 - k^2),  y = (cos b - k cos a) / (1 - k^2)
    z^2 = 1 - x^2 - y^2 - 2 x y k
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.geometry.vectors import Array

Indices = NDArray[np.intp]

PARALLEL: Final = 1e-9
"""Below this ``1 - k^2`` counts as zero: the rays have one direction or opposite ones."""

FLAT: Final = 1e-9
"""Below this the three directions lie in one plane."""

IN_PLANE: Final = 1e-7
"""How far the far end may lie out of the plane of a flat closure, from rounding [mm]."""

SPARE: Final = (0.0, 0.15, 0.3, 0.5, 0.7, 0.85, 1.0)
"""Shares of what one leg may be longer than its least where another is shorter for it."""

LONGER: Final = (0.0, 12.0, 30.0, 60.0, 100.0, 150.0)
"""What the first leg may be longer than its least where nothing else fixes it [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Pairs of rays to join: from `start` along `out` ... and along `home` to `end`.

    All arrays (n, 3). `home` is the direction of travel in which the tube arrives.
    """

    start: Array
    out: Array
    home: Array
    end: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joined:
    """Ways to join pairs: the pair's number, and the two vertices.

    Attributes
    ----------
    pair : array (m,)
    first, second : array (m, 3) [mm]
        Vertices of the two bends.
    """

    pair: Indices
    first: Array
    second: Array


def joined(
    pairs: Pairs, *, angles: tuple[float, float], least: tuple[Array, float, Array]
) -> Joined:
    """Return all joins of pairs of rays by two bends of these angles [rad].

    Parameters
    ----------
    pairs : Pairs
    angles : bend angles at the first and the second vertex [rad]
    least : least lengths of the first, middle and last leg [mm]
        The first and last as arrays (n,).
    """
    k = (pairs.out * pairs.home).sum(axis=1)
    aligned = 1.0 - k * k < PARALLEL
    skew = _skew_joins(pairs, np.flatnonzero(~aligned), angles=angles, least=least)
    same = _parallel_joins(pairs, np.flatnonzero(aligned), angles=angles, least=least)
    return _together([*skew, *same])


def _together(parts: list[Joined]) -> Joined:
    return Joined(
        pair=np.concatenate([p.pair for p in parts]).astype(np.intp),
        first=np.concatenate([p.first for p in parts]).reshape(-1, 3),
        second=np.concatenate([p.second for p in parts]).reshape(-1, 3),
    )


def _nothing() -> Joined:
    none = np.empty((0, 3))
    return Joined(pair=np.empty(0, dtype=np.intp), first=none, second=none)


def _skew_joins(
    pairs: Pairs,
    rows: Indices,
    *,
    angles: tuple[float, float],
    least: tuple[Array, float, Array],
) -> list[Joined]:
    out, home = pairs.out[rows], pairs.home[rows]
    k = (out * home).sum(axis=1)
    cos_a, cos_b = np.cos(angles[0]), np.cos(angles[1])
    x = (cos_a - k * cos_b) / (1.0 - k * k)
    y = (cos_b - k * cos_a) / (1.0 - k * k)
    height = 1.0 - x * x - y * y - 2.0 * x * y * k
    normal = np.cross(out, home)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    base = x[:, None] * out + y[:, None] * home
    raised = np.flatnonzero(height > FLAT)
    z = np.sqrt(height[raised])[:, None] * normal[raised]
    found = [
        _three_legs(pairs, rows[raised], base[raised] + side * z, least)
        for side in (1.0, -1.0)
    ]
    flat = np.flatnonzero(np.abs(height) <= FLAT)
    found += _flat_joins(pairs, rows[flat], base[flat], normal[flat], least)
    return found


def _three_legs(
    pairs: Pairs, rows: Indices, middle: Array, least: tuple[Array, float, Array]
) -> Joined:
    """Return the joins whose three legs, given their directions, are long enough.

    Cramer's rule on ``a out + m middle + c home = end - start``.
    """
    out, home = pairs.out[rows], pairs.home[rows]
    between = pairs.end[rows] - pairs.start[rows]
    across = np.cross(middle, home)
    volume = (out * across).sum(axis=1)
    volume = np.where(np.abs(volume) < FLAT, np.nan, volume)
    first = (between * across).sum(axis=1) / volume
    mid = (out * np.cross(between, home)).sum(axis=1) / volume
    last = (out * np.cross(middle, between)).sum(axis=1) / volume
    with np.errstate(invalid="ignore"):
        good = (
            (first >= least[0][rows] - 1e-9)
            & (mid >= least[1] - 1e-9)
            & (last >= least[2][rows] - 1e-9)
        )
    rows = rows[good]
    return Joined(
        pair=rows,
        first=pairs.start[rows] + first[good, None] * pairs.out[rows],
        second=pairs.end[rows] - last[good, None] * pairs.home[rows],
    )


def _flat_joins(
    pairs: Pairs,
    rows: Indices,
    middle: Array,
    normal: Array,
    least: tuple[Array, float, Array],
) -> list[Joined]:
    """Return joins that lie in one plane: one leg is free, so several are tried."""
    between = pairs.end[rows] - pairs.start[rows]
    in_plane = np.abs((between * normal).sum(axis=1)) < IN_PLANE
    rows, middle, normal = rows[in_plane], middle[in_plane], normal[in_plane]
    if not len(rows):
        return []
    found = []
    for longer in LONGER:
        first = least[0][rows] + longer
        rest = pairs.end[rows] - pairs.start[rows] - first[:, None] * pairs.out[rows]
        home = pairs.home[rows]
        volume = (np.cross(middle, home) * normal).sum(axis=1)
        volume = np.where(np.abs(volume) < FLAT, np.nan, volume)
        mid = (np.cross(rest, home) * normal).sum(axis=1) / volume
        last = (np.cross(middle, rest) * normal).sum(axis=1) / volume
        with np.errstate(invalid="ignore"):
            good = (mid >= least[1] - 1e-9) & (last >= least[2][rows] - 1e-9)
        kept = rows[good]
        found.append(
            Joined(
                pair=kept,
                first=pairs.start[kept] + first[good, None] * pairs.out[kept],
                second=pairs.end[kept] - last[good, None] * pairs.home[kept],
            )
        )
    return found


def _parallel_joins(
    pairs: Pairs,
    rows: Indices,
    *,
    angles: tuple[float, float],
    least: tuple[Array, float, Array],
) -> list[Joined]:
    """Return joins of rays of one direction (an offset) or of opposite ones (a U)."""
    turned_on = (pairs.out[rows] * pairs.home[rows]).sum(axis=1) > 0.0
    found = [_nothing()]
    if abs(angles[0] - angles[1]) < PARALLEL:
        found += _offsets(pairs, rows[turned_on], angle=angles[0], least=least)
    if abs(angles[0] + angles[1] - np.pi) < PARALLEL:
        found += _returns(pairs, rows[~turned_on], angle=angles[0], least=least)
    return found


def _rolled(
    pairs: Pairs, rows: Indices, angle: float
) -> tuple[Indices, Array, Array, Array]:
    """Return rows with a set, the set's direction, the middle leg and what is left."""
    between = pairs.end[rows] - pairs.start[rows]
    along = (between * pairs.out[rows]).sum(axis=1)
    set_off = between - along[:, None] * pairs.out[rows]
    size = np.linalg.norm(set_off, axis=1)
    some = size > IN_PLANE
    middle = size[some] / np.sin(angle)
    left = along[some] - middle * np.cos(angle)
    return rows[some], set_off[some] / size[some, None], middle, left


def _offsets(
    pairs: Pairs, rows: Indices, *, angle: float, least: tuple[Array, float, Array]
) -> list[Joined]:
    rows, side, middle, left = _rolled(pairs, rows, angle)
    spare = left - least[0][rows] - least[2][rows]
    good = (middle >= least[1] - 1e-9) & (spare >= -1e-9)
    rows, side, middle, spare = rows[good], side[good], middle[good], spare[good]
    lean = np.cos(angle) * pairs.out[rows] + np.sin(angle) * side
    found = []
    for share in SPARE:
        first = least[0][rows] + share * np.maximum(spare, 0.0)
        vertex = pairs.start[rows] + first[:, None] * pairs.out[rows]
        second = vertex + middle[:, None] * lean
        found.append(Joined(pair=rows, first=vertex, second=second))
    return found


def _returns(
    pairs: Pairs, rows: Indices, *, angle: float, least: tuple[Array, float, Array]
) -> list[Joined]:
    rows, side, middle, left = _rolled(pairs, rows, angle)
    good = middle >= least[1] - 1e-9
    rows, side, middle, left = rows[good], side[good], middle[good], left[good]
    lean = np.cos(angle) * pairs.out[rows] + np.sin(angle) * side
    found = []
    for longer in LONGER:
        first = np.maximum(least[0][rows], least[2][rows] + left) + longer
        vertex = pairs.start[rows] + first[:, None] * pairs.out[rows]
        second = vertex + middle[:, None] * lean
        found.append(Joined(pair=rows, first=vertex, second=second))
    return found
