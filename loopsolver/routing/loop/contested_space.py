"""Space that several tubes want: a lattice for all of them, and what of it lies near one.

Tubes that are packed lie a diameter and a clearance from ports, from walls or from each
other, so the lattice has levels there, one beside the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.clearance.shadows import Coordinates, cast_shadows, kept_bounds
from loopsolver.geometry.solids import HalfSpace, Solid
from loopsolver.geometry.vectors import Array
from loopsolver.routing.problem import RouteProblem, TubeEnd

Edges = tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]
"""Something of every edge of a lattice, by axis: (edges along it, lines across)."""

_SHARES: Final = (1 / 24, 1 / 12, 1 / 6, 1 / 4, 1 / 3, 1 / 2, 2 / 3, 1.0, 2.0, 4.0)
"""How far apart levels are at least, as shares of how far tubes are."""

_FIRST: Final = 0.25
"""The same for where first bends may be."""

_SPREAD: Final = 0.5
"""The same for levels that are there only to have some wherever there is room."""


def crowded_coordinates(
    problems: Sequence[RouteProblem],
    ends: Iterable[TubeEnd],
    *,
    apart: float,
    most_nodes: int,
) -> Coordinates:
    """Return coordinates of a lattice on which many tubes may lie side by side [mm].

    All seats are on it. Then come levels, as many as there may be nodes for: where walls
    and bodies let a tube pass, and where one may lie beside these or beside a seat, with
    as many others between as there are; then some wherever there is room, and where
    first bends may be.

    Parameters
    ----------
    problems : sequence of RouteProblem
        The runs'; in one room, and of one tube.
    ends : iterable of TubeEnd
        All of them.
    apart : float
        How far apart two tubes are at least, from axis to axis [mm].
    most_nodes : int
    """
    some, ends = problems[0], [*ends]
    solids = {one.solid for problem in problems for one in problem.obstacles}
    boxes = [kept_bounds(one) for one in solids if not isinstance(one, HalfSpace)]
    wanted = []
    for axis in range(3):
        low = some.room[0][axis] + some.reach
        high = some.room[1][axis] - some.reach
        seats = sorted({end.seat[axis] for end in ends})
        first = sorted({at for end in ends for at in _first_bends(some, end, axis)})
        faces = sorted(
            {
                *(float(box[0, axis]) - some.reach for box in boxes),
                *(float(box[1, axis]) + some.reach for box in boxes),
            }
        )
        sides = (low, high, *faces)
        packed = (*sides, *_beside((*sides, *seats), apart, most=len(problems) - 1))
        most = math.ceil((high - low) / apart)
        spread = _beside((*seats, low), apart, most=most)
        wanted.append(
            (
                seats,
                *(
                    [level for level in some_levels if low <= level <= high]
                    for some_levels in (first, packed, spread)
                ),
            )
        )
    for share in _SHARES:
        x, y, z = (_laid_out(*levels, share=share, apart=apart) for levels in wanted)
        if math.prod((len(x), len(y), len(z))) <= most_nodes:
            break
    return x, y, z


def _first_bends(problem: RouteProblem, end: TubeEnd, axis: int) -> Iterator[float]:
    """Yield where the first bend lies on an axis, and the next, as soon as may be [mm]."""
    along = end.direction[axis]
    if along:
        first = end.straight + problem.bend_radius
        yield end.seat[axis] + along * first
        next_one = first + 2.0 * problem.bend_radius + problem.straight_between_bends
        yield end.seat[axis] + along * next_one


def _laid_out(
    seats: Sequence[float],
    first: Sequence[float],
    packed: Sequence[float],
    spread: Sequence[float],
    *,
    share: float,
    apart: float,
) -> Array:
    """Return the sorted levels of an axis, the more important ones first."""
    levels = _levels(np.unique(seats), first, least=max(share, _FIRST) * apart)
    levels = _levels(levels, packed, least=share * apart)
    return _levels(levels, spread, least=max(share, _SPREAD) * apart)


def _beside(values: Sequence[float], apart: float, *, most: int) -> Iterator[float]:
    """Yield levels once, twice, ... up to `most` times so far apart from given ones."""
    for times in range(1, most + 1):
        for value in values:
            yield value - times * apart
            yield value + times * apart


def _levels(kept: Array, others: Iterable[float], *, least: float) -> Array:
    """Return sorted levels: those kept, and of the others in turn those apart."""
    for value in others:
        at = int(np.searchsorted(kept, value))
        if np.abs(kept[max(at - 1, 0) : at + 1] - value).min() >= least:
            kept = np.insert(kept, at, value)
    return kept


def no_edges(coordinates: Coordinates) -> Edges:
    """Return nothing for every edge."""
    counts = [len(values) for values in coordinates]
    x, y, z = (
        np.zeros((counts[axis] - 1, *counts[:axis], *counts[axis + 1 :]), np.float32)
        for axis in range(3)
    )
    return x, y, z


def near_edges(
    solids: Iterable[tuple[Solid, float]], coordinates: Coordinates
) -> Edges:
    """Return how much of each edge lies within its reach of any one of some solids [mm].

    Of an edge near several of them, the most that one of them takes.
    """
    near = no_edges(coordinates)
    for solid, reach in solids:
        low, high = kept_bounds(solid)
        for axis, values in enumerate(coordinates):
            first = max(int(np.searchsorted(values, low[axis] - reach)) - 1, 0)
            last = int(np.searchsorted(values, high[axis] + reach)) + 1
            begins = values[:-1][first:last, None, None]
            ends = values[1:][first:last, None, None]
            for shadow in cast_shadows([solid], coordinates, axis=axis, reach=reach):
                part = np.minimum(ends, shadow.high) - np.maximum(begins, shadow.low)
                rows, cols = (
                    slice(start, start + count)
                    for start, count in zip(shadow.first, shadow.low.shape, strict=True)
                )
                there = near[axis][first : first + len(begins), rows, cols]
                np.maximum(there, part.astype(np.float32), out=there)
    return near


def tolls_of(edges: Edges) -> tuple[Array, Array, Array]:
    """Return what all edges before each node of a line cost together [mm]."""
    x, y, z = (
        np.cumsum(np.pad(each, ((1, 0), (0, 0), (0, 0))), axis=0, dtype=np.float64)
        for each in edges
    )
    return x, y, z
