"""Candidates with bends from a list of angles, closing on both ports exactly."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from typing import Final

from loopsolver.geometry.vectors import Array, dot, point, points_array
from loopsolver.routing.angled.bundle import lay
from loopsolver.routing.angled.closed_routes import MOST_BENDS, routes_of
from loopsolver.routing.angled.direct import straight_route
from loopsolver.routing.angled.partial_routes import (
    FEWEST_WITH_PARTIALS,
    AngledRun,
    angled_run,
)
from loopsolver.routing.angled.sequences import sequence_routes
from loopsolver.routing.angled.shortening import (
    nearest_standard,
    nearest_turns,
    shortened,
)
from loopsolver.routing.angled.shortening_task import AngleTargets
from loopsolver.routing.angled.shortlist import Shortlist, apart, lacking, shortlist
from loopsolver.routing.angled.waypoint_graph import graph_routes
from loopsolver.routing.effort.angled import NO_TRIES, Tries
from loopsolver.routing.judge import Judge, judged
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.scene.limits import MAX_BENDS_MOST
from loopsolver.tolerances import ALONG_AXIS, NO_SHORTER, SAME_ROUTE, SAME_WAY_ROUND
from loopsolver.tube.centreline import Centreline

NONE_KNOWN: Final = MAX_BENDS_MOST + 1
"""The fewest bends of the tubes that are known where there are none."""

LengthBound = Callable[[Sequence[Candidate], int], float]
"""From what was found so far and a bend count to what its tubes must be shorter than."""


def whatever_length(_found: Sequence[Candidate], _bends: int) -> float:
    """Return no bound: every tube is welcome."""
    return math.inf


def routes_below(
    run: AngledRun, *, bends: int, below: float = math.inf
) -> tuple[Array, Array]:
    """Return a run's routes of one bend count, turned as its rules say, and lengths.

    Those are left out that shortening hardly makes shorter than `below` [mm].
    """
    problem, step_deg = run.problem, run.problem.turn_step_deg
    if step_deg == "any":
        is_settled = bends <= 2 and not _look_the_same_way(problem)
        gained = -NO_SHORTER if is_settled else problem.effort.shortlist.gained
        return routes_of(run, bends=bends, most=below + gained)
    return sequence_routes(run, step_deg=step_deg, bends=bends, below=below)


def _look_the_same_way(problem: RouteProblem) -> bool:
    """Return whether both ports look the same way.

    Else two bends of given angles have one length, whatever legs shortening makes longer.
    """
    return dot(problem.start.direction, problem.goal.direction) > 1.0 - ALONG_AXIS


def _listed(run: AngledRun, bends: int, below: float) -> Shortlist:
    return _shortlisted(run, *routes_below(run, bends=bends, below=below))


def _shortlisted(run: AngledRun, routes: Array, lengths: Array) -> Shortlist:
    lacks = lacking(run.problem, routes, worth=lengths)
    effort = run.problem.effort.shortlist
    return shortlist(routes, worth=lengths, lacks=lacks, effort=effort)


def _exact(run: AngledRun, vertices: Array) -> AngleTargets:
    laid = lay(vertices[None], radius=run.problem.bend_radius)
    return AngleTargets(
        targets=nearest_standard(laid.angles[0], run.angles),
        turns=nearest_turns(laid, run.problem.turn_step_deg),
    )


def angled_candidates(
    problem: RouteProblem,
    judge: Judge,
    *,
    angles_deg: tuple[float, ...],
    fewest: int = NONE_KNOWN,
    bound: LengthBound = whatever_length,
) -> Iterator[Candidate]:
    """Yield verified candidates whose bends all have angles from a list [degrees].

    Tubes of five bends are looked for only where there are none of fewer; and where none
    are known or found, routes over the waypoint graph are tried, where turns are free.

    Parameters
    ----------
    problem : RouteProblem
    judge : Judge
        The problem's.
    angles_deg : tuple of float
        Bend angles that may be used [degrees].
    fewest : int
        Bends of the tubes that are known already; less is sought beyond these.
    bound : callable
        What tubes must be shorter than to be any good [mm].
    """
    effort = problem.effort.shortlist
    run = angled_run(
        problem,
        angles=tuple(sorted(map(math.radians, {*angles_deg}))),
        most=bound((), FEWEST_WITH_PARTIALS) + effort.gained,
    )
    exact = partial(_exact, run)
    straight = straight_route(problem)
    found: list[Candidate] = []
    if straight is not None:
        found += verified(judge, [centreline_of(straight, problem)])
        yield from found
    for bends in range(1, min(problem.max_bends, MOST_BENDS - 1) + 1):
        below = bound(found, bends)
        listed = _listed(run, bends, below)
        more = bends - min([bends, fewest, *(candidate.bends for candidate in found)])
        tries = effort.tries(more) if math.isinf(below) else effort.shorter
        best, listed = best_of(judge, listed, exact, tries)
        found += best
        yield from best
        if bends == MOST_BENDS - 1 and not found and fewest > bends:
            found += best_of(judge, listed, exact, effort.last_resort)[0]
            yield from found
    if not found and min(fewest, problem.max_bends) >= MOST_BENDS:
        listed = _listed(run, MOST_BENDS, bound(found, MOST_BENDS))
        found += best_of(judge, listed, exact, effort.fewest_bends)[0]
        yield from found
    is_none = not found and fewest == NONE_KNOWN
    if is_none and effort.over_graph != NO_TRIES and problem.turn_step_deg == "any":
        yield from _over_graph(run, judge, exact)


def _over_graph(
    run: AngledRun, judge: Judge, exact: Callable[[Array], AngleTargets]
) -> list[Candidate]:
    """Return candidates of four bends or more, the fewest that there are any of.

    Routes whose angles are near listed ones are led to these while they are shortened.
    """
    radius, tries = run.problem.bend_radius, run.problem.effort.shortlist.over_graph
    for routes in graph_routes(run.problem, angles=run.angles):
        listed = _shortlisted(run, routes, lay(routes, radius=radius).lengths)
        found, _ = best_of(judge, listed, exact, tries)
        if found:
            return found
    return []


def best_of(
    judge: Judge,
    listed: Shortlist,
    angles_of: Callable[[Array], AngleTargets],
    tries: Tries,
) -> tuple[list[Candidate], Shortlist]:
    """Return the candidates that a shortlist's routes become, and the rest of the list.

    A route that would end where one that is found already has ended is left out.

    Parameters
    ----------
    judge : Judge
    listed : Shortlist
        Of one bend count.
    angles_of : callable
        The angles that a route is held to.
    tries : Tries
    """
    found: list[Candidate] = []

    def is_known(route: Array) -> bool:
        return any(_leads_to(route, one, judge.problem) for one in found)

    for _ in range(tries.most):
        taken = listed.next(is_known) if len(found) < tries.enough else None
        if taken is None:
            break
        number, listed = taken
        good = _shortened_or_as_is(judge, listed.routes[number], angles_of)
        found += _without_same(good, found)
        if not good:
            listed = listed.freer_than(number)
    for _ in range(tries.between if found else 0):
        best = min(candidate.length + candidate.departure_worth for candidate in found)
        taken = listed.between(below=best + judge.problem.effort.shortlist.gained)
        if taken is None:
            break
        number, listed = taken
        good = _shortened_or_as_is(judge, listed.routes[number], angles_of)
        found += _without_same(good, found)
    return found, listed


def _shortened_or_as_is(
    judge: Judge, route: Array, angles_of: Callable[[Array], AngleTargets]
) -> tuple[Candidate, ...]:
    """Return a route's verified candidate: shortened where that works, else as it is."""
    tight = shortened_line(judge.problem, judge, route, angles_of(route))
    return verified(judge, [tight]) or verified(
        judge, [centreline_of(route, judge.problem)]
    )


def _without_same(
    good: Iterable[Candidate], found: Sequence[Candidate]
) -> list[Candidate]:
    """Return the candidates that lie elsewhere than all those found before."""
    return [one for one in good if not any(_is_same(one, other) for other in found)]


def _is_same(one: Candidate, other: Candidate) -> bool:
    """Return whether two candidates of one bend count lie in the same place."""
    first, second = (points_array(c.centreline.vertices) for c in (one, other))
    return bool(apart(first, second) <= SAME_ROUTE)


def _leads_to(listed_route: Array, candidate: Candidate, problem: RouteProblem) -> bool:
    """Return whether a route lies close to a candidate and is no shorter than it."""
    if (
        apart(listed_route, points_array(candidate.centreline.vertices))
        > SAME_WAY_ROUND
    ):
        return False
    return length_of(listed_route, problem) >= candidate.length


def length_of(route: Array, problem: RouteProblem) -> float:
    """Return the developed length of a route (vertices, 3) [mm]."""
    return float(lay(route[None], radius=problem.bend_radius).lengths[0])


def shortened_line(
    problem: RouteProblem, judge: Judge, vertices: Array, angles: AngleTargets
) -> Centreline:
    """Return a route shortened as far as it gets."""
    if len(vertices) > 3:
        vertices = shortened(problem, judge.around, vertices, angles=angles)
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

    Shortened routes are proposals: those that end a hair inside a limit are left
    out without a count.
    """
    candidates = []
    for route in routes:
        verdict = judged(judge, route)
        if verdict.passes and verdict.gap is not None:
            candidates.append(
                Candidate(
                    centreline=route,
                    gap=verdict.gap,
                    trim_allowance=judge.problem.trim_allowance,
                    take_up=judge.problem.take_up,
                    standard_deg=judge.problem.standard_deg,
                )
            )
    return tuple(candidates)
