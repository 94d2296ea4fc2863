"""All candidates of one problem, whatever its bend angles: gathered, ranked, cut."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import chain, islice
from typing import Final

from loopsolver.clearance.gap import least_gap
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.vectors import offset
from loopsolver.routing.angled.closed_routes import MOST_BENDS
from loopsolver.routing.angled.free import free_candidates
from loopsolver.routing.angled.listed import (
    NONE_KNOWN,
    angled_candidates,
    whatever_length,
)
from loopsolver.routing.angled.waypoint_graph import MOST_OVER_GRAPH
from loopsolver.routing.candidate_list import (
    candidate_list,
    other_ways,
    worth_bending,
)
from loopsolver.routing.judge import gap_around, make_judge
from loopsolver.routing.problem import Candidate, Found, RouteProblem, best_first
from loopsolver.routing.square.lattice import square_run
from loopsolver.routing.square.search import square_candidates
from loopsolver.routing.ways_round import Poles, closings, poles_of
from loopsolver.routing.worth import MORE_BENDS, MORE_GAP, STANDARD_DEG
from loopsolver.scene.model import TurnStep
from loopsolver.tolerances import NO_SHORTER
from loopsolver.tube.centreline import Centreline

_STEPS: Final[Mapping[TurnStep, tuple[TurnStep, ...]]] = {
    90.0: (90.0,),
    45.0: (45.0,),
    "any": (45.0, "any"),
}
"""Steps of turns that are tried one after the other, by the rule: the cheap ones first."""


def find_candidates(problem: RouteProblem) -> Found:
    """Return the verified candidates of a problem, at most as many as it asks for.

    Best first: rank 1 has the fewest bends and among equals the shortest. Which of those
    found are listed says `candidate_list`.

    Parameters
    ----------
    problem : RouteProblem
    """
    found = _found(problem)
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
        more = _found(replace(brief, clearance=wanted)).candidates
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
    angles_deg = problem.bend_angles_deg
    is_square = angles_deg == "any" or 90.0 in angles_deg
    if not is_square or square_run(problem) is None:
        return _found(problem)
    found = square_candidates(problem, make_judge(problem))
    standard_deg = STANDARD_DEG if angles_deg == "any" else ()
    every = (replace(one, standard_deg=standard_deg) for one in found.candidates)
    return replace(found, candidates=tuple(every))


def _found(problem: RouteProblem) -> Found:
    """Return all verified candidates that the searches for a problem come upon."""
    judge = make_judge(problem)
    if problem.bend_angles_deg == "any":
        free = [
            free_candidates(replace(problem, turn_step_deg=tried), judge)
            for tried in _STEPS[problem.turn_step_deg]
        ]
        return Found(candidates=tuple(chain(*free)))
    angles_deg = problem.bend_angles_deg
    square = Found(candidates=())
    if 90.0 in angles_deg:
        square = square_candidates(problem, judge)
    found = square.candidates
    is_square = angles_deg == (90.0,)
    for tried in () if problem.is_on_lattice else _STEPS[problem.turn_step_deg]:
        bound = partial(_shortest, found) if is_square else whatever_length
        angled = angled_candidates(
            replace(problem, turn_step_deg=tried),
            judge,
            angles_deg=angles_deg,
            fewest=min((one.bends for one in found), default=NONE_KNOWN),
            bound=bound,
        )
        found += tuple(c for c in angled if c.length < bound((), c.bends) - NO_SHORTER)
    return Found(candidates=found, refused=square.refused)


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
