"""Least distances between segments, and between curves of straights and arcs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.curves import Curves
from loopsolver.geometry.vectors import Array, Indices

PAIRS_A_ROUND: Final = 256
"""About how many pairs a round looks at: so few cost little more than one would."""

FEWEST_PARTS: Final = 4
"""Into how many parts at least a round cuts the rounder piece of a pair."""


def segment_shares(
    first_start: Array, first_vector: Array, second_start: Array, second_vector: Array
) -> tuple[Array, Array]:
    """Return where pairs of segments are nearest to each other.

    Parameters
    ----------
    first_start, second_start : array (k, 3) [mm]
    first_vector, second_vector : array (k, 3) [mm]
        From start to end; a segment may have no length.

    Returns
    -------
    first_share, second_share : array (k,)
        In [0, 1] from start to end. Any of the nearest pairs where there are several.

    Notes
    -----
    The least of a convex quadratic over the unit square. Its least over the whole plane
    is where the line between the points stands square on both [1]_; where that lies
    outside, each share in turn is clipped and the other one taken anew.

    References
    ----------
    .. [1] C. Ericson, Real-Time Collision Detection, 2005, section 5.1.9.
    """
    between = second_start - first_start
    uu = _dot(first_vector, first_vector)
    vv = _dot(second_vector, second_vector)
    uv = _dot(first_vector, second_vector)
    u_between = _dot(first_vector, between)
    v_between = _dot(second_vector, between)
    cross = uu * vv - uv * uv
    first = _clipped_ratio(u_between * vv - v_between * uv, cross)
    second = _clipped_ratio(uv * first - v_between, vv)
    first = _clipped_ratio(uv * second + u_between, uu)
    return first, second


def _dot(first: Array, second: Array) -> Array:
    """Return the dot products of rows."""
    products: Array = np.einsum("ij,ij->i", first, second)
    return products


def _clipped_ratio(over: Array, under: Array) -> Array:
    """Return the ratio clipped to [0, 1]; 0 where there is nothing to divide by."""
    is_safe = under > 0.0
    ratio: Array = np.where(is_safe, over, 0.0) / np.where(is_safe, under, 1.0)
    return np.clip(ratio, 0.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NearestPoints:
    """A distance between two curves [mm], and where they are that near."""

    distance: float
    on_first: Array
    on_second: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Spans:
    """Intervals of the pieces of a curve, k of them."""

    curves: Curves
    piece: Indices
    low: Array
    high: Array

    def pick(self, which: Indices) -> _Spans:
        """Return the intervals at `which`."""
        return _Spans(
            curves=self.curves,
            piece=self.piece[which],
            low=self.low[which],
            high=self.high[which],
        )

    def cut(self, parts: Indices, part: Indices) -> _Spans:
        """Return one part of each interval, of as many equal ones as `parts` says."""
        step = (self.high - self.low) / parts
        return _Spans(
            curves=self.curves,
            piece=self.piece,
            low=self.low + step * part,
            high=np.where(part + 1 == parts, self.high, self.low + step * (part + 1)),
        )

    def points(self, share: float | Array) -> Array:
        """Return the points at shares 0 to 1 of each interval, (k, 3) [mm]."""
        at = self.low + share * (self.high - self.low)
        return self.curves.points(self.piece, at)

    def bulges(self) -> Array:
        """Return how the intervals part from their chords, (k, 3) [mm]."""
        return self.curves.bulges(self.piece, self.low, self.high)


def nearest_points(
    first: Curves, second: Curves, *, resolution: float
) -> NearestPoints:
    """Return the least distance between two curves, and where they are that near.

    Parameters
    ----------
    first, second : Curves
        At least one piece each.
    resolution : float [mm]
        The true least distance is at most this much below the one returned.

    Notes
    -----
    Pairs of straights are solved exactly. Where the chords of two pieces are nearest,
    the planes square to the line between them hold the chords apart by d; an arc rises
    above its chord to one known side, so what its rise takes along that line, if it
    rises towards the other chord, is all that it can come nearer by. A pair for which
    this is too much has its rounder piece cut up.

    References
    ----------
    Branch and bound: A. H. Land and A. G. Doig, Econometrica 28 (1960). From memory. The
    bound is our own.
    """
    best, left, right = _from_middles(first, second)
    while left.piece.size:
        left_bulge, right_bulge = left.bulges(), right.bulges()
        bound, meeting = _bound_and_meeting(left, left_bulge, right, right_bulge)
        best = min(best, meeting, key=lambda found: found.distance)
        row = np.flatnonzero(bound < best.distance - resolution)
        parts = max(FEWEST_PARTS, PAIRS_A_ROUND // max(1, row.size))
        is_left = _dot(left_bulge, left_bulge) >= _dot(right_bulge, right_bulge)
        row, part = np.repeat(row, parts), np.tile(np.arange(parts), row.size)
        is_cut = is_left[row]
        left = left.pick(row).cut(np.where(is_cut, parts, 1), np.where(is_cut, part, 0))
        right = right.pick(row).cut(
            np.where(is_cut, 1, parts), np.where(is_cut, 0, part)
        )
    return best


def _from_middles(
    first: Curves, second: Curves
) -> tuple[NearestPoints, _Spans, _Spans]:
    """Return the nearest two middles of pieces, and the pairs that can be nearer."""
    on_first, on_second = first.middles(), second.middles()
    between = on_second[None, :, :] - on_first[:, None, :]
    distance = np.sqrt((between * between).sum(axis=2))
    row, column = np.unravel_index(distance.argmin(), distance.shape)
    best = NearestPoints(
        distance=float(distance[row, column]),
        on_first=on_first[row],
        on_second=on_second[column],
    )
    bound = distance - first.half_reach()[:, None] - second.half_reach()
    rows, columns = np.nonzero(bound < best.distance)
    return best, _whole(first, rows), _whole(second, columns)


def _whole(curves: Curves, piece: Indices) -> _Spans:
    """Return whole pieces as intervals."""
    return _Spans(
        curves=curves, piece=piece, low=curves.start[piece], high=curves.stop[piece]
    )


def _bound_and_meeting(
    left: _Spans, left_bulge: Array, right: _Spans, right_bulge: Array
) -> tuple[Array, NearestPoints]:
    """Return what each pair's distance cannot fall below, and the nearest meeting.

    The meeting is taken where the chords are nearest, but on the curves themselves.
    """
    left_start, right_start = left.points(0.0), right.points(0.0)
    left_chord = left.points(1.0) - left_start
    right_chord = right.points(1.0) - right_start
    left_share, right_share = segment_shares(
        left_start, left_chord, right_start, right_chord
    )
    between = right_start + right_share[:, None] * right_chord
    between -= left_start + left_share[:, None] * left_chord
    apart = np.sqrt(_dot(between, between))
    rise = np.maximum(_dot(left_bulge, between), 0.0)
    rise += np.maximum(-_dot(right_bulge, between), 0.0)
    bound = apart - rise / np.where(apart > 0.0, apart, 1.0)
    on_left, on_right = left.points(left_share), right.points(right_share)
    length = np.sqrt(_dot(on_right - on_left, on_right - on_left))
    row = int(length.argmin())
    meeting = NearestPoints(
        distance=float(length[row]), on_first=on_left[row], on_second=on_right[row]
    )
    return bound, meeting
