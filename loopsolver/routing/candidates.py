"""All candidates of one problem, whatever its bend angles: gathered, ranked, cut."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from loopsolver.geometry.vectors import points_array
from loopsolver.routing.angled.closed_routes import MOST_BENDS
from loopsolver.routing.angled.free import free_candidates
from loopsolver.routing.angled.listed import angled_candidates
from loopsolver.routing.angled.shortlist import apart
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Candidate, Found, RouteProblem, best_first
from loopsolver.routing.square.search import square_candidates
from loopsolver.routing.worth import BEND_WORTH
from loopsolver.tolerances import SAME_WAY_ROUND

ROLLED_SAVES: Final = 2
"""Two square bends rolled out of square are offered where they save so many bends.

Ports a little out of line, for example. Common practice, no source.
"""


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
        free = free_candidates(problem, judge)
        return Found(candidates=_selected(free, problem))
    angles_deg = problem.bend_angles_deg
    square = Found(candidates=())
    if 90.0 in angles_deg:
        square = square_candidates(problem, judge)
    fewest = min((one.bends for one in square.candidates), default=MOST_BENDS)
    if angles_deg == (90.0,) and square.candidates:
        if fewest < 2 + ROLLED_SAVES:
            return square
        problem = replace(problem, max_bends=2)
    angled = angled_candidates(problem, judge, angles_deg=angles_deg, fewest=fewest)
    return Found(
        candidates=_selected((*square.candidates, *angled), problem),
        refused=square.refused,
    )


def find_more_candidates(problem: RouteProblem) -> Found:
    """Return candidates that may better a run that has some already.

    As `find_candidates`, but where square bends are asked for, only those of the
    lattice: a tube rolled out of square is for runs that have no other.
    """
    if problem.bend_angles_deg == (90.0,):
        return square_candidates(problem, make_judge(problem))
    return find_candidates(problem)


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
    others.sort(key=lambda c: c.bends * BEND_WORTH + c.length + c.departure_worth)
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
    if candidate.bends != better.bends or candidate.length < better.length - 0.1:
        return False
    one, other = (points_array(c.centreline.vertices) for c in (candidate, better))
    return bool(apart(one, other) < SAME_WAY_ROUND)
