"""Candidates with bends from a list of angles, closing on both ports exactly."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from loopsolver.geometry.vectors import Array, point
from loopsolver.routing.bundle import lay
from loopsolver.routing.improve import Angles, improved, nearest_standard
from loopsolver.routing.judge import Judge, judged
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.rays import Angled, free_routes, laid_out, routes_of
from loopsolver.routing.worth import STANDARD_DEG
from loopsolver.tube.centreline import Centreline

MOST_JOINED: Final = 4
"""Rays and joins make routes of so many bends and no more."""

WAYS: Final = 3
"""Routes of one bend count that are drawn together; the best of them stay."""


def angled_routes(
    problem: RouteProblem, judge: Judge, *, angles_deg: tuple[float, ...]
) -> Iterator[tuple[Array, Angles]]:
    """Yield the shortest free routes of each bend count, and the angles they have.

    Parameters
    ----------
    problem : RouteProblem
    judge : Judge
        The problem's.
    angles_deg : tuple of float
        Bend angles that may be used [degrees].

    Yields
    ------
    (vertices, angles)
        Vertices as an array (n, 3) [mm]; not yet drawn together, not yet verified.
    """
    angles = tuple(sorted({math.radians(angle) for angle in angles_deg}))
    run: Angled = laid_out(problem, judge.around, angles=angles)
    for bends in range(1, min(problem.max_bends, MOST_JOINED) + 1):
        routes = routes_of(run, bends=bends)
        for route in free_routes(run, routes, wanted=WAYS, shorter_than=math.inf):
            laid = lay(route[None], radius=problem.bend_radius)
            yield route, Angles(targets=nearest_standard(laid.angles[0], angles))


def angled_candidates(
    problem: RouteProblem, judge: Judge, *, angles_deg: tuple[float, ...]
) -> tuple[Candidate, ...]:
    """Return verified candidates whose bends all have angles from a list [degrees].

    Every route is offered as it was joined and as it was drawn together.
    """
    routes = list(angled_routes(problem, judge, angles_deg=angles_deg))
    joined = (centreline_of(vertices, problem) for vertices, _ in routes)
    tight = (drawn(problem, judge, *route) for route in routes)
    return verified(judge, [*joined, *tight])


def drawn(
    problem: RouteProblem, judge: Judge, vertices: Array, angles: Angles
) -> Centreline:
    """Return a route drawn together as far as it gets."""
    if len(vertices) > 3:
        vertices = improved(problem, judge.around, vertices, angles=angles)
    return centreline_of(vertices, problem)


def centreline_of(vertices: Array, problem: RouteProblem) -> Centreline:
    """Return the centre line of vertices (n, 3), both ends exactly on their seats."""
    inner = tuple(point(vertex) for vertex in vertices[1:-1])
    return Centreline(
        vertices=(problem.start.seat, *inner, problem.goal.seat),
        radius=problem.bend_radius,
    )


def verified(judge: Judge, routes: Iterable[Centreline]) -> tuple[Candidate, ...]:
    """Return the candidates among routes that pass the independent check.

    Routes drawn together are proposals: those that end a hair inside a limit are left
    out without a count.
    """
    standard = STANDARD_DEG if judge.problem.bend_angles == "any" else ()
    candidates = []
    for route in routes:
        verdict = judged(judge, route)
        if verdict.passes and verdict.gap is not None:
            candidates.append(
                Candidate(
                    centreline=route,
                    gap=verdict.gap,
                    trim_allowance=judge.problem.trim_allowance,
                    standard_deg=standard,
                )
            )
    return tuple(candidates)
