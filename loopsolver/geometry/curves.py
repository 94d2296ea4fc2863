"""Straight and circular pieces of a curve, laid out as arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.vectors import Array, Flags, Indices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curves:
    """Pieces of curve, m of them.

    A straight runs through ``origin + w * first``; an arc through
    ``origin + cos(w) * first + sin(w) * second``; w goes from `start` to `stop`.

    Attributes
    ----------
    origin, first, second : array (m, 3) [mm]
        A straight's `first` has length 1 and its `second` is zero; an arc's are as
        long as its radius and square to each other.
    start, stop : array (m,)
        Length along a straight [mm]; angle along an arc, no more than pi apart [rad].
    is_bent : bool array (m,)
        Whether the piece is an arc.
    """

    origin: Array
    first: Array
    second: Array
    start: Array
    stop: Array
    is_bent: Flags

    def __len__(self) -> int:
        """Return the number of pieces."""
        return len(self.start)

    def pick(self, which: Indices) -> Curves:
        """Return the pieces at `which`."""
        return Curves(
            origin=self.origin[which],
            first=self.first[which],
            second=self.second[which],
            start=self.start[which],
            stop=self.stop[which],
            is_bent=self.is_bent[which],
        )

    def points(self, which: Indices, at: Array) -> Array:
        """Return points of the pieces `which` at the parameters `at`, (k, 3) [mm]."""
        along = np.where(self.is_bent[which], np.cos(at), at)[:, None]
        points: Array = along * self.first[which]
        points += np.sin(at)[:, None] * self.second[which]
        points += self.origin[which]
        return points

    def bulges(self, which: Indices, low: Array, high: Array) -> Array:
        """Return how the pieces `which` part from their chords, (k, 3) [mm].

        A piece from `low` to `high` lies between its chord and its chord moved by this
        vector, which is zero for a straight: its length is the arc's rise above the
        chord, r (1 - cos(angle / 2)).
        """
        share = 2.0 * np.sin(0.25 * (high - low)) ** 2
        share = np.where(self.is_bent[which], share, 0.0)
        middle = 0.5 * (low + high)
        bulges: Array = (share * np.cos(middle))[:, None] * self.first[which]
        bulges += (share * np.sin(middle))[:, None] * self.second[which]
        return bulges

    def middles(self) -> Array:
        """Return the middle of each piece, (m, 3) [mm]."""
        return self.points(np.arange(len(self)), 0.5 * (self.start + self.stop))

    def half_reach(self) -> Array:
        """Return the distance of each piece's middle from its ends, (m,) [mm]."""
        spread = self.stop - self.start
        radius = np.sqrt((self.first * self.first).sum(axis=1))
        reach: Array = radius * np.where(
            self.is_bent, 2.0 * np.sin(0.25 * spread), 0.5 * spread
        )
        return reach


def valley(left: Array, leaving: Array, right: Array, arriving: Array) -> Array:
    """Return the least height of the higher of two lines over the unit interval.

    One starts at height `left` with slope `leaving`; the other ends at height `right`
    with slope `arriving`.
    """
    is_valley = (leaving < 0.0) & (arriving > 0.0)
    bend = np.where(is_valley, arriving - leaving, 1.0)
    share = np.clip((left - right + arriving) / bend, 0.0, 1.0)
    valley = left + leaving * share
    slope = np.where(leaving >= 0.0, left, right)
    return np.where(is_valley, valley, slope)
