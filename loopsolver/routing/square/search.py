"""Routes with square bends on the lattice: gathered, verified, twins dropped."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice
from typing import Final

import numpy as np

from loopsolver.clearance.gap import is_clear
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.vectors import difference, norm, point, points_array, unit
from loopsolver.routing.control import heed_time
from loopsolver.routing.judge import Judge, gap_around, judged, make_judge
from loopsolver.routing.problem import Candidate, Found, RouteProblem
from loopsolver.routing.square.field import lattice_field
from loopsolver.routing.square.lattice import (
    SquareRun,
    least_bends,
    square_run,
)
from loopsolver.routing.square.meet import meetings, vertices
from loopsolver.routing.square.polish import Vertices, eased, polished, widened
from loopsolver.routing.worth import BEND_WORTH
from loopsolver.tolerances import SQUARE_COSINE, TOUCH
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.setting_out import gain

WORTH: Final = 1.75
"""Another way round may be longer than the shortest route by this factor, not more."""


SQUEEZED: Final = 1.0
"""With so much less clearance it is looked for what just fits between coordinates [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _LatticeRoute:
    """A route of the search; `legs` is the sum of its legs [mm].

    `traced` gives its vertices in the lattice's frame. Of many routes few are taken.
    """

    legs: float
    bends: int
    traced: Callable[[], Vertices]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Taken:
    """Finished routes with the candidates that they are, and how many were refused."""

    kept: tuple[tuple[Vertices, Candidate], ...] = ()
    refused: int = 0

    @property
    def bends(self) -> set[int]:
        return {candidate.bends for _, candidate in self.kept}

    @property
    def found(self) -> Found:
        candidates = tuple(candidate for _, candidate in self.kept)
        return Found(candidates=candidates, refused=self.refused)


def square_candidates(problem: RouteProblem, judge: Judge) -> Found:
    """Return the verified candidates of a run with square bends.

    For every bend count up to the most allowed the shortest, then different ways round,
    up to `problem.candidates` in all. Where the shortest runs into itself, the next of
    its bend count takes its place.

    Parameters
    ----------
    problem : RouteProblem
    judge : Judge
        The problem's.
    """
    run = _run_of(problem)
    if run is None:
        return Found(candidates=())
    seen = make_judge(run.problem)
    taken, routes, others = _Taken(), [], []
    for route in _lattice_routes(run):
        routes.append(route)
        if route.bends in taken.bends:
            others.append(route)
        else:
            taken = _with_route(taken, route, run, seen, judge)
        if len(taken.kept) == problem.candidates:
            break
    for route in _other_routes(run, routes, others):
        taken = _with_route(taken, route, run, seen, judge)
    return taken.found


def squeezed_candidates(problem: RouteProblem, judge: Judge) -> Found:
    """Return the verified candidates of a run that just fit between the coordinates.

    For where the lattice has none. Found with less clearance, their levels then go to
    where they keep all of it.

    Parameters
    ----------
    problem : RouteProblem
    judge : Judge
        The problem's.
    """
    run = _run_of(problem)
    if run is None:
        return Found(candidates=())
    clearance = max(problem.clearance - SQUEEZED, 0.0)
    near = replace(run, problem=replace(run.problem, clearance=clearance))
    seen, taken = make_judge(run.problem), _Taken()
    for route in islice(_lattice_routes(near), problem.effort.square.squeezed_routes):
        wide = _widened(route, run, seen)
        if is_clear(_gap_of(run, seen, wide), problem.clearance):
            found = replace(route, traced=partial(tuple, wide))
            taken = _with_route(taken, found, run, seen, judge)
    return taken.found


def _run_of(problem: RouteProblem) -> SquareRun | None:
    """Return a run as its lattice sees it; None where no square tube can join its ends."""
    run = square_run(problem)
    return None if run is None or least_bends(run) > problem.max_bends else run


def _widened(route: _LatticeRoute, run: SquareRun, seen: Judge) -> Vertices:
    """Return a route with its levels moved to where it keeps the clearance, if they can."""
    return widened(
        route.traced(),
        least_legs=_least_legs(run, route.bends),
        gap_of=partial(_gap_of, run, seen),
        clearance=run.problem.clearance,
        most=SQUEEZED,
    )


def _gap_of(run: SquareRun, seen: Judge, route: Vertices) -> float:
    """Return the gap of a route [mm]."""
    return gap_around(seen, _centreline(route, run)).distance


def _with_route(
    taken: _Taken, route: _LatticeRoute, run: SquareRun, seen: Judge, judge: Judge
) -> _Taken:
    """Return what is taken, with the route added where it is a new candidate.

    `seen` judges in the lattice's frame, `judge` in the case.
    """
    others = [other for other, _ in taken.kept]
    if len(others) == run.problem.candidates:
        return taken
    heed_time()
    vertices = route.traced()
    if _has_twin(vertices, others, seen):
        return taken
    finished = _finished(vertices, run, seen)
    if _has_twin(finished, others, seen):
        return taken
    centreline = _in_case(finished, run)
    verdict = judged(judge, centreline)
    kept, refused = taken.kept, taken.refused + bool(verdict.faults)
    if verdict.passes and verdict.gap is not None:
        candidate = Candidate(
            centreline=centreline,
            gap=verdict.gap,
            trim_allowance=run.problem.trim_allowance,
            take_up=run.problem.take_up,
            standard_deg=judge.problem.standard_deg,
        )
        kept = (*kept, (finished, candidate))
    return _Taken(kept=kept, refused=refused)


def _lattice_routes(run: SquareRun) -> Iterator[_LatticeRoute]:
    """Yield the search's routes, the fewest bends first, then the shortest."""
    field = lattice_field(run)
    straight = _straight_route(run)
    if straight is not None:
        yield straight
    for one in meetings(field, bends=run.problem.max_bends):
        yield _LatticeRoute(
            legs=one.legs, bends=one.bends, traced=partial(vertices, field, one)
        )


def _other_routes(
    run: SquareRun, routes: Sequence[_LatticeRoute], others: Sequence[_LatticeRoute]
) -> list[_LatticeRoute]:
    """Return the other ways round that a builder may like, the best first.

    Not those that are much longer than the shortest tube with a bend.
    """
    lengths = [route.legs - _saved(run, route.bends) for route in routes if route.bends]
    shortest = min(lengths, default=0.0)
    worth = [
        route
        for route in others
        if route.legs - _saved(run, route.bends) <= WORTH * shortest
    ]
    return sorted(
        worth, key=lambda o: o.legs + o.bends * BEND_WORTH - _saved(run, o.bends)
    )


def _saved(run: SquareRun, bends: int) -> float:
    """Return how much shorter than its legs a tube of so many square bends is [mm]."""
    return bends * gain(run.problem.bend_radius, math.pi / 2.0)


def _straight_route(run: SquareRun) -> _LatticeRoute | None:
    """Return the tube without a bend where the two ports face each other in line."""
    start, goal = run.problem.start, run.problem.goal
    between = difference(goal.seat, start.seat)
    length = norm(between)
    if (
        length <= TOUCH
        or norm(difference(start.direction, unit(between))) > SQUARE_COSINE
    ):
        return None
    if (
        norm(difference(goal.direction, unit(difference(start.seat, goal.seat))))
        > SQUARE_COSINE
    ):
        return None
    least = max(start.straight, goal.straight, start.covered + goal.covered)
    if length < least - TOUCH:
        return None
    line: Vertices = (start.seat, goal.seat)
    gap = gap_around(make_judge(run.problem), _centreline(line, run))
    if not is_clear(gap.distance, run.problem.clearance):
        return None
    return _LatticeRoute(legs=length, bends=0, traced=lambda: line)


def _least_legs(run: SquareRun, bends: int) -> list[float]:
    """Return the least length of each leg of a tube with so many bends [mm]."""
    problem = run.problem
    if bends == 0:
        return [problem.start.straight]
    inner = [run.least_leg] * (bends - 1)
    return [
        problem.start.straight + run.tangent,
        *inner,
        problem.goal.straight + run.tangent,
    ]


def _finished(route: Vertices, run: SquareRun, seen: Judge) -> Vertices:
    """Return a route drawn in to the touch, its free levels where the gap is larger.

    Where a free level went aside, another may have got room to be drawn in further.
    """
    for step in (polished, eased, polished):
        route = step(
            route,
            least_legs=_least_legs(run, len(route) - 2),
            gap_of=partial(_gap_of, run, seen),
            clearance=run.problem.clearance,
            effort=run.problem.effort.square,
        )
    return route


def _centreline(route: Vertices, run: SquareRun) -> Centreline:
    return Centreline(vertices=route, radius=run.problem.bend_radius)


def _in_case(route: Vertices, run: SquareRun) -> Centreline:
    """Return a route's centre line in the case, both ends exactly on their seats."""
    if run.frame == Frame():
        return _centreline(route, run)
    return _centreline(tuple(run.frame.place(vertex) for vertex in route), run)


def _sequence(route: Vertices) -> tuple[int, ...]:
    """Return a route's directions: +1, +2, +3 along x, y, z, less than zero against."""
    steps = np.diff(points_array(route), axis=0)
    axes = np.abs(steps).argmax(axis=1)
    signs = np.sign(steps[np.arange(len(axes)), axes])
    return tuple(int(value) for value in (axes + 1) * signs)


def _has_twin(route: Vertices, others: Sequence[Vertices], seen: Judge) -> bool:
    """Return whether a route slides into one of others."""
    return any(_is_twin(route, other, seen) for other in others)


def _is_twin(route: Vertices, other: Vertices, seen: Judge) -> bool:
    """Return whether one route slides into the other without a touch on the way."""
    if _sequence(route) != _sequence(other):
        return False
    a, b = points_array(route), points_array(other)
    clearance = seen.problem.clearance
    radius = seen.problem.bend_radius
    parts = seen.problem.effort.square.twin_places + 1
    for part in range(1, parts):
        between = tuple(point(vertex) for vertex in a + part / parts * (b - a))
        line = Centreline(vertices=between, radius=radius)
        if not is_clear(gap_around(seen, line).distance, clearance):
            return False
    return True
