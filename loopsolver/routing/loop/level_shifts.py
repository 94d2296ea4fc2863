"""Other places for the levels of a square route, where other tubes leave room.

A search gives the shortest routes, and of those that are equally short one. Two tubes
may fit only if each goes a little out of the other's route. So levels of a route are put
where they would just clear what other tubes have there; what this costs, and whether it
fits, is for the choice to say. A move of our own for the large neighbourhood search of
`neighbourhood`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from loopsolver.geometry.vectors import points_array
from loopsolver.routing.judge import Judge, passed
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.square.polish import Level, Vertices, levels, with_level_moved
from loopsolver.tolerances import GAP_RESOLUTION, SAME_LEVEL, TOUCH


def level_shifted(
    candidate: Candidate, others: Iterable[Vertices], judge: Judge
) -> Iterator[Candidate]:
    """Yield a square candidate with one level at another place.

    Parameters
    ----------
    candidate : Candidate
        Others than square ones, along the case's axes, have no levels to move.
    others : iterable of Vertices
        Of tubes of the same size that it may have to clear.
    judge : Judge
        The run's; what it does not pass is left out.
    """
    vertices = candidate.centreline.vertices
    if len(vertices) < 4 or not _is_along_axes(vertices):
        return
    problem = judge.problem
    tubes = [points_array(each) for each in others]
    for level in levels(vertices, _least_legs(problem, len(vertices) - 2)):
        for place in _places(vertices, level, tubes, problem):
            by = place - vertices[level.first][level.axis]
            line = replace(
                candidate.centreline, vertices=with_level_moved(vertices, level, by)
            )
            shifted = passed(judge, replace(candidate, centreline=line))
            if shifted is not None:
                yield shifted


def _is_along_axes(vertices: Vertices) -> bool:
    """Return whether every leg lies along an axis of the case."""
    steps = np.abs(np.diff(points_array(vertices), axis=0))
    return bool((np.sort(steps, axis=1)[:, :2] < TOUCH).all())


def _least_legs(problem: RouteProblem, bends: int) -> list[float]:
    """Return the least length of each leg of a square tube with so many bends [mm]."""
    radius = problem.bend_radius
    inner = [2.0 * radius + problem.straight_between_bends] * (bends - 1)
    return [problem.start.straight + radius, *inner, problem.goal.straight + radius]


def _places(
    vertices: Vertices,
    level: Level,
    tubes: Sequence[np.ndarray],
    problem: RouteProblem,
) -> list[float]:
    """Return where a level would just clear other tubes, nearest first [mm]."""
    axis, here = level.axis, vertices[level.first][level.axis]
    lowest, highest = here - level.low, here + level.high
    wall = problem.reach
    if level.inward < 0:
        highest = problem.room[1][axis] - wall
    elif level.inward > 0:
        lowest = problem.room[0][axis] + wall
    apart = wall + problem.tube_radius + 2.0 * GAP_RESOLUTION
    levels_of_others = [tube[:, axis] for tube in tubes]
    wanted = np.concatenate(
        [
            [lowest, highest],
            *(each + by for each in levels_of_others for by in (-apart, apart)),
        ]
    )
    wanted = wanted[(wanted >= lowest) & (wanted <= highest)]
    taken = [here]
    for place in sorted(wanted.tolist(), key=lambda value: abs(value - here)):
        if all(abs(place - other) >= SAME_LEVEL for other in taken):
            taken.append(place)
        if len(taken) > problem.effort.loop.level_places:
            break
    return taken[1:]
