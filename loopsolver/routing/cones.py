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

from dataclasses import dataclass, replace
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Slides:
    """What is tried where angles and ports leave one leg free.

    Attributes
    ----------
    spare : tuple of float
        Shares of what one leg may be longer than its least and another is shorter for.
    longer : tuple of float [mm]
        What the first leg is longer than its least where nothing ends it.
    """

    spare: tuple[float, ...] = (0.0, 0.15, 0.3, 0.5, 0.7, 0.85, 1.0)
    longer: tuple[float, ...] = (0.0, 12.0, 30.0, 60.0, 100.0, 150.0)


FEW: Final = Slides()
MANY: Final = Slides(
    spare=tuple(share / 60.0 for share in range(61)),
    longer=tuple(6.0 * steps for steps in range(61)),
)


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
    legs : array (m,) [mm]
        Length of the three legs together.
    """

    pair: Indices
    first: Array
    second: Array
    legs: Array

    def pick(self, which: Indices | NDArray[np.bool_]) -> Joined:
        """Return some of the joins."""
        return Joined(
            pair=self.pair[which],
            first=self.first[which],
            second=self.second[which],
            legs=self.legs[which],
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Task:
    """Some of the pairs, and the bends and legs that their joins must have."""

    pairs: Pairs
    rows: Indices
    angles: tuple[float, float]
    least: tuple[Array, float, Array]
    slides: Slides

    def among(self, rows: Indices) -> _Task:
        return replace(self, rows=rows)

    def legs(self) -> tuple[Array, Array, Array, Array, Array]:
        """Return out, home, between, and least first and last leg of the rows."""
        pairs, rows = self.pairs, self.rows
        between = pairs.end[rows] - pairs.start[rows]
        first, _, last = self.least
        return pairs.out[rows], pairs.home[rows], between, first[rows], last[rows]


def joined(
    pairs: Pairs,
    *,
    angles: tuple[float, float],
    least: tuple[Array, float, Array],
    slides: Slides = FEW,
) -> Joined:
    """Return all joins of pairs of rays by two bends of these angles [rad].

    Parameters
    ----------
    pairs : Pairs
    angles : bend angles at the first and the second vertex [rad]
    least : least lengths of the first, middle and last leg [mm]
        The first and last as arrays (n,).
    slides : Slides
    """
    k = (pairs.out * pairs.home).sum(axis=1)
    aligned = 1.0 - k * k < PARALLEL
    task = _Task(
        pairs=pairs,
        rows=np.flatnonzero(~aligned),
        angles=angles,
        least=least,
        slides=slides,
    )
    skew = _skew_joins(task)
    return _together([*skew, *_parallel_joins(task.among(np.flatnonzero(aligned)))])


def _together(parts: list[Joined]) -> Joined:
    return Joined(
        pair=np.concatenate([p.pair for p in parts]).astype(np.intp),
        first=np.concatenate([p.first for p in parts]).reshape(-1, 3),
        second=np.concatenate([p.second for p in parts]).reshape(-1, 3),
        legs=np.concatenate([p.legs for p in parts]),
    )


def _nothing() -> Joined:
    none = np.empty((0, 3))
    return Joined(
        pair=np.empty(0, dtype=np.intp), first=none, second=none, legs=np.empty(0)
    )


def _laid(task: _Task, first: Array, middle: Array, last: Array) -> Joined:
    """Return the joins of the task's rows whose three legs are long enough [mm]."""
    pairs, rows = task.pairs, task.rows
    least_first, least_middle, least_last = task.least
    with np.errstate(invalid="ignore"):
        good = (
            (first >= least_first[rows] - 1e-9)
            & (middle >= least_middle - 1e-9)
            & (last >= least_last[rows] - 1e-9)
        )
    rows = rows[good]
    return Joined(
        pair=rows,
        first=pairs.start[rows] + first[good, None] * pairs.out[rows],
        second=pairs.end[rows] - last[good, None] * pairs.home[rows],
        legs=(first + middle + last)[good],
    )


def _skew_joins(task: _Task) -> list[Joined]:
    out, home = task.pairs.out[task.rows], task.pairs.home[task.rows]
    k = (out * home).sum(axis=1)
    cos_a, cos_b = np.cos(task.angles[0]), np.cos(task.angles[1])
    x = (cos_a - k * cos_b) / (1.0 - k * k)
    y = (cos_b - k * cos_a) / (1.0 - k * k)
    height = 1.0 - x * x - y * y - 2.0 * x * y * k
    normal = np.cross(out, home)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    base = x[:, None] * out + y[:, None] * home
    raised = np.flatnonzero(height > FLAT)
    z = np.sqrt(height[raised])[:, None] * normal[raised]
    among = task.among(task.rows[raised])
    found = [_three_legs(among, base[raised] + side * z) for side in (1.0, -1.0)]
    flat = np.flatnonzero(np.abs(height) <= FLAT)
    found += _flat_joins(task.among(task.rows[flat]), base[flat], normal[flat])
    return found


def _three_legs(task: _Task, middle: Array) -> Joined:
    """Return the joins whose middle legs have these directions, (rows, 3).

    Cramer's rule on ``a out + m middle + c home = end - start``.
    """
    out, home, between, _, _ = task.legs()
    across = np.cross(middle, home)
    volume = (out * across).sum(axis=1)
    volume = np.where(np.abs(volume) < FLAT, np.nan, volume)
    first = (between * across).sum(axis=1) / volume
    mid = (out * np.cross(between, home)).sum(axis=1) / volume
    last = (out * np.cross(middle, between)).sum(axis=1) / volume
    return _laid(task, first, mid, last)


def _flat_joins(task: _Task, middle: Array, normal: Array) -> list[Joined]:
    """Return joins that lie in one plane: one leg is free, so several are tried."""
    _, _, between, _, _ = task.legs()
    in_plane = np.abs((between * normal).sum(axis=1)) < IN_PLANE
    task, middle, normal = (
        task.among(task.rows[in_plane]),
        middle[in_plane],
        normal[in_plane],
    )
    if not len(task.rows):
        return []
    out, home, between, least, _ = task.legs()
    volume = (np.cross(middle, home) * normal).sum(axis=1)
    volume = np.where(np.abs(volume) < FLAT, np.nan, volume)
    found = []
    for longer in task.slides.longer:
        first = least + longer
        rest = between - first[:, None] * out
        mid = (np.cross(rest, home) * normal).sum(axis=1) / volume
        last = (np.cross(middle, rest) * normal).sum(axis=1) / volume
        found.append(_laid(task, first, mid, last))
    return found


def _parallel_joins(task: _Task) -> list[Joined]:
    """Return joins of rays of one direction (an offset) or of opposite ones (a U)."""
    out, home, _, _, _ = task.legs()
    turned_on = (out * home).sum(axis=1) > 0.0
    found = [_nothing()]
    if abs(task.angles[0] - task.angles[1]) < PARALLEL:
        found += _offsets(task.among(task.rows[turned_on]))
    if abs(task.angles[0] + task.angles[1] - np.pi) < PARALLEL:
        found += _returns(task.among(task.rows[~turned_on]))
    return found


def _rolled(task: _Task) -> tuple[_Task, Array, Array]:
    """Return the rows with a set, their middle legs and what is left along them [mm]."""
    out, _, between, _, _ = task.legs()
    along = (between * out).sum(axis=1)
    size = np.linalg.norm(between - along[:, None] * out, axis=1)
    some = size > IN_PLANE
    middle = size[some] / np.sin(task.angles[0])
    left = along[some] - middle * np.cos(task.angles[0])
    return task.among(task.rows[some]), middle, left


def _offsets(task: _Task) -> list[Joined]:
    """Return offsets: what the first leg is longer, the last is shorter."""
    task, middle, left = _rolled(task)
    _, _, _, least_first, least_last = task.legs()
    spare = left - least_first - least_last
    possible = np.where(spare >= -1e-9, np.maximum(spare, 0.0), np.nan)
    return [
        _laid(
            task,
            least_first + share * possible,
            middle,
            left - least_first - share * possible,
        )
        for share in task.slides.spare
    ]


def _returns(task: _Task) -> list[Joined]:
    """Return U-turns: what the first leg is longer, the last is longer too."""
    task, middle, left = _rolled(task)
    _, _, _, least_first, least_last = task.legs()
    shortest = np.maximum(least_first, least_last + left)
    return [
        _laid(task, shortest + longer, middle, shortest + longer - left)
        for longer in task.slides.longer
    ]
