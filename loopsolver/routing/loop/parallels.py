"""Over what length tubes run side by side, and how much of that is evenly spaced.

Builders like tubes that run parallel. Straights of different tubes count where they
point the same way, or the opposite one, and lie near each other; bends do not. The figure
is our own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Indices
from loopsolver.tolerances import (
    EVEN_SPACING,
    NEIGHBOUR_DIAMETERS,
    PARALLEL_DEG,
    TOUCH,
)
from loopsolver.tube.centreline import Centreline, Straight, pieces

NEARLY_ALONG: Final = math.cos(math.radians(PARALLEL_DEG))


@dataclass(frozen=True, slots=True, kw_only=True)
class SideBySide:
    """How much of a loop's tubes run parallel.

    Attributes
    ----------
    length : float
        Over which straights of two tubes run side by side, summed over pairs of tubes
        [mm]. Three tubes in a row count for each two of them that are near enough.
    even : float
        The part of it where the spacing is one that occurs again, in another stretch of
        these or other tubes [mm].
    """

    length: float
    even: float

    @property
    def figure(self) -> float:
        """What choices are compared by: uneven stretches count half [mm]."""
        return 0.5 * (self.length + self.even)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretches:
    """Stretches over which two straights run side by side, one an entry.

    Attributes
    ----------
    first, second : (n,) ints
        Which lines the straights are of; the first is the lower number.
    length : (n,) Array
        Of the stretch [mm].
    spacing : (n,) Array
        From axis to axis, half way along the stretch [mm].
    """

    first: Indices
    second: Indices
    length: Array
    spacing: Array


def side_by_side(
    centrelines: Sequence[Centreline], *, outer_diameter: float
) -> SideBySide:
    """Return over what length tubes run side by side, and how much of it evenly.

    Parameters
    ----------
    centrelines : sequence of Centreline
        One a tube.
    outer_diameter : float
        Of the tubes [mm]; tells which tubes are near each other.
    """
    found = stretches(
        centrelines, groups=range(len(centrelines)), outer_diameter=outer_diameter
    )
    return summed(found.length, found.spacing)


def summed(length: Array, spacing: Array) -> SideBySide:
    """Return the sum over stretches.

    Parameters
    ----------
    length, spacing : (n,) Array [mm]
    """
    order = np.argsort(spacing, kind="stable")
    is_near = np.diff(spacing[order]) <= EVEN_SPACING + TOUCH
    is_even = np.zeros(len(order), dtype=np.bool_)
    is_even[1:] |= is_near
    is_even[:-1] |= is_near
    return SideBySide(
        length=math.fsum(length.tolist()),
        even=math.fsum(length[order][is_even].tolist()),
    )


def stretches(
    centrelines: Sequence[Centreline],
    *,
    groups: Sequence[int],
    outer_diameter: float,
) -> Stretches:
    """Return where lines of different groups run side by side.

    Parameters
    ----------
    centrelines : sequence of Centreline
    groups : sequence of int
        One a line: lines of one group are not compared, such as routes of one run.
    outer_diameter : float [mm]

    Notes
    -----
    Two straights are looked at along the mean of their directions u: they overlap where
    their shadows on u do, and are as far apart as their points at the middle of that.
    """
    owner, start, end = _straights(centrelines)
    along = end - start
    along /= np.linalg.norm(along, axis=1)[:, None]
    group = np.asarray(groups, dtype=np.intp)[owner]
    turned = along @ along.T
    rows, columns = np.nonzero(
        (np.abs(turned) >= NEARLY_ALONG)
        & (owner[:, None] < owner[None, :])
        & (group[:, None] != group[None, :])
    )
    limit = NEIGHBOUR_DIAMETERS * outer_diameter
    same = np.where(turned[rows, columns] < 0.0, -1.0, 1.0)[:, None]
    mean = along[rows] + same * along[columns]
    mean /= np.linalg.norm(mean, axis=1)[:, None]
    one, two = (start[rows], end[rows]), (start[columns], end[columns])
    low, high = _shadow(*one, mean)
    other_low, other_high = _shadow(*two, mean)
    begin, finish = np.maximum(low, other_low), np.minimum(high, other_high)
    middle = 0.5 * (begin + finish)
    between = _at(*two, mean, middle) - _at(*one, mean, middle)
    spacing = np.linalg.norm(between, axis=1)
    counts = (finish - begin > TOUCH) & (spacing <= limit + TOUCH)
    return Stretches(
        first=owner[rows[counts]],
        second=owner[columns[counts]],
        length=(finish - begin)[counts],
        spacing=spacing[counts],
    )


def _straights(
    centrelines: Sequence[Centreline],
) -> tuple[Indices, Array, Array]:
    """Return all straights that have a length: of which line, start and end [mm]."""
    owner: list[int] = []
    ends: list[tuple[tuple[float, ...], tuple[float, ...]]] = []
    for number, line in enumerate(centrelines):
        for piece in pieces(line):
            if (
                isinstance(piece, Straight)
                and math.dist(piece.start, piece.end) > TOUCH
            ):
                owner.append(number)
                ends.append((piece.start, piece.end))
    points = np.array(ends, dtype=float).reshape(-1, 2, 3)
    return np.array(owner, dtype=np.intp), points[:, 0], points[:, 1]


def _shadow(start: Array, end: Array, along: Array) -> tuple[Array, Array]:
    """Return from where to where straights reach along directions [mm]."""
    first, last = (start * along).sum(axis=1), (end * along).sum(axis=1)
    return np.minimum(first, last), np.maximum(first, last)


def _at(start: Array, end: Array, along: Array, where: Array) -> Array:
    """Return the points of straights whose shadow is at a place, (n, 3) [mm]."""
    first, last = (start * along).sum(axis=1), (end * along).sum(axis=1)
    share = (where - first) / (last - first)
    points: Array = start + share[:, None] * (end - start)
    return points
