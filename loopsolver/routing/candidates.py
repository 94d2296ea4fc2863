"""All candidates of one problem, whatever its bend angles: gathered, ranked, cut."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import chain, combinations, islice
from typing import Final

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.routing.angled.closed_routes import MOST_BENDS
from loopsolver.routing.angled.free import free_candidates
from loopsolver.routing.angled.listed import (
    NONE_KNOWN,
    angled_candidates,
    verified,
)
from loopsolver.routing.angled.waypoint_graph import MOST_OVER_GRAPH
from loopsolver.routing.candidate_list import (
    candidate_list,
    other_ways,
    without_twins,
    worth_bending,
)
from loopsolver.routing.judge import Judge, gap_around, make_judge
from loopsolver.routing.least_tube import settled_tubes
from loopsolver.routing.no_way import is_proven_none, room_beyond
from loopsolver.routing.problem import Candidate, Found, RouteProblem, best_first
from loopsolver.routing.square.lattice import square_run
from loopsolver.routing.square.search import square_candidates, squeezed_candidates
from loopsolver.routing.ways_round import Poles, closings, poles_of
from loopsolver.routing.worth import MORE_BENDS, MORE_GAP, STANDARD_DEG
from loopsolver.scene.model import BendAngles, TurnStep
from loopsolver.tolerances import NO_SHORTER

_STEPS: Final[tuple[TurnStep, ...]] = (90.0, 45.0, "any")
"""Steps of turns [degrees], each of which allows what those before it do."""


SHORT_LIST: Final = 4
"""Of lists of no more angles all shorter ones are searched as well: fifteen at most."""


def find_candidates(problem: RouteProblem) -> Found:
    """Return the verified candidates of a problem, at most as many as it asks for.

    Best first: rank 1 has the fewest bends and among equals the shortest. Which of those
    found are listed says `candidate_list`.

    Parameters
    ----------
    problem : RouteProblem
    """
    found = found_routes(problem)
    every = [*found.candidates]
    if not every:
        return found
    poles = poles_of(problem.obstacles, reach=problem.reach)
    every += _roomier(problem, every)
    every += _another_way(problem, every, poles)
    listed = candidate_list(every, lambda: poles, most=problem.candidates)
    return replace(found, candidates=listed)


def soon_found(problem: RouteProblem) -> Found:
    """Return what the lattice gives, where both ends lie square in one frame.

    For the many pairs of ports that a run may join: of each the fewest bends, and of
    them the shortest tube, then that of the next bend count that has any; and the tubes
    that the ports settle. Elsewhere all that `find_candidates` finds.
    """
    if not is_soon_found(problem):
        return find_candidates(problem)
    most = min(problem.candidates, problem.effort.loop.routes_soon)
    judge = make_judge(problem)
    found = square_candidates(replace(problem, candidates=most), judge)
    if problem.is_on_lattice:
        return found
    every = [*found.candidates, *verified(judge, settled_tubes(problem, judge))]
    return replace(
        found, candidates=tuple(without_twins(sorted(every, key=best_first)))
    )


def is_soon_found(problem: RouteProblem) -> bool:
    """Return whether there is more to be found than `soon_found` looks for."""
    return (90.0,) in _angle_lists(problem) and square_run(problem) is not None


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
        more = list(_plainly_found(replace(brief, clearance=wanted)))
        yield from more
        if not more:
            return
        best = min(more, key=best_first)


def _room_at_ends(problem: RouteProblem, best: Candidate) -> float:
    """Return a gap that no tube of a problem can exceed: that of its first straights."""
    around, vertices = make_judge(problem).around, best.centreline.vertices
    ends = ((problem.start, vertices[1]), (problem.goal, vertices[-2]))
    gaps = (
        room_beyond(problem, end, around)
        for end, beside in ends
        if math.dist(end.seat, beside) > end.straight
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
            for one in _of_closed(around)
        ]
        yield from more
        if other_ways(worth_bending([best, *more]), [best], poles):
            return


def _of_closed(problem: RouteProblem) -> Iterable[Candidate]:
    """Return candidates of square bends alone where ports and rules allow these."""
    if not is_soon_found(problem):
        return _plainly_found(problem)
    return square_candidates(problem, make_judge(problem)).candidates


def _plainly_found(problem: RouteProblem) -> Iterator[Candidate]:
    """Yield what the searches find that a problem's own rules ask for."""
    judge = make_judge(problem)
    square = _on_lattice(problem, judge).candidates
    yield from square
    yield from _asked(problem, judge, square)


def found_routes(problem: RouteProblem) -> Found:
    """Return all verified candidates that the searches for a problem come upon.

    What rules that allow less would give is found too, by the same searches, as far as it
    has no more bends: so one more allowed angle, or a smaller step of turns, never gives
    a worse tube.
    """
    judge = make_judge(problem)
    square = _square(problem, judge)
    if not square.candidates and _is_given_up(problem):
        return square
    asked = [*square.candidates, *_asked(problem, judge, square.candidates)]
    few = replace(problem, max_bends=_fewest(asked, none=problem.max_bends))
    of_less = _of_less(few, judge, square.candidates)
    return replace(square, candidates=(*asked, *of_less))


def routes_beside(problem: RouteProblem) -> Found:
    """Return the same beside laid tubes, which often leave no way at all: seen first."""
    return Found(candidates=()) if is_proven_none(problem) else found_routes(problem)


def found_in_turn(problem: RouteProblem) -> Iterator[Candidate]:
    """Yield what `find_candidates` chooses from, each as soon as it is found.

    Where any angle is allowed those come first that ask for the fewest bends.
    """
    judge = make_judge(problem)
    square = _square(problem, judge).candidates
    if not square and _is_given_up(problem):
        return
    asked = _asked(problem, judge, square)
    is_free = problem.bend_angles_deg == "any"
    yield from chain(asked, square) if is_free else chain(square, asked)
    yield from _of_less(problem, judge, square)


def _is_given_up(problem: RouteProblem) -> bool:
    """Return whether nothing is worth looking for that is not on the lattice."""
    return problem.is_on_lattice or is_proven_none(problem)


def _square(problem: RouteProblem, judge: Judge) -> Found:
    """Return the lattice's candidates, or where it has none what it just misses."""
    found = _on_lattice(problem, judge)
    if found.candidates or (90.0,) not in _angle_lists(problem):
        return found
    return found if is_proven_none(problem) else squeezed_candidates(problem, judge)


def _on_lattice(problem: RouteProblem, judge: Judge) -> Found:
    """Return the candidates of square bends and square turns, where these are allowed."""
    if (90.0,) in _angle_lists(problem):
        return square_candidates(problem, judge)
    return Found(candidates=())


def _asked(
    problem: RouteProblem, judge: Judge, square: Sequence[Candidate]
) -> Iterator[Candidate]:
    """Yield candidates of all angles, their turns of the step or of the next greater one.

    Parameters
    ----------
    problem : RouteProblem
    judge : Judge
        The problem's.
    square : sequence of Candidate
        Those of the lattice.
    """
    *_, angles_deg = _angle_lists(problem)
    if angles_deg == (90.0,):
        yield from _out_of_square(problem, judge, square)
    else:
        steps = _steps(problem)[-2:]
        yield from _of_angles(problem, judge, angles_deg, steps, square)


def _of_less(
    problem: RouteProblem, judge: Judge, square: Sequence[Candidate]
) -> Iterator[Candidate]:
    """Yield candidates of fewer angles, or of greater steps of turns, than `_asked`."""
    *less, angles_deg = _angle_lists(problem)
    steps, narrower = _steps(problem), problem.effort.variety.narrower
    for some_deg in less[max(len(less) - narrower, 0) :]:
        if some_deg == (90.0,):
            yield from _out_of_square(problem, judge, square)
        else:
            yield from _of_angles(problem, judge, some_deg, steps, square)
    if angles_deg != (90.0,):
        yield from _of_angles(problem, judge, angles_deg, steps[:-2], square)


def _angle_lists(problem: RouteProblem) -> list[BendAngles]:
    """Return the angles of a problem [degrees], the last, and before them less of them.

    All shorter lists of a short one; of a longer one, and where any angle is allowed,
    those of standard angles. Square bends alone come first.
    """
    angles_deg, (least, greatest) = problem.bend_angles_deg, problem.bend_range
    if angles_deg == "any":
        kept = [one for one in STANDARD_DEG if least <= one <= greatest]
    else:
        kept = sorted({*angles_deg})
        angles_deg = tuple(kept)
        if len(kept) > SHORT_LIST:
            kept = [one for one in STANDARD_DEG if one in angles_deg]
    less = [
        some for count in range(len(kept)) for some in combinations(kept, count + 1)
    ]
    less.sort(key=lambda some: (some != (90.0,), len(some)))
    return list(dict.fromkeys([*less, angles_deg]))


def _steps(problem: RouteProblem) -> tuple[TurnStep, ...]:
    """Return the steps that turns of a problem may have, the smallest last [degrees].

    Not more of the greater ones than its effort asks for.
    """
    steps = _STEPS[: _STEPS.index(problem.turn_step_deg) + 1]
    return steps[-1 - problem.effort.variety.narrower :]


def _of_angles(
    problem: RouteProblem,
    judge: Judge,
    angles_deg: BendAngles,
    steps: Iterable[TurnStep],
    square: Sequence[Candidate],
) -> Iterator[Candidate]:
    """Yield candidates with bends of some angles and turns of some steps [degrees].

    The searches know of nothing but the lattice's tubes, `square`: so what one of them
    finds is the same whatever else is allowed.
    """
    fewest = _fewest(square, none=NONE_KNOWN)
    for step_deg in steps:
        turned = replace(problem, turn_step_deg=step_deg)
        if angles_deg == "any":
            yield from free_candidates(turned, judge, fewest=fewest)
        else:
            yield from angled_candidates(
                turned,
                judge,
                angles_deg=angles_deg,
                fewest=fewest,
                bound=lambda _found, bends: problem.must_be_below(bends),
            )


def _out_of_square(
    problem: RouteProblem, judge: Judge, square: Sequence[Candidate]
) -> Iterator[Candidate]:
    """Yield candidates of square bends that are shorter than those of greater steps.

    `square` are the lattice's, those of the greatest one.
    """
    known = [*square]
    for step_deg in (one for one in _steps(problem) if one != 90.0):
        bound = partial(_shortest, problem, known)
        angled = angled_candidates(
            replace(problem, turn_step_deg=step_deg),
            judge,
            angles_deg=(90.0,),
            fewest=_fewest(known, none=NONE_KNOWN),
            bound=bound,
        )
        shorter = []
        for one in angled:
            if one.length < bound((), one.bends) - NO_SHORTER:
                shorter.append(one)
                yield one
        known += shorter


def _fewest(candidates: Iterable[Candidate], *, none: int) -> int:
    """Return the least number of bends of candidates, or what stands for none."""
    return min((one.bends for one in candidates), default=none)


def most_bends_searched(problem: RouteProblem) -> int:
    """Return how many bends tubes are looked through that are not on the lattice."""
    if problem.bend_angles_deg == "any" or problem.turn_step_deg == "any":
        return MOST_OVER_GRAPH
    return MOST_BENDS


def _shortest(
    problem: RouteProblem,
    known: Sequence[Candidate],
    found: Sequence[Candidate],
    bends: int,
) -> float:
    """Return the least length of candidates with so many bends at most [mm].

    Without one, what tubes must be shorter than to be any good.
    """
    of_few = [one.length for one in (*known, *found) if one.bends <= bends]
    return min(of_few, default=problem.must_be_below(bends))
