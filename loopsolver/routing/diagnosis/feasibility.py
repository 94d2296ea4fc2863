"""Whether a problem has a route at all, found with as little work as will do.

No other way round is looked for, lattice routes are left as they are, and angled routes
are looked for among those of few bends. What is found here the searches for candidates
find as well.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import islice

from loopsolver.geometry.frames import Frame
from loopsolver.routing.angled.direct import straight_route
from loopsolver.routing.angled.free import free_candidates, nearly_square
from loopsolver.routing.angled.listed import (
    angled_candidates,
    centreline_of,
    shortened_line,
    verified,
)
from loopsolver.routing.judge import Judge, make_judge
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.square.field import lattice_field
from loopsolver.routing.square.lattice import (
    least_bends,
    square_run,
)
from loopsolver.routing.square.meet import meetings, vertices
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import Centreline

Search = Callable[[RouteProblem, Judge], Iterator[Candidate]]
"""What finds verified routes of a problem."""


def feasible_route(
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
        for candidate in search(problem, judge):
            if candidate.blank <= stock_length + TOUCH:
                return candidate
    return None


def straight_routes(problem: RouteProblem, judge: Judge) -> Iterator[Candidate]:
    """Yield the tube without a bend, where the ports have one."""
    straight = straight_route(problem)
    if straight is not None:
        yield from verified(judge, [centreline_of(straight, problem)])


def square_routes(problem: RouteProblem, judge: Judge) -> Iterator[Candidate]:
    """Yield the lattice's routes of square bends, the fewest bends first."""
    if problem.bend_angles_deg == "any" or 90.0 not in problem.bend_angles_deg:
        return
    run = square_run(problem)
    if run is None or least_bends(run) > problem.max_bends:
        return
    field = lattice_field(run)
    found = meetings(field, bends=problem.max_bends)
    for meeting in islice(found, problem.effort.diagnosis.most_judged):
        seen = vertices(field, meeting)
        if run.frame != Frame():
            seen = tuple(run.frame.place(vertex) for vertex in seen)
        tube = Centreline(vertices=seen, radius=problem.bend_radius)
        yield from verified(judge, [tube])


def listed_routes(problem: RouteProblem, judge: Judge) -> Iterator[Candidate]:
    """Yield routes with angles of the problem's list, whatever their bends."""
    if problem.bend_angles_deg != "any" and not problem.is_on_lattice:
        yield from angled_candidates(problem, judge, angles_deg=problem.bend_angles_deg)


def short_listed_routes(problem: RouteProblem, judge: Judge) -> Iterator[Candidate]:
    """Yield routes of few bends with angles of the problem's list."""
    yield from listed_routes(_of_few_bends(problem), judge)


def free_routes(problem: RouteProblem, judge: Judge) -> Iterator[Candidate]:
    """Yield routes of any angle, if the problem allows any."""
    if problem.bend_angles_deg == "any":
        yield from free_candidates(problem, judge)


def short_free_routes(problem: RouteProblem, judge: Judge) -> Iterator[Candidate]:
    """Yield routes of any angle: of few bends, and of more those that are nearly square."""
    if problem.bend_angles_deg != "any":
        return
    yield from free_candidates(_of_few_bends(problem), judge)
    few = problem.effort.diagnosis.few_bends
    if problem.max_bends <= few:
        return
    for route, angles in nearly_square(problem):
        if len(route) - 2 > few:
            tube = shortened_line(problem, judge, route, angles)
            yield from verified(judge, [tube])


def _of_few_bends(problem: RouteProblem) -> RouteProblem:
    few = problem.effort.diagnosis.few_bends
    return replace(problem, max_bends=min(problem.max_bends, few))
