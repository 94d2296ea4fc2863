"""All candidates of one problem, whatever its bend angles: gathered, ranked, cut."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from loopsolver.geometry.vectors import points_array
from loopsolver.routing.angled import angled_candidates
from loopsolver.routing.free import free_candidates
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Candidate, Found, RouteProblem
from loopsolver.routing.rays import CLOSE
from loopsolver.routing.square import square_candidates
from loopsolver.routing.worth import BEND_WORTH, departure_worth


def find_candidates(problem: RouteProblem) -> Found:
    """Return the verified candidates of a problem, at most as many as it asks for.

    For every bend count the best that was found, then other ways round; the fewest
    bends first, and among equals the shortest.

    Parameters
    ----------
    problem : RouteProblem
    """
    judge = make_judge(problem)
    if problem.bend_angles == "any":
        return _selected(free_candidates(problem, judge), problem)
    parts = []
    if 90.0 in problem.bend_angles:
        parts.append(square_candidates(problem, judge))
    only_square = problem.bend_angles == (90.0,)
    if not only_square or not parts[0].candidates:
        parts.append(angled_candidates(problem, judge))
    found = Found(
        candidates=tuple(c for part in parts for c in part.candidates),
        refused=sum(part.refused for part in parts),
    )
    return found if only_square and len(parts) == 1 else _selected(found, problem)


def _selected(found: Found, problem: RouteProblem) -> Found:
    """Return the candidates worth showing: the best of each bend count, then others."""
    ordered = sorted(_without_twins(found.candidates), key=_rank)
    best = {c.bends: c for c in reversed(ordered)}
    shortest = {c.bends: c for c in sorted(ordered, key=lambda c: -c.length)}
    front = [*best.values()]
    front += [c for c in shortest.values() if not any(c is one for one in front)]
    others = [c for c in ordered if not any(c is one for one in front)]
    others.sort(
        key=lambda c: c.bends * BEND_WORTH + c.length + departure_worth(c.centreline)
    )
    kept = sorted((front + others)[: problem.candidates], key=_rank)
    return Found(candidates=tuple(kept), refused=found.refused)


def _rank(candidate: Candidate) -> tuple[float, ...]:
    worth = round(candidate.length + departure_worth(candidate.centreline), 6)
    return (candidate.bends, worth, -round(candidate.gap.distance, 6))


def _without_twins(candidates: Iterable[Candidate]) -> list[Candidate]:
    """Return candidates less those that another of equal bends is better than, nearby."""
    kept: list[Candidate] = []
    for candidate in sorted(candidates, key=_rank):
        if not any(_is_twin(candidate, other) for other in kept):
            kept.append(candidate)
    return kept


def _is_twin(candidate: Candidate, better: Candidate) -> bool:
    """Return whether a candidate is another one over again and no shorter."""
    if candidate.bends != better.bends or candidate.length < better.length - 0.1:
        return False
    apart = points_array(candidate.centreline.vertices) - points_array(
        better.centreline.vertices
    )
    return bool(np.abs(apart).max() < CLOSE)
