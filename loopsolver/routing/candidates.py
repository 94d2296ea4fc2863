"""All candidates of one problem, whatever its bend angles: gathered, ranked, cut."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import chain
from typing import Final

from loopsolver.geometry.vectors import points_array
from loopsolver.routing.angled.closed_routes import MOST_BENDS
from loopsolver.routing.angled.free import free_candidates
from loopsolver.routing.angled.listed import (
    NONE_KNOWN,
    angled_candidates,
    whatever_length,
)
from loopsolver.routing.angled.shortlist import apart
from loopsolver.routing.angled.waypoint_graph import MOST_OVER_GRAPH
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Candidate, Found, RouteProblem, best_first
from loopsolver.routing.square.search import square_candidates
from loopsolver.routing.worth import BEND_WORTH
from loopsolver.scene.model import TurnStep
from loopsolver.tolerances import NO_SHORTER, SAME_WAY_ROUND

_STEPS: Final[Mapping[TurnStep, tuple[TurnStep, ...]]] = {
    90.0: (90.0,),
    45.0: (45.0,),
    "any": (45.0, "any"),
}
"""Steps of turns that are tried one after the other, by the rule: the cheap ones first."""


def find_candidates(problem: RouteProblem) -> Found:
    """Return the verified candidates of a problem, at most as many as it asks for.

    For every bend count the best that was found, then other ways round; the fewest
    bends first, and among equals the shortest.

    Parameters
    ----------
    problem : RouteProblem
    """
    judge = make_judge(problem)
    if problem.bend_angles_deg == "any":
        free = [
            free_candidates(replace(problem, turn_step_deg=tried), judge)
            for tried in _STEPS[problem.turn_step_deg]
        ]
        return Found(candidates=_selected(tuple(chain(*free)), problem))
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
    if found == square.candidates:
        return square
    return Found(candidates=_selected(found, problem), refused=square.refused)


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


def _selected(
    found: tuple[Candidate, ...], problem: RouteProblem
) -> tuple[Candidate, ...]:
    """Return the candidates worth showing.

    For every bend count, the fewest bends first, the best, and the shortest where that
    is another one; as far as both fit in. Then other ways round of the same counts.
    """
    ordered = sorted(_without_twins(found), key=best_first)
    front: list[Candidate] = []
    for bends in sorted({c.bends for c in ordered}):
        same = [c for c in ordered if c.bends == bends]
        shortest = min(same, key=lambda c: c.length)
        both = same[:1] if shortest is same[0] else [same[0], shortest]
        if front and len(front) + len(both) > problem.candidates:
            break
        front += both
    shown = {c.bends for c in front}
    others = [c for c in ordered if c.bends in shown and all(c is not f for f in front)]
    others.sort(key=lambda c: c.bends * BEND_WORTH + c.worth)
    return tuple(sorted((front + others)[: problem.candidates], key=best_first))


def _without_twins(candidates: Iterable[Candidate]) -> list[Candidate]:
    """Return candidates, but none that is close to a better one of equal bends."""
    kept: list[Candidate] = []
    for candidate in sorted(candidates, key=best_first):
        if not any(_is_twin(candidate, other) for other in kept):
            kept.append(candidate)
    return kept


def _is_twin(candidate: Candidate, better: Candidate) -> bool:
    """Return whether a candidate is close to another one and no shorter."""
    if candidate.bends != better.bends or candidate.length < better.length - NO_SHORTER:
        return False
    one, other = (points_array(c.centreline.vertices) for c in (candidate, better))
    return bool(apart(one, other) < SAME_WAY_ROUND)
