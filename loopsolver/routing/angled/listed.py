"""Candidates with bends from a list of angles, closing on both ports exactly."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import partial
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, point, points_array
from loopsolver.routing.angled.bundle import lay
from loopsolver.routing.angled.direct import straight_route
from loopsolver.routing.angled.improve import improved, nearest_standard
from loopsolver.routing.angled.joins import MOST_JOINED, routes_of
from loopsolver.routing.angled.offers import CLOSE, Offers, lacking
from loopsolver.routing.angled.rays import Angled, laid_out
from loopsolver.routing.angled.taut import Angles
from loopsolver.routing.judge import Judge, judged
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.worth import STANDARD_DEG
from loopsolver.tube.centreline import Centreline

ENOUGH: Final = 4
"""So many tubes of one bend count are enough, each another way round."""

MOST_DRAWN: Final = 12
"""No more routes of one bend count than this are drawn together..."""

DRAWN_BEYOND: Final = 7
"""... no more than this where there are tubes of fewer bends already..."""

LAST_RESORT: Final = 30
"""... and this many more of the most before MOST_JOINED, where there is no tube yet."""


def _offered(run: Angled, bends: int) -> Offers:
    routes, lengths = routes_of(run, bends=bends)
    lacks = lacking(run.problem, routes, worth=lengths)
    return Offers(routes, worth=lengths, lacks=lacks)


def _exact(run: Angled, vertices: Array) -> Angles:
    laid = lay(vertices[None], radius=run.problem.bend_radius)
    return Angles(targets=nearest_standard(laid.angles[0], run.angles))


def angled_candidates(
    problem: RouteProblem,
    judge: Judge,
    *,
    angles_deg: tuple[float, ...],
    fewest: int = MOST_JOINED,
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
    run = laid_out(problem, angles=tuple(sorted(map(math.radians, {*angles_deg}))))
    exact = partial(_exact, run)
    straight = straight_route(problem)
    found: list[Candidate] = []
    if straight is not None:
        found += verified(judge, [centreline_of(straight, problem)])
    for bends in range(1, min(problem.max_bends, MOST_JOINED - 1) + 1):
        offers = _offered(run, bends)
        most = DRAWN_BEYOND if found or bends > fewest else MOST_DRAWN
        found += best_of(judge, offers, exact, most=most)
        if bends == MOST_JOINED - 1 and not found and fewest > bends:
            found += best_of(judge, offers, exact, most=LAST_RESORT)
    if not found and problem.max_bends >= MOST_JOINED:
        found += best_of(judge, _offered(run, MOST_JOINED), exact)
    return tuple(found)


def best_of(
    judge: Judge,
    offers: Offers,
    angles_of: Callable[[Array], Angles],
    *,
    enough: int = ENOUGH,
    most: int = MOST_DRAWN,
) -> list[Candidate]:
    """Return verified candidates among offers of one bend count, drawn together.

    An offer that would end where one that is found already has ended is left out. One
    that comes to nothing when it is drawn together may still do as it is.

    Parameters
    ----------
    judge : Judge
    offers : Offers
    angles_of : callable
        The angles that an offer is held to.
    enough, most : int
        How many candidates are wanted, and how many offers are tried for them.
    """
    found: list[Candidate] = []
    tried = 0
    while len(found) < enough and tried < most:
        offer = offers.next()
        if offer is None:
            break
        if any(_leads_to(offer, candidate, judge.problem) for candidate in found):
            continue
        tried += 1
        tight = drawn(judge.problem, judge, offer, angles_of(offer))
        good = verified(judge, [tight]) or verified(
            judge, [centreline_of(offer, judge.problem)]
        )
        if not good:
            offers.failed()
        found += good
    return found


def _leads_to(offer: Array, candidate: Candidate, problem: RouteProblem) -> bool:
    """Return whether an offer is close to a candidate, and no shorter as it is."""
    apart = offer - points_array(candidate.centreline.vertices)
    if np.abs(apart).max() > CLOSE:
        return False
    length = lay(offer[None], radius=problem.bend_radius).lengths[0]
    return bool(length >= candidate.length)


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
