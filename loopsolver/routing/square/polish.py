"""From the lattice to the touch: no leg can be shortened on its own.

A square route holds, along each axis, one level after the other. A level that is an
extreme, left on the side it was entered from, makes two legs longer than they need be:
it is drawn in until a leg is at its least or the tube is at its clearance. A level
between two legs of the same direction costs nothing wherever it lies: it goes where the
tube has the larger gap.

References
----------
One level at a time, the others held, is coordinate descent: S. J. Wright, Coordinate
descent algorithms, Mathematical Programming 151 (2015). From memory. Which levels move,
and where to, is our own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loopsolver.geometry.vectors import Point, point
from loopsolver.routing.effort import USUAL, SquareEffort
from loopsolver.tolerances import DRAWN_IN, TOUCH

Vertices = tuple[Point, ...]
GapOf = Callable[[Vertices], float]
"""Gap of the route with these vertices [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Vertices that share a coordinate between two legs along one axis.

    Attributes
    ----------
    axis : int
    first, last : int
        Numbers of its first and last vertex.
    low, high : float
        How far it may move down and up until a leg is at its least [mm].
    inward : int
        The direction that shortens the route: +1, -1, or 0 where none does.
    """

    axis: int
    first: int
    last: int
    low: float
    high: float
    inward: int


def levels(vertices: Vertices, least_legs: Sequence[float]) -> tuple[Level, ...]:
    """Return the levels of a square route that may move.

    Parameters
    ----------
    vertices : n Points
        Neighbours differ along one axis only.
    least_legs : n - 1 floats [mm]
    """
    steps = [
        [b - a for a, b in zip(start, end, strict=True)]
        for start, end in pairwise(vertices)
    ]
    axes = [int(np.abs(step).argmax()) for step in steps]
    found = []
    for axis in range(3):
        along = [leg for leg, its_axis in enumerate(axes) if its_axis == axis]
        for before, after in pairwise(along):
            spare_before = abs(steps[before][axis]) - least_legs[before]
            spare_after = abs(steps[after][axis]) - least_legs[after]
            rising, going_on = steps[before][axis] > 0, steps[after][axis] > 0
            spares = {
                # (leg before rises, leg after rises): room downward, room upward
                (True, True): (spare_before, spare_after),
                (False, False): (spare_after, spare_before),
                (True, False): (min(spare_before, spare_after), 0.0),
                (False, True): (0.0, min(spare_before, spare_after)),
            }[rising, going_on]
            inward = 0 if rising == going_on else (-1 if rising else 1)
            found.append(
                Level(
                    axis=axis,
                    first=before + 1,
                    last=after,
                    low=max(spares[0], 0.0),
                    high=max(spares[1], 0.0),
                    inward=inward,
                )
            )
    return tuple(found)


def with_level_moved(vertices: Vertices, level: Level, by: float) -> Vertices:
    """Return the route with one level moved along its axis by so much [mm]."""
    changed = [list(vertex) for vertex in vertices]
    for number in range(level.first, level.last + 1):
        changed[number][level.axis] += by
    return tuple(point(vertex) for vertex in changed)


def polished(
    vertices: Vertices,
    *,
    least_legs: Sequence[float],
    gap_of: GapOf,
    clearance: float,
    effort: SquareEffort = USUAL.square,
) -> Vertices:
    """Return the route with every level drawn in as far as it goes.

    Parameters
    ----------
    vertices : Vertices
        A square route that keeps the clearance.
    least_legs : floats [mm]
    gap_of : GapOf
    clearance : float [mm]
    effort : SquareEffort
    """

    def is_clear(trial: Vertices) -> bool:
        return gap_of(trial) >= clearance - TOUCH

    drawn = True
    while drawn:
        drawn = False
        for number in range(len(levels(vertices, least_legs))):
            level = levels(vertices, least_legs)[number]
            by = _drawn_in(vertices, level, is_clear, effort.draw_step)
            if by > DRAWN_IN:
                vertices = with_level_moved(vertices, level, level.inward * by)
                drawn = True
    return vertices


def _drawn_in(
    vertices: Vertices,
    level: Level,
    is_clear: Callable[[Vertices], bool],
    step: float,
) -> float:
    """Return how far a level can be drawn in without a touch on the way [mm]."""
    room = level.low if level.inward < 0 else level.high
    if level.inward == 0 or room <= DRAWN_IN:
        return 0.0

    def is_free(by: float) -> bool:
        return is_clear(with_level_moved(vertices, level, level.inward * by))

    free, blocked = 0.0, DRAWN_IN
    while is_free(blocked):
        free = blocked
        if free >= room:
            return free
        blocked = min(free + step, room)
    while blocked - free > DRAWN_IN / 2.0:
        middle = (free + blocked) / 2.0
        free, blocked = (middle, blocked) if is_free(middle) else (free, middle)
    return free


def eased(
    vertices: Vertices,
    *,
    least_legs: Sequence[float],
    gap_of: GapOf,
    clearance: float,
    effort: SquareEffort = USUAL.square,
) -> Vertices:
    """Return a route as long, with its free levels where the gap is larger.

    Each level slides to neighbouring places as long as the way there keeps the
    clearance, and stays where the gap was largest.
    """
    count = len(levels(vertices, least_legs))
    for number in range(count):
        level = levels(vertices, least_legs)[number]
        if level.inward:
            continue
        best, best_gap = 0.0, gap_of(vertices)
        for room in (-level.low, level.high):
            for place in range(1, effort.free_places + 1):
                by = room * place / effort.free_places
                gap = gap_of(with_level_moved(vertices, level, by))
                if gap < clearance - TOUCH:
                    break
                if gap > best_gap + DRAWN_IN:
                    best, best_gap = by, gap
        vertices = with_level_moved(vertices, level, best)
    return vertices


def widened(
    vertices: Vertices,
    *,
    least_legs: Sequence[float],
    gap_of: GapOf,
    clearance: float,
    most: float,
) -> Vertices:
    """Return a route with its levels moved until it keeps the clearance, or cannot.

    By steps that are halved where none makes the gap larger; outward as well.

    Parameters
    ----------
    most : float
        The first step [mm].
    """
    gap, step = gap_of(vertices), most
    while gap < clearance - TOUCH and step > DRAWN_IN:
        moved = (
            with_level_moved(vertices, level, by)
            for level in levels(vertices, least_legs)
            for by in (
                -step if level.inward > 0 else -min(step, level.low),
                step if level.inward < 0 else min(step, level.high),
            )
        )
        wider = next((one for one in moved if gap_of(one) > gap), None)
        if wider is None:
            step /= 2.0
        else:
            vertices, gap = wider, gap_of(wider)
    return vertices
