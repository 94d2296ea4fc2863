"""Whether a problem has a route at all, found with as little work as will do.

No other way round is looked for and lattice routes are left as they are. What the
searches for candidates offer is taken as it comes, the fewest bends first, until one
passes the independent check: so a problem that has a route here has candidates, too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import islice
from typing import Final

from loopsolver.geometry.frames import Frame
from loopsolver.routing.angled import angled_routes, centreline_of, drawn
from loopsolver.routing.direct import corner_route, straight_route
from loopsolver.routing.field import make_field
from loopsolver.routing.free import is_sensible, nearly_square, two_free_bends
from loopsolver.routing.judge import Judge, judged, make_judge
from loopsolver.routing.lattice import lattice_coordinates, least_bends, square_run
from loopsolver.routing.meet import meetings, vertices
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.worth import STANDARD_DEG
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import Centreline

Search = Callable[[RouteProblem, Judge], Iterator[Centreline]]
"""What offers routes of a problem; they are not checked yet."""

FEW_BENDS: Final = 3
"""Angled routes of more bends than this take ten times as long to look for."""

MOST_JUDGED: Final = 60
"""Of the routes of one search no more than so many are put to the check."""


def route_of(
    problem: RouteProblem, *, stock_length: float, searches: Sequence[Search]
) -> Candidate | None:
    """Return some route of a problem whose blank the stock is enough for, or None.

    Parameters
    ----------
    problem : RouteProblem
    stock_length : float [mm]
    searches : sequence of Search
        Which are tried, one after the other.
    """
    judge = make_judge(problem)
    for search in searches:
        for centreline in islice(search(problem, judge), MOST_JUDGED):
            found = _passed(judge, centreline, stock_length=stock_length)
            if found is not None:
                return found
    return None


def _passed(
    judge: Judge, centreline: Centreline, *, stock_length: float
) -> Candidate | None:
    """Return a route as a candidate if it passes the check and the stock is enough."""
    verdict = judged(judge, centreline)
    if not verdict.passes or verdict.gap is None:
        return None
    candidate = Candidate(
        centreline=centreline,
        gap=verdict.gap,
        trim_allowance=judge.problem.trim_allowance,
    )
    if candidate.blank > stock_length + TOUCH:
        return None
    if judge.problem.bend_angles == "any" and not is_sensible(candidate):
        return None
    return candidate


def straight_routes(problem: RouteProblem, judge: Judge) -> Iterator[Centreline]:
    """Yield the tube without a bend, where the ports have one."""
    del judge
    straight = straight_route(problem)
    if straight is not None:
        yield centreline_of(straight, problem)


def square_routes(problem: RouteProblem, judge: Judge) -> Iterator[Centreline]:
    """Yield the lattice's routes of square bends, the fewest bends first."""
    del judge
    if problem.bend_angles == "any" or 90.0 not in problem.bend_angles:
        return
    run = square_run(problem)
    if run is None or least_bends(run) > problem.max_bends:
        return
    field = make_field(run, lattice_coordinates(run))
    for meeting in meetings(field, bends=problem.max_bends):
        seen = vertices(field, meeting)
        if run.frame != Frame():
            seen = tuple(run.frame.place(vertex) for vertex in seen)
        yield Centreline(vertices=seen, radius=problem.bend_radius)


def angled_tubes(problem: RouteProblem, judge: Judge) -> Iterator[Centreline]:
    """Yield routes with the angles of the list, drawn together."""
    angles = STANDARD_DEG if problem.bend_angles == "any" else problem.bend_angles
    for route, wanted in angled_routes(problem, judge, angles_deg=angles):
        yield drawn(problem, judge, route, wanted)


def short_angled_tubes(problem: RouteProblem, judge: Judge) -> Iterator[Centreline]:
    """Yield those of the angled routes that have FEW_BENDS or fewer; quick."""
    few = replace(problem, max_bends=min(problem.max_bends, FEW_BENDS))
    yield from angled_tubes(few, judge)


def free_tubes(problem: RouteProblem, judge: Judge) -> Iterator[Centreline]:
    """Yield routes with bends of whatever angle, where any will do."""
    if problem.bend_angles != "any":
        return
    corner = corner_route(problem)
    if corner is not None:
        yield centreline_of(corner[0], problem)
    for starts in (two_free_bends(problem, judge), nearly_square(problem)):
        for route, wanted in starts:
            yield drawn(problem, judge, route, wanted)
