"""Candidates with bends from a list of angles, closing on both ports exactly."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import Final

from loopsolver.geometry.vectors import Array, point, points_array
from loopsolver.routing.angled.bundle import lay
from loopsolver.routing.angled.closed_routes import MOST_BENDS, routes_of
from loopsolver.routing.angled.direct import straight_route
from loopsolver.routing.angled.linearised import Angles
from loopsolver.routing.angled.partial_routes import AngledRun, angled_run
from loopsolver.routing.angled.shortening import nearest_standard, shortened
from loopsolver.routing.angled.shortlist import CLOSE, Shortlist, apart, lacking
from loopsolver.routing.judge import Judge, judged
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.worth import STANDARD_DEG
from loopsolver.tube.centreline import Centreline


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How much is done for the tubes of one bend count.

    Attributes
    ----------
    enough : int
        So many tubes are enough, each another way round.
    most : int
        No more routes than this are shortened for them.
    between : int
        At last so many are drawn that lie between those that were, if as they are they
        are longer by no more than GAINED than the best found.
    """

    enough: int
    most: int
    between: int


EFFORTS: Final = (
    Effort(enough=4, most=12, between=3),
    Effort(enough=3, most=4, between=0),
    Effort(enough=2, most=4, between=0),
)
"""For the fewest bends, for one more, for two more."""

LAST_RESORT: Final = Effort(enough=4, most=30, between=3)
"""For the most bends before MOST_JOINED, where there is no tube at all yet."""

GAINED: Final = 10.0
"""Drawing a route together seldom makes it shorter by more than this [mm]."""

SAME: Final = 1.0
"""Tubes whose vertices all lie this near to another's are the same [mm]."""


def _listed(run: AngledRun, bends: int) -> Shortlist:
    routes, lengths = routes_of(run, bends=bends)
    lacks = lacking(run.problem, routes, worth=lengths)
    return Shortlist(routes, worth=lengths, lacks=lacks)


def _exact(run: AngledRun, vertices: Array) -> Angles:
    laid = lay(vertices[None], radius=run.problem.bend_radius)
    return Angles(targets=nearest_standard(laid.angles[0], run.angles))


def angled_candidates(
    problem: RouteProblem,
    judge: Judge,
    *,
    angles_deg: tuple[float, ...],
    fewest: int = MOST_BENDS,
) -> tuple[Candidate, ...]:
    """Return verified candidates whose bends all have angles from a list [degrees].

    Tubes of five bends are looked for only where there are none of fewer.

    Parameters
    ----------
    problem : RouteProblem
    judge : Judge
        The problem's.
    angles_deg : tuple of float
        Bend angles that may be used [degrees].
    fewest : int
        Bends of the tubes that are known already; less is sought beyond these.
    """
    run = angled_run(problem, angles=tuple(sorted(map(math.radians, {*angles_deg}))))
    exact = partial(_exact, run)
    straight = straight_route(problem)
    found: list[Candidate] = []
    if straight is not None:
        found += verified(judge, [centreline_of(straight, problem)])
    for bends in range(1, min(problem.max_bends, MOST_BENDS - 1) + 1):
        shortlist = _listed(run, bends)
        more = bends - min([bends, fewest, *(candidate.bends for candidate in found)])
        found += best_of(judge, shortlist, exact, EFFORTS[min(more, 2)])
        if bends == MOST_BENDS - 1 and not found and fewest > bends:
            found += best_of(judge, shortlist, exact, LAST_RESORT)
    if not found and problem.max_bends >= MOST_BENDS:
        found += best_of(judge, _listed(run, MOST_BENDS), exact, EFFORTS[0])
    return tuple(found)


def best_of(
    judge: Judge,
    shortlist: Shortlist,
    angles_of: Callable[[Array], Angles],
    effort: Effort,
) -> list[Candidate]:
    """Return verified candidates on a shortlist of one bend count, shortened.

    A route that would end where one that is found already has ended is left out. One
    that comes to nothing when it is shortened may still do as it is.

    Parameters
    ----------
    judge : Judge
    offers : Offers
    angles_of : callable
        The angles that a route is held to.
    effort : Effort
    """
    found: list[Candidate] = []

    def try_one(listed_route: Array) -> bool:
        tight = shortened_line(
            judge.problem, judge, listed_route, angles_of(listed_route)
        )
        good = verified(judge, [tight]) or verified(
            judge, [centreline_of(listed_route, judge.problem)]
        )
        found.extend(one for one in good if not any(_is_same(one, o) for o in found))
        return bool(good)

    def is_known(listed_route: Array) -> bool:
        return any(
            _leads_to(listed_route, candidate, judge.problem) for candidate in found
        )

    tried = 0
    while len(found) < effort.enough and tried < effort.most:
        listed_route = shortlist.next(is_known)
        if listed_route is None:
            break
        tried += 1
        if not try_one(listed_route):
            shortlist.failed()
    for _ in range(effort.between if found else 0):
        best = min(candidate.length + candidate.departure_worth for candidate in found)
        listed_route = shortlist.between(below=best + GAINED)
        if listed_route is None:
            break
        try_one(listed_route)
    return found


def _is_same(one: Candidate, other: Candidate) -> bool:
    """Return whether two candidates of one bend count have ended in one place."""
    first, second = (points_array(c.centreline.vertices) for c in (one, other))
    return bool(apart(first, second) <= SAME)


def _leads_to(listed_route: Array, candidate: Candidate, problem: RouteProblem) -> bool:
    """Return whether a route is close to a candidate, and no shorter as it is."""
    if apart(listed_route, points_array(candidate.centreline.vertices)) > CLOSE:
        return False
    return length_of(listed_route, problem) >= candidate.length


def length_of(route: Array, problem: RouteProblem) -> float:
    """Return the developed length of a route (vertices, 3) [mm]."""
    return float(lay(route[None], radius=problem.bend_radius).lengths[0])


def shortened_line(
    problem: RouteProblem, judge: Judge, vertices: Array, angles: Angles
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
