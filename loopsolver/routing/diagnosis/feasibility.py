"""Whether a problem has a route at all, found with as little work as will do.

What finds one soonest comes first: the tube without a bend, then the lattice's routes as
they are. After these come those of the problem's own angles and turns; or all that the
search for candidates chooses from, so that where it finds none, there is none here.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from loopsolver.geometry.frames import Frame
from loopsolver.routing.angled.direct import straight_route
from loopsolver.routing.angled.free import free_candidates
from loopsolver.routing.angled.listed import (
    angled_candidates,
    centreline_of,
    verified,
)
from loopsolver.routing.candidates import found_in_turn
from loopsolver.routing.judge import Judge, make_judge
from loopsolver.routing.no_way import is_proven_none
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.square.field import lattice_field
from loopsolver.routing.square.lattice import least_bends, square_run
from loopsolver.routing.square.meet import meetings, vertices
from loopsolver.tube.centreline import Centreline


def routes_in_turn(problem: RouteProblem) -> Iterator[Candidate]:
    """Yield verified routes of a problem, each as soon as it is found."""
    yield from _simple_routes(problem)
    yield from found_in_turn(problem)


def quick_routes(problem: RouteProblem) -> Iterator[Candidate]:
    """Yield verified routes of a problem, less those that take long to find."""
    yield from _simple_routes(problem)
    if problem.is_on_lattice or is_proven_none(problem):
        return
    judge, angles_deg = make_judge(problem), problem.bend_angles_deg
    if angles_deg == "any":
        yield from free_candidates(problem, judge)
    else:
        yield from angled_candidates(problem, judge, angles_deg=angles_deg)


def _simple_routes(problem: RouteProblem) -> Iterator[Candidate]:
    """Yield the tube without a bend, and where angles are listed the lattice's routes."""
    judge, straight = make_judge(problem), straight_route(problem)
    if straight is not None:
        yield from verified(judge, [centreline_of(straight, problem)])
    if problem.bend_angles_deg != "any" and 90.0 in problem.bend_angles_deg:
        yield from square_routes(problem, judge)


def square_routes(problem: RouteProblem, judge: Judge) -> Iterator[Candidate]:
    """Yield the lattice's routes of square bends, the fewest bends first."""
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
