"""Tubes with bends of given angles that close on both ends exactly.

Between two rays lie two bends and the leg that joins them: its direction stands at one
bend angle to the first ray and at another to the second, so it is where two cones meet.
Then the three legs follow from one linear system. Everything here is done for many
pairs of rays at once.

With ``n = e1 x e2 / |e1 x e2|`` and ``k = e1 . e2`` let the middle leg's direction be
``x e1 + y e2 + z n`` and the vector between the rays ``p e1 + q e2 + r n``. Then::

    x = (cos a - k cos b) / (1 - k^2),  y = (cos b - k cos a) / (1 - k^2)
    z^2 = 1 - x^2 - y^2 - 2 x y k
    middle = |r| / |z|,  first = p - middle x,  last = q - middle y

References
----------
The direction on two cones is the second of the Paden-Kahan subproblems, to turn a vector
into another about two axes: R. M. Murray, Z. Li and S. S. Sastry, A Mathematical
Introduction to Robotic Manipulation (1994), chapter 3. From memory. The lengths that
follow from it are our own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.routing.effort import USUAL
from loopsolver.routing.effort.angled import FreeLegs
from loopsolver.tolerances import (
    FLAT,
    OUT_OF_PLANE,
    PARALLEL_SINE,
    ROUNDING,
    SAME_ANGLE,
)
from loopsolver.tube.setting_out import offset_advance, offset_travel


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Pairs of rays to close: from `start` along `out` ... and along `home` to `end`.

    Made by `paired`. Attributes are of n pairs.

    Attributes
    ----------
    start, out, home, end : arrays (n, 3)
        `home` is the direction of travel in which the tube arrives.
    k : array (n,)
        Cosine between `out` and `home`.
    ahead, homeward, aside : arrays (n,) [mm]
        The vector from `start` to `end` as a sum of `out`, `home` and their unit normal;
        where the rays have one direction or opposite ones, how far `end` lies along
        `out`, 0, and how far aside of it.
    """

    start: Array
    out: Array
    home: Array
    end: Array
    k: Array
    ahead: Array
    homeward: Array
    aside: Array

    @property
    def is_parallel(self) -> Flags:
        """Whether the two rays have one direction or opposite ones, (n,)."""
        parallel: Flags = 1.0 - self.k * self.k < PARALLEL_SINE
        return parallel


def paired(*, start: Array, out: Array, home: Array, end: Array) -> Pairs:
    """Return pairs of rays; all arrays (n, 3), directions of unit length."""
    between = end - start
    k, on_out, on_home = _dot(out, home), _dot(between, out), _dot(between, home)
    rest = 1.0 - k * k
    parallel = rest < PARALLEL_SINE
    safe = np.where(parallel, 1.0, rest)
    ahead = np.where(parallel, on_out, (on_out - k * on_home) / safe)
    homeward = np.where(parallel, 0.0, (on_home - k * on_out) / safe)
    left = between - ahead[:, None] * out - homeward[:, None] * home
    return Pairs(
        start=start,
        out=out,
        home=home,
        end=end,
        k=k,
        ahead=ahead,
        homeward=homeward,
        aside=np.sqrt(_dot(left, left)),
    )


def _dot(first: Array, second: Array) -> Array:
    product: Array = np.einsum("ij,ij->i", first, second)
    return product


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Closures:
    """Closures of pairs: the pair's number, and the two vertices.

    Attributes
    ----------
    pair : array (m,)
    first, last : array (m,) [mm]
        Lengths of the first leg, which ends in the first vertex, and of the last.
    legs : array (m,) [mm]
        Length of the three legs together.
    """

    pair: Indices
    first: Array
    last: Array
    legs: Array

    def pick(self, which: Indices | Flags) -> Closures:
        """Return some of the closures."""
        return Closures(
            pair=self.pair[which],
            first=self.first[which],
            last=self.last[which],
            legs=self.legs[which],
        )

    def vertices(self, pairs: Pairs) -> tuple[Array, Array]:
        """Return the vertices of both bends, (m, 3) each [mm]."""
        first = pairs.start[self.pair] + self.first[:, None] * pairs.out[self.pair]
        last = pairs.end[self.pair] - self.last[:, None] * pairs.home[self.pair]
        return first, last


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Wanted:
    """Some of the pairs, and the bends and legs that their closures must have."""

    pairs: Pairs
    rows: Indices
    angles: tuple[float, float]
    least: tuple[Array, float, Array]
    free_legs: FreeLegs

    def among(self, which: Flags) -> _Wanted:
        return replace(self, rows=self.rows[which])

    @property
    def least_first(self) -> Array:
        return self.least[0][self.rows]

    @property
    def least_last(self) -> Array:
        return self.least[2][self.rows]

    def laid(self, first: Array, middle: Array, last: Array) -> Closures:
        """Return the closures of the rows whose three legs are long enough [mm]."""
        good = (
            (first >= self.least_first - ROUNDING)
            & (middle >= self.least[1] - ROUNDING)
            & (last >= self.least_last - ROUNDING)
        )
        legs = first + middle + last
        return Closures(
            pair=self.rows[good], first=first[good], last=last[good], legs=legs[good]
        )


def closures(
    pairs: Pairs,
    *,
    angles: tuple[float, float],
    least: tuple[Array, float, Array],
    free_legs: FreeLegs = USUAL.laying_out.few_free_legs,
) -> Closures:
    """Return all closures of pairs of rays by two bends of these angles [rad].

    Parameters
    ----------
    pairs : Pairs
    angles : bend angles at the first and the second vertex [rad]
    least : least lengths of the first, middle and last leg [mm]
        The first and last as arrays (n,).
    free_legs : FreeLegs
    """
    every = np.arange(len(pairs.k))
    wanted = _Wanted(
        pairs=pairs, rows=every, angles=angles, least=least, free_legs=free_legs
    )
    parallel = pairs.is_parallel
    parts = [
        *_skew_closures(wanted.among(~parallel)),
        *_parallel_closures(wanted.among(parallel)),
    ]
    return Closures(
        pair=np.concatenate([p.pair for p in parts]).astype(np.intp),
        first=np.concatenate([p.first for p in parts]),
        last=np.concatenate([p.last for p in parts]),
        legs=np.concatenate([p.legs for p in parts]),
    )


def _skew_closures(wanted: _Wanted) -> Iterator[Closures]:
    k = wanted.pairs.k[wanted.rows]
    cos_a, cos_b = np.cos(wanted.angles[0]), np.cos(wanted.angles[1])
    x = (cos_a - k * cos_b) / (1.0 - k * k)
    y = (cos_b - k * cos_a) / (1.0 - k * k)
    height = 1.0 - x * x - y * y - 2.0 * x * y * k
    raised = height > FLAT
    among = wanted.among(raised)
    pairs, rows = wanted.pairs, among.rows
    middle = pairs.aside[rows] / np.sqrt(height[raised])
    yield among.laid(
        pairs.ahead[rows] - middle * x[raised],
        middle,
        pairs.homeward[rows] - middle * y[raised],
    )
    flat = (np.abs(height) <= FLAT) & (pairs.aside[wanted.rows] < OUT_OF_PLANE)
    if flat.any():
        yield from _flat_closures(wanted.among(flat), x[flat], y[flat])


def _flat_closures(wanted: _Wanted, x: Array, y: Array) -> Iterator[Closures]:
    """Yield closures that lie in one plane: one leg is free, so several are tried."""
    pairs, rows = wanted.pairs, wanted.rows
    for longer in wanted.free_legs.longer:
        first = wanted.least_first + longer
        middle = (pairs.ahead[rows] - first) / x
        yield wanted.laid(first, middle, pairs.homeward[rows] - middle * y)


def _parallel_closures(wanted: _Wanted) -> Iterator[Closures]:
    """Yield closures of rays of one direction (an offset) or of opposite ones (a U)."""
    same = wanted.pairs.k[wanted.rows] > 0.0
    some = wanted.pairs.aside[wanted.rows] > OUT_OF_PLANE
    if abs(wanted.angles[0] - wanted.angles[1]) < SAME_ANGLE:
        yield from _offsets(wanted.among(same & some))
    if abs(wanted.angles[0] + wanted.angles[1] - np.pi) < SAME_ANGLE:
        yield from _returns(wanted.among(~same & some))


def _rolled(wanted: _Wanted) -> tuple[Array, Array]:
    """Return the middle legs and what is left along the rays [mm]."""
    aside, angle = wanted.pairs.aside[wanted.rows], wanted.angles[0]
    left = wanted.pairs.ahead[wanted.rows] - offset_advance(aside, angle)
    return offset_travel(aside, angle), left


def _offsets(wanted: _Wanted) -> Iterator[Closures]:
    """Yield offsets: what the first leg is longer, the last is shorter."""
    middle, left = _rolled(wanted)
    spare = left - wanted.least_first - wanted.least_last
    possible = np.where(spare >= -ROUNDING, np.maximum(spare, 0.0), np.nan)
    for share in wanted.free_legs.spare:
        longer = share * possible
        first = wanted.least_first + longer
        yield wanted.laid(first, middle, left - first)


def _returns(wanted: _Wanted) -> Iterator[Closures]:
    """Yield U-turns: what the first leg is longer, the last is longer too."""
    middle, left = _rolled(wanted)
    shortest = np.maximum(wanted.least_first, wanted.least_last + left)
    for longer in wanted.free_legs.longer:
        first = shortest + longer
        yield wanted.laid(first, middle, first - left)
