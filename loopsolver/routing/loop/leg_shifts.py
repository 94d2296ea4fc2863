"""Routes like those that were found, with a leg shifted to lie beside another tube.

Where the legs before and after a leg run parallel to each other, it can move along
them: no bend changes, and where both run the same way, neither does the length. A move of
our own for the local search of `parallel_search`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from loopsolver.errors import GeometryError
from loopsolver.geometry.vectors import Array, dot, point
from loopsolver.routing.effort import USUAL
from loopsolver.routing.loop.parallels import NEARLY_ALONG, stretches
from loopsolver.routing.loop.route_pool import Route
from loopsolver.tolerances import (
    ALONG_AXIS,
    MICROMETRE,
    NEIGHBOUR_DIAMETERS,
    TOUCH,
    WRITTEN_DECIMALS,
)
from loopsolver.tube.centreline import Centreline, legs, straights

NEAT_DIAMETERS: Final = 2.0
"""A spacing worth trying in outer diameters: a tube's breadth between two tubes.

Common practice, no source.
"""


def leg_shifted_routes(
    routes: Sequence[Route], *, outer_diameter: float, most: int = USUAL.loop.leg_shifts
) -> list[list[Route]]:
    """Return, for each chosen route, routes with one leg shifted beside another tube.

    Nobody has judged them: whether they fit is still to be seen.

    Parameters
    ----------
    routes : sequence of Route
        Those chosen, one a run.
    outer_diameter : float [mm]
    most : int
        So many of each route, those that shift the least.
    """
    lines = [route.centreline for route in routes]
    known = stretches(lines, groups=range(len(lines)), outer_diameter=outer_diameter)
    spacings = sorted(
        {
            *(round(each, MICROMETRE) for each in known.spacing.tolist()),
            NEAT_DIAMETERS * outer_diameter,
            NEIGHBOUR_DIAMETERS * outer_diameter,
        }
    )
    found: list[list[Route]] = []
    for number, route in enumerate(routes):
        others = [*lines[:number], *lines[number + 1 :]]
        shifted = sorted(
            {
                (abs(by), leg, by)
                for leg in _shiftable_legs(route.centreline)
                for by in _shifts(route.centreline, leg, others, spacings)
            }
        )
        new = (_shifted(route.centreline, leg, by) for _, leg, by in shifted)
        possible = [line for line in new if _has_straights(line)][:most]
        unknown = replace(
            route.candidate, gap=replace(route.candidate.gap, distance=0.0)
        )
        found.append(
            [
                replace(route, candidate=replace(unknown, centreline=line))
                for line in possible
            ]
        )
    return found


def _shiftable_legs(line: Centreline) -> Iterator[int]:
    """Yield the legs between two that run parallel to each other."""
    along = legs(line).directions
    for leg in range(1, len(along) - 1):
        if abs(dot(along[leg - 1], along[leg + 1])) > 1.0 - ALONG_AXIS:
            yield leg


def _shifts(
    line: Centreline, leg: int, others: Iterable[Centreline], spacings: Sequence[float]
) -> Iterator[float]:
    """Yield how far a leg may shift to lie at one of the spacings from another tube's.

    With v from the leg's axis to the other one's and w the direction of the shift, both
    square to the leg: ``|v - t w| = spacing``.
    """
    along = np.array(legs(line).directions[leg])
    towards = _square_to(along, np.array(legs(line).directions[leg - 1]))
    square = float(towards @ towards)
    start = np.array(line.vertices[leg])
    for other in others:
        for begin, direction in zip(
            other.vertices, legs(other).directions, strict=False
        ):
            if abs(float(along @ direction)) < NEARLY_ALONG:
                continue
            apart = _square_to(along, np.array(begin) - start)
            nearest = float(towards @ apart) / square
            least = apart - nearest * towards
            for spacing in spacings:
                rest = (spacing * spacing - float(least @ least)) / square
                if rest >= -TOUCH:
                    reach = math.sqrt(max(rest, 0.0))
                    for by in (nearest - reach, nearest + reach):
                        if abs(by) > TOUCH:
                            yield round(by, WRITTEN_DECIMALS)


def _square_to(along: Array, vector: Array) -> Array:
    rest: Array = vector - float(vector @ along) * along
    return rest


def _shifted(line: Centreline, leg: int, by: float) -> Centreline:
    """Return a line with a leg shifted along the one before it."""
    shift = by * np.array(legs(line).directions[leg - 1])
    vertices = list(line.vertices)
    for index in (leg, leg + 1):
        vertices[index] = point(np.array(vertices[index]) + shift)
    return replace(line, vertices=tuple(vertices))


def _has_straights(line: Centreline) -> bool:
    """Return whether a line can be bent at all."""
    try:
        return min(straights(line)) >= 0.0
    except GeometryError:
        return False
