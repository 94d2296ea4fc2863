"""All candidates of one problem, whatever its bend angles: gathered, ranked, cut."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import islice, product
from typing import Final

from loopsolver.clearance.gap import least_gap
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.vectors import offset
from loopsolver.routing.angled.closed_routes import MOST_BENDS
from loopsolver.routing.angled.free import free_candidates
from loopsolver.routing.angled.listed import (
    NONE_KNOWN,
    angled_candidates,
)
from loopsolver.routing.angled.waypoint_graph import MOST_OVER_GRAPH
from loopsolver.routing.candidate_list import (
    candidate_list,
    other_ways,
    worth_bending,
)
from loopsolver.routing.judge import Judge, gap_around, make_judge
from loopsolver.routing.problem import Candidate, Found, RouteProblem, best_first
from loopsolver.routing.square.lattice import square_run
from loopsolver.routing.square.search import square_candidates
from loopsolver.routing.ways_round import Poles, closings, poles_of
from loopsolver.routing.worth import MORE_BENDS, MORE_GAP, STANDARD_DEG
from loopsolver.scene.model import BendAngles, TurnStep
from loopsolver.tolerances import NO_SHORTER
from loopsolver.tube.centreline import Centreline

_Allowed = tuple[BendAngles, TurnStep]
"""Angles of bends, and the step of the turns between them [degrees]."""

_STEPS: Final[tuple[TurnStep, ...]] = (90.0, 45.0, "any")
"""Steps of turns, each of which allows what those before it do."""


def find_candidates(problem: RouteProblem) -> Found:
    """Return the verified candidates of a problem, at most as many as it asks for.

    Best first: rank 1 has the fewest bends and among equals the shortest. Which of those
    found are listed says `candidate_list`.

    Parameters
    ----------
    problem : RouteProblem
    """
    found = _found(problem, _rules_in_turn(problem))
    every = [*found.candidates]
    poles = poles_of(problem.obstacles, reach=problem.reach)
    if every:
        every += _roomier(problem, every)
        every += _another_way(problem, every, poles)
    listed = candidate_list(every, poles, most=problem.candidates)
    return replace(found, candidates=listed)


def _brief(problem: RouteProblem, best: Candidate) -> RouteProblem:
    """Return a problem that is searched with less effort, for what may stand by a best."""
    effort = problem.effort.times(problem.effort.variety.share)
    most = min(problem.max_bends, best.bends + MORE_BENDS)
    return replace(problem, effort=effort, max_bends=most)


def _roomier(problem: RouteProblem, found: Sequence[Candidate]) -> Iterator[Candidate]:
    """Yield candidates with more gap than the best that was found, step by step."""
    best = min(found, key=best_first)
    brief = _brief(problem, best)
    room = _room_at_ends(problem, best)
    for _ in range(problem.effort.variety.roomier):
        wanted = MORE_GAP * best.gap.distance
        if wanted > room:
            return
        more = _briefly_found(replace(brief, clearance=wanted)).candidates
        yield from more
        if not more:
            return
        best = min(more, key=best_first)


def _room_at_ends(problem: RouteProblem, best: Candidate) -> float:
    """Return a gap that no tube of a problem can exceed: that of its first straights."""
    judge, vertices = make_judge(problem), best.centreline.vertices
    gaps = []
    for end, beside in ((problem.start, vertices[1]), (problem.goal, vertices[-2])):
        if math.dist(end.seat, beside) > end.straight:
            stub = (end.seat, offset(end.seat, end.direction, end.straight))
            line = Centreline(vertices=stub, radius=problem.bend_radius)
            gaps.append(
                least_gap(
                    line,
                    judge.around,
                    tube_radius=problem.tube_radius,
                    skip_start=end.covered,
                ).distance
            )
    return min(gaps, default=math.inf)


def _another_way(
    problem: RouteProblem, found: Sequence[Candidate], poles: Poles
) -> Iterator[Candidate]:
    """Yield candidates of another way round where all that were found go one way.

    Searched with the way closed beside one of the bodies that the best one passes.
    """
    effort = problem.effort.variety
    ordered = worth_bending(sorted(found, key=best_first))
    if other_ways(ordered, ordered[:1], poles):
        return
    best, judge = ordered[0], make_judge(problem)
    brief = _brief(problem, best)
    for plate in islice(closings(best.centreline, poles), effort.closings):
        closed = Obstacle(name="plate", solid=plate)
        around = replace(brief, obstacles=(*problem.obstacles, closed))
        more = [
            replace(one, gap=gap_around(judge, one.centreline))
            for one in _soon_found(around).candidates
        ]
        yield from more
        if other_ways(worth_bending([best, *more]), [best], poles):
            return


def _soon_found(problem: RouteProblem) -> Found:
    """Return candidates of square bends alone where ports and rules allow these."""
    is_square = ((90.0,), 90.0) in _rules_in_turn(problem)
    if not is_square or square_run(problem) is None:
        return _briefly_found(problem)
    return square_candidates(problem, make_judge(problem))


def _found(problem: RouteProblem, rules: Iterable[_Allowed]) -> Found:
    """Return all verified candidates that the searches for a problem come upon.

    Parameters
    ----------
    problem : RouteProblem
    rules : iterable of pairs of angles and step
        What is searched in turn. A search knows what those before it gave that were
        allowed no more than it is.
    """
    judge = make_judge(problem)
    found: dict[_Allowed, Found] = {}
    for angles_deg, step_deg in rules:
        known = [
            candidate
            for (less_deg, coarse), part in found.items()
            if _STEPS.index(coarse) <= _STEPS.index(step_deg)
            and (angles_deg == "any" or {*less_deg} <= {*angles_deg})
            for candidate in part.candidates
        ]
        wanted = replace(problem, turn_step_deg=step_deg)
        found[angles_deg, step_deg] = _of_rules(wanted, judge, angles_deg, known)
    return Found(
        candidates=tuple(one for part in found.values() for one in part.candidates),
        refused=sum(part.refused for part in found.values()),
    )


def _rules_in_turn(problem: RouteProblem) -> list[_Allowed]:
    """Return the angles and steps of turns that a problem allows, in parts and then all.

    Square bends alone, then standard angles alone, then all; of each coarse steps first.
    What one more allowed angle or a smaller step adds comes after what there was without
    it, so nothing that would be found then is lost.
    """
    angles_deg, (least, greatest) = problem.bend_angles_deg, problem.bend_range
    if angles_deg == "any":
        kept = [one for one in STANDARD_DEG if least <= one <= greatest]
    else:
        angles_deg = tuple(sorted({*angles_deg}))
        kept = [one for one in STANDARD_DEG if one in angles_deg]
    square = [one for one in kept if one == 90.0]
    parts: list[BendAngles] = [tuple(some) for some in (square, kept) if some]
    steps = _STEPS[: _STEPS.index(problem.turn_step_deg) + 1]
    return list(product(dict.fromkeys([*parts, angles_deg]), steps))


def _briefly_found(problem: RouteProblem) -> Found:
    """Return what the first and the last two searches for a problem find."""
    rules = _rules_in_turn(problem)
    return _found(problem, dict.fromkeys([rules[0], *rules[-2:]]))


def _of_rules(
    problem: RouteProblem,
    judge: Judge,
    angles_deg: BendAngles,
    known: Sequence[Candidate],
) -> Found:
    """Return candidates with bends of some angles [degrees] and a problem's turns.

    Parameters
    ----------
    problem : RouteProblem
    judge : Judge
        Of the problem with all that it allows.
    angles_deg : BendAngles
    known : sequence of Candidate
        Those that are found already.
    """
    fewest = min((one.bends for one in known), default=NONE_KNOWN)
    if angles_deg == "any":
        return Found(candidates=free_candidates(problem, judge, fewest=fewest))
    if angles_deg != (90.0,):
        angled = angled_candidates(problem, judge, angles_deg=angles_deg, fewest=fewest)
        return Found(candidates=angled)
    if problem.turn_step_deg == 90.0:
        return square_candidates(problem, judge)
    bound = partial(_shortest, known)
    angled = angled_candidates(
        problem, judge, angles_deg=angles_deg, fewest=fewest, bound=bound
    )
    return Found(
        candidates=tuple(
            one for one in angled if one.length < bound((), one.bends) - NO_SHORTER
        )
    )


def most_bends_searched(problem: RouteProblem) -> int:
    """Return how many bends tubes are looked through that are not on the lattice."""
    if problem.bend_angles_deg == "any" or problem.turn_step_deg == "any":
        return MOST_OVER_GRAPH
    return MOST_BENDS


def _shortest(
    known: Sequence[Candidate], found: Sequence[Candidate], bends: int
) -> float:
    """Return the least length of candidates with so many bends at most [mm]."""
    of_few = [one.length for one in (*known, *found) if one.bends <= bends]
    return min(of_few, default=math.inf)
