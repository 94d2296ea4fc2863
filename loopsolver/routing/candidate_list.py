"""Which of many candidates of a run are listed: those that differ.

References
----------
What no other betters in bends, length and gap at once is a Pareto front, thinned here in
the manner of C. Papadimitriou and M. Yannakakis, On the approximability of trade-offs,
FOCS 2000: of gaps that differ by less than a factor only one is listed. From memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from loopsolver.routing.problem import Candidate, best_first
from loopsolver.routing.ways_round import Poles, is_near, passed_otherwise
from loopsolver.routing.worth import BEND_WORTH, LONGER, MORE_BENDS, MORE_GAP
from loopsolver.tolerances import NO_SHORTER, SAME_WAY_ROUND


def candidate_list(
    found: Iterable[Candidate], poles_of: Callable[[], Poles], *, most: int
) -> tuple[Candidate, ...]:
    """Return the candidates worth listing, best first, no twins among them.

    The best; what no other betters in bends, length and gap at once; then the best of
    other ways round, for which a third of the places is kept; then the rest.

    Parameters
    ----------
    found : iterable of Candidate
        Of one run, as many as there are.
    poles_of : callable
        Returns the poles of what the run has to pass; asked where not all are listed.
    most : int
        How many are listed at most.
    """
    ordered = without_twins(sorted(found, key=best_first))
    if len(ordered) <= most:
        return tuple(ordered)
    poles = poles_of()
    worth = worth_bending(ordered)
    front = _front(worth)
    kept = min(len(other_ways(worth, front, poles)), most // 3)
    listed = front[: most - kept]
    listed += other_ways(worth, listed, poles)
    listed += sorted((one for one in ordered if one not in listed), key=_price)
    return tuple(sorted(listed[:most], key=best_first))


def without_twins(ordered: Iterable[Candidate]) -> list[Candidate]:
    """Return candidates, but none that is the twin of one before it.

    Twins have equal bends and lie everywhere within SAME_WAY_ROUND of each other, and
    neither has MORE_GAP times the other's gap.
    """
    kept: list[Candidate] = []
    for candidate in ordered:
        if not any(_are_twins(candidate, other) for other in kept):
            kept.append(candidate)
    return kept


def _are_twins(one: Candidate, other: Candidate) -> bool:
    low, high = sorted((one.gap.distance, other.gap.distance))
    if one.bends != other.bends or high >= MORE_GAP * low:
        return False
    return is_near(one.centreline, other.centreline, within=SAME_WAY_ROUND)


def worth_bending(ordered: Sequence[Candidate]) -> list[Candidate]:
    """Return those of some candidates, best first, that a builder may prefer to the best.

    Not those of many more bends or much more tube.
    """
    return [
        one
        for one in ordered
        if one.cost[0] <= ordered[0].cost[0] + MORE_BENDS
        and one.length <= LONGER * ordered[0].length
    ]


def _front(ordered: Sequence[Candidate]) -> list[Candidate]:
    """Return the front of bends against length against gap, the best first.

    After it come the shortest and the one with the most gap.
    """
    front: list[Candidate] = []
    for candidate in ordered:
        if not any(_betters(other, candidate) for other in front):
            front.append(candidate)
    first = [
        *front[:1],
        *sorted(front, key=lambda one: one.length)[:1],
        *sorted(front, key=lambda one: -one.gap.distance)[:1],
    ]
    return list(dict.fromkeys([*first, *sorted(front, key=_price)]))


def _betters(one: Candidate, other: Candidate) -> bool:
    """Return whether nothing that counts speaks for the other one of two candidates."""
    return (
        one.cost[0] <= other.cost[0]
        and one.length < other.length + NO_SHORTER
        and other.gap.distance < MORE_GAP * one.gap.distance
    )


def other_ways(
    candidates: Iterable[Candidate], listed: Iterable[Candidate], poles: Poles
) -> list[Candidate]:
    """Return the best candidate of each way round that none of those listed goes."""
    ways = list(listed)
    found: list[Candidate] = []
    for candidate in sorted(candidates, key=_price):
        line = candidate.centreline
        if all(passed_otherwise(line, one.centreline, poles) for one in ways):
            ways.append(candidate)
            found.append(candidate)
    return found


def _price(candidate: Candidate) -> float:
    """Return what a candidate costs a builder, bends as well [mm of tube]."""
    return candidate.cost[0] * BEND_WORTH + candidate.worth
