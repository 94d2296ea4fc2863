"""Candidates whose bends may have any angle, standard ones preferred.

There is no best of all to be had here in reasonable time, so the routes come from
several starts: bends of standard angles that close exactly; two bends of whatever
angles the ports ask for; and, where ports miss being in line by a little, square routes
between ports moved into line, then bent back on to the true ones. What is shown is the
best found.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, difference, points_array
from loopsolver.routing.angled import angled_routes, drawn, verified
from loopsolver.routing.bundle import lay, nearest, sampled
from loopsolver.routing.improve import Angles, least_straights, nearest_standard
from loopsolver.routing.judge import Judge, make_judge
from loopsolver.routing.lattice import square_run
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.square import square_candidates
from loopsolver.routing.worth import DEGREE_WORTH, STANDARD_DEG
from loopsolver.tolerances import NEARLY_IN_LINE, TOUCH
from loopsolver.tube.centreline import Centreline, bend_angles

STANDARD: Final = tuple(math.radians(angle) for angle in STANDARD_DEG)

SHARPEST_DEG: Final = 120.0
"""No bend of free angle is sharper than this [degrees]: tube folds back on its former.

Common practice, no source.
"""

SLIGHTEST_DEG: Final = 5.0
"""Of three free bends or more none is slighter than this [degrees]; no source."""

GRID: Final = 40
"""Places of the two vertices on the ports' axes that are tried for two free bends."""

FURTHEST: Final = 320.0
"""How far the first vertex on a port's axis is tried beyond its least [mm]."""

FREE_WAYS: Final = 3
"""Routes of two free bends that are drawn together."""


def free_candidates(problem: RouteProblem, judge: Judge) -> tuple[Candidate, ...]:
    """Return verified candidates with bends of any angle, for each bend count.

    Among the candidates of one bend count are the best when a departure from standard
    angles costs `worth.DEGREE_WORTH`, and the shortest found whatever the angles.
    """
    starts = (drawn(problem, judge, *route) for route in _starts(problem, judge))
    found = [c for c in verified(judge, starts) if is_sensible(c)]
    best = [
        min(same, key=lambda c: c.length + c.departure_worth)
        for same in _by_bends(found)
    ]
    loose = verified(judge, _loosened(problem, judge, best))
    return (*found, *(c for c in loose if is_sensible(c)))


def is_sensible(candidate: Candidate) -> bool:
    """Return whether every bend is one that a builder would make.

    Two slight bends are how a small offset is made; among more, a slight bend is a
    bend too many.
    """
    angles = [math.degrees(angle) for angle in bend_angles(candidate.centreline)]
    if max(angles, default=0.0) > SHARPEST_DEG:
        return False
    return len(angles) <= 2 or min(angles) >= SLIGHTEST_DEG


def _by_bends(candidates: list[Candidate]) -> list[list[Candidate]]:
    counts = sorted({candidate.bends for candidate in candidates})
    return [[c for c in candidates if c.bends == count] for count in counts]


def _loosened(
    problem: RouteProblem, judge: Judge, candidates: list[Candidate]
) -> Iterator[Centreline]:
    """Yield the shortest routes near candidates when departures cost nothing."""
    for candidate in candidates:
        if candidate.bends < 2:
            continue
        vertices = points_array(candidate.centreline.vertices)
        laid = lay(vertices[None], radius=problem.bend_radius)
        targets = nearest_standard(laid.angles[0], STANDARD)
        yield drawn(problem, judge, vertices, Angles(targets=targets, cost=0.0))


def _starts(problem: RouteProblem, judge: Judge) -> Iterator[tuple[Array, Angles]]:
    yield from angled_routes(problem, judge, angles_deg=STANDARD_DEG)
    yield from two_free_bends(problem, judge)
    yield from nearly_square(problem)


def _preferred(route: Array, problem: RouteProblem) -> Angles:
    laid = lay(route[None], radius=problem.bend_radius)
    targets = nearest_standard(laid.angles[0], STANDARD)
    return Angles(targets=targets, cost=DEGREE_WORTH)


def two_free_bends(
    problem: RouteProblem, judge: Judge
) -> Iterator[tuple[Array, Angles]]:
    """Yield the best free routes of two bends over a grid of their two vertices."""
    if problem.max_bends < 2:
        return
    start, goal = problem.start, problem.goal
    shares = (np.arange(GRID) / (GRID - 1)) ** 2 * FURTHEST
    out, home = (grid.ravel() for grid in np.meshgrid(shares, shares, indexing="ij"))
    p, q = np.asarray(start.seat), np.asarray(goal.seat)
    first = p + (start.straight + out)[:, None] * np.asarray(start.direction)
    second = q + (goal.straight + home)[:, None] * np.asarray(goal.direction)
    ends = [np.broadcast_to(seat, first.shape) for seat in (p, q)]
    routes = np.stack([ends[0], first, second, ends[1]], axis=1)
    for route in _best_free(routes, problem, judge):
        yield route, _preferred(route, problem)


def _best_free(routes: Array, problem: RouteProblem, judge: Judge) -> Iterator[Array]:
    laid = lay(routes, radius=problem.bend_radius)
    room = laid.straights - least_straights(problem, routes.shape[1] - 2)
    fits = (room.min(axis=1) >= -TOUCH) & (
        laid.angles.max(axis=1) <= math.radians(SHARPEST_DEG)
    )
    routes, angles, lengths = routes[fits], laid.angles[fits], laid.lengths[fits]
    if not len(routes):
        return
    off = np.abs(angles[..., None] - np.array(STANDARD)).min(axis=2).sum(axis=1)
    order = np.argsort(lengths + DEGREE_WORTH * np.degrees(off), kind="stable")
    routes = routes[order]
    points = sampled(
        routes,
        lay(routes, radius=problem.bend_radius),
        radius=problem.bend_radius,
        covered=(problem.start.covered, problem.goal.covered),
    )
    reach = problem.tube_radius + problem.clearance
    free = routes[nearest(points, judge.around.solids) >= reach]
    taken: list[Array] = []
    for route in free:
        if all(np.abs(route - other).max() > NEARLY_IN_LINE * 4 for other in taken):
            taken.append(route)
            yield route
            if len(taken) == FREE_WAYS:
                return


def nearly_square(problem: RouteProblem) -> Iterator[tuple[Array, Angles]]:
    """Yield square routes between ports moved into line, bent back on to the true ones.

    The far port is moved in every combination of those axes in which it nearly agrees
    with the near one; not at all counts as one combination.
    """
    run = square_run(problem)
    if run is None:
        return
    axes = run.frame.rotation.T
    miss = axes @ np.asarray(difference(problem.start.seat, problem.goal.seat))
    near = [a for a in range(3) if TOUCH < abs(miss[a]) <= NEARLY_IN_LINE]
    for count in range(len(near), -1, -1):
        for chosen in combinations(near, count):
            shift = sum((miss[a] * axes[a] for a in chosen), np.zeros(3))
            yield from _bent_back(problem, shift)


def _bent_back(problem: RouteProblem, shift: Array) -> Iterator[tuple[Array, Angles]]:
    seat = np.asarray(problem.goal.seat) + shift
    x, y, z = (float(value) for value in seat)
    moved = replace(
        problem,
        goal=replace(problem.goal, seat=(x, y, z)),
        bend_angles=(90.0,),
        candidates=problem.max_bends + 1,
    )
    for candidate in square_candidates(moved, make_judge(moved)).candidates:
        vertices = points_array(candidate.centreline.vertices)
        if len(vertices) == 3 and np.abs(shift).max() > TOUCH:
            continue
        vertices[-2:] -= shift
        yield vertices, _preferred(vertices, problem)
