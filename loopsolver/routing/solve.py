"""From a scene and one of its runs to the run's candidates."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.routing.candidate_list import candidate_list
from loopsolver.routing.candidates import find_candidates, found_routes
from loopsolver.routing.configurations import Configuration, configurations
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.diagnosis.explain import reason_of
from loopsolver.routing.diagnosis.feasibility import quick_routes, routes_in_turn
from loopsolver.routing.diagnosis.no_route import ElbowsBlocked, Reason
from loopsolver.routing.diagnosis.probes import Searches
from loopsolver.routing.diagnosis.stock import is_too_long
from loopsolver.routing.effort import USUAL, Effort
from loopsolver.routing.ends import (
    end_choices,
)
from loopsolver.routing.inspection import misplaced_ends
from loopsolver.routing.judge import gap_around, make_judge
from loopsolver.routing.problem import (
    Candidate,
    Found,
    Longest,
    RouteProblem,
    whatever_longest,
)
from loopsolver.routing.ways_round import poles_in
from loopsolver.scene.model import RunRequest, Scene

RouteSearch = Callable[[RouteProblem], Found]
"""What finds verified candidates of a problem."""

Task = tuple[RouteProblem, RouteSearch]
"""A problem, and the search for it: what there is to be done once."""

REMEMBERED: Final = 512
"""Of so many problems it is remembered what was found: some dozens of MB at most."""


_remembered: OrderedDict[Task, Found] = OrderedDict()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What the search found for one run: candidates, best first, or why there are none.

    `refused` counts routes of the search that failed the independent check; they are
    never shown, and more than none is a defect of the search.
    """

    candidates: tuple[Candidate, ...]
    why: Reason | ElbowsBlocked | None = None
    refused: int = 0


def solve_run(
    scene: Scene, run: RunRequest, *, control: Control = UNATTENDED
) -> Outcome:
    """Return the candidates of one run, or why there are none.

    Other tubes are left out. Where the stock is too short for every candidate, they are
    there all the same, and the reason says what would help.

    Straight fittings are tried first. Elbows come after them, and only where bends and
    elbows together may be no more than the bends that straight fittings need.

    Parameters
    ----------
    scene : Scene
    run : RunRequest
        One of the scene's; other runs matter only through the fittings on their ports.
    control : Control
        Once it is stopped, what is returned may lack candidates, facts and suggestions.
    """
    found = solve_beside(scene, run, (), control=control)
    if any(not is_too_long(c, scene.tube) for c in found.candidates):
        return Outcome(candidates=found.candidates, refused=found.refused)
    # Ports on which no fitting that they offer has room.
    unheld = tuple(
        port
        for port in (run.from_ports[0], run.to_ports[0])
        if not (found.candidates or end_choices(scene, run, scene.port(port)))
    )
    if unheld:
        blocked = ElbowsBlocked(ports=unheld, clearance=scene.rules.clearance)
        return Outcome(candidates=(), why=blocked)
    return Outcome(
        candidates=found.candidates,
        why=reason_of(
            scene,
            run,
            searches_of(control),
            too_long=found.candidates,
            control=control,
        ),
        refused=found.refused,
    )


def solve_beside(
    scene: Scene,
    run: RunRequest,
    laid: Sequence[Obstacle],
    *,
    control: Control = UNATTENDED,
    search: RouteSearch = find_candidates,
    longest: Longest = whatever_longest,
) -> Found:
    """Return the candidates of one run that keep clear of tubes laid already, best first.

    They are gathered over all choices of fittings and formers. Their gaps are those to
    all other things, as everywhere.

    Parameters
    ----------
    scene : Scene
    run : RunRequest
    laid : sequence of Obstacle
        The tubes as solids.
    control : Control
        Asked before each choice of fittings and former; once it is stopped, the others
        are left out.
    search : RouteSearch
        What finds the candidates of each choice.
    longest : Longest
        Other candidates need not be found.
    """
    candidates: list[Candidate] = []
    refused = 0
    for settled in configurations(scene, run, control.effort):
        most = _most_bends(settled, candidates)
        lengths = _longest(settled, most, longest)
        if not lengths:
            continue
        if control.is_over():
            break
        brief = replace(settled.problem, max_bends=len(lengths) - 1)
        if not all(map(math.isinf, lengths)):
            brief = replace(brief, longest=lengths)
        found = Found(candidates=())
        with control.timed():
            found = _clear_of_own(
                scene, replace(settled, problem=brief), laid=tuple(laid), search=search
            )
        refused += found.refused
        candidates += found.candidates
    if not candidates:
        return Found(candidates=(), refused=refused)
    listed = candidate_list(
        candidates, partial(poles_in, scene), most=scene.rules.candidates
    )
    return Found(candidates=listed, refused=refused)


def searched(problem: RouteProblem, search: RouteSearch) -> Found:
    """Return what a search finds of a problem; equal problems are not searched again."""
    task = (problem, search)
    if task not in _remembered:
        remember(task, search(problem))
    _remembered.move_to_end(task)
    return _remembered[task]


def remember(task: Task, found: Found) -> None:
    """Keep what was found for whoever asks again; the one asked for least lately goes."""
    _remembered[task] = found
    while len(_remembered) > REMEMBERED:
        _remembered.popitem(last=False)


def is_known(task: Task) -> bool:
    """Return whether what a search finds is remembered."""
    return task in _remembered


def forget() -> None:
    """Have everything searched again."""
    _remembered.clear()


def first_task(
    scene: Scene, run: RunRequest, *, effort: Effort, search: RouteSearch
) -> Task | None:
    """Return what `solve_beside` searches first, beside nothing; mostly that is all."""
    settled = next(configurations(scene, run, effort), None)
    if settled is None:
        return None
    around = (*settled.problem.obstacles, *settled.stem_cores)
    return replace(settled.problem, obstacles=around), search


def searches_of(control: Control) -> Searches:
    """Return what runs are searched by to learn why one has no route."""
    return Searches(
        problems=partial(problems_of, effort=control.effort),
        quick=partial(_first_of, quick_routes, control, control.effort.quick),
        some=partial(_first_of, routes_in_turn, control, control.effort.for_any),
        best=partial(best_route, control=control),
    )


def _first_of(
    routes: Callable[[RouteProblem], Iterator[Candidate]],
    control: Control,
    effort: Effort,
    scene: Scene,
    run: RunRequest,
) -> Candidate | None:
    """Return the first of a run's routes that the stock is enough for, if there is any.

    Other tubes are left out.
    """
    for settled in configurations(scene, run, effort):
        for cores in (settled.stem_cores, settled.cores):
            if control.is_over():
                return None
            around = (*settled.problem.obstacles, *cores)
            is_through = False
            with control.timed():
                for one in routes(replace(settled.problem, obstacles=around)):
                    line = one.centreline
                    if misplaced_ends(scene, line, settled.ends):
                        continue
                    if settled.runs_through_own(one):
                        is_through = True
                    elif not is_too_long(one, scene.tube):
                        return replace(one, ends=settled.ends)
            if not is_through:
                break
    return None


def best_route(
    scene: Scene, run: RunRequest, *, control: Control = UNATTENDED
) -> Candidate | None:
    """Return the best candidate of a run that the stock is enough for, if there is any.

    Other tubes are left out.
    """
    found = solve_beside(
        scene, run, (), control=control, search=found_routes
    ).candidates
    return next((one for one in found if not is_too_long(one, scene.tube)), None)


def _clear_of_own(
    scene: Scene,
    settled: Configuration,
    *,
    laid: tuple[Obstacle, ...],
    search: RouteSearch,
) -> Found:
    """Return the candidates of a choice that run through neither of its fittings.

    The search knows of elbows alone; where a tube runs through a collar at its other
    end, which is rare, it goes again and keeps clear of collars as well.
    """
    problem = settled.problem
    clear: list[Candidate] = []
    refused = 0
    for cores in (settled.stem_cores, settled.cores):
        around = (*problem.obstacles, *cores, *laid)
        found = searched(replace(problem, obstacles=around), search)
        seated = [
            candidate
            for candidate in found.candidates
            if not misplaced_ends(scene, candidate.centreline, settled.ends)
        ]
        refused += found.refused + len(found.candidates) - len(seated)
        clear = [
            replace(candidate, ends=settled.ends)
            for candidate in seated
            if not settled.runs_through_own(candidate)
        ]
        if len(clear) == len(seated):
            break
    if around != problem.obstacles:
        # The gap that is told is to what the problem knows, not to what was searched.
        judge = make_judge(problem)
        clear = [replace(c, gap=gap_around(judge, c.centreline)) for c in clear]
    return Found(candidates=tuple(clear), refused=refused)


def problems_of(
    scene: Scene, run: RunRequest, *, effort: Effort = USUAL
) -> tuple[RouteProblem, ...]:
    """Return a run with its preferred fittings as problems, one for each former at hand."""
    first = list(configurations(scene, run, effort))
    ends = first[0].ends
    return tuple(
        replace(one.problem, obstacles=(*one.problem.obstacles, *one.stem_cores))
        for one in first
        if one.ends == ends
    )


def problem_of(
    scene: Scene, run: RunRequest, candidate: Candidate, *, effort: Effort = USUAL
) -> RouteProblem | None:
    """Return a run as the problem that a candidate solves; None where it solves none."""
    for settled in configurations(scene, run, effort):
        is_same_former = settled.problem.bend_radius == candidate.centreline.radius
        if settled.ends == candidate.ends and is_same_former:
            return settled.problem
    return None


def _longest(settled: Configuration, most: int, longest: Longest) -> tuple[float, ...]:
    """Return how long tubes may be of each bend count that is worth a look [mm]."""
    problem = settled.problem
    apart = math.dist(problem.start.seat, problem.goal.seat)
    lengths = [longest(bends, settled.elbows) for bends in range(most + 1)]
    while lengths and lengths[-1] < apart:
        lengths.pop()
    return tuple(lengths)


def _most_bends(settled: Configuration, candidates: list[Candidate]) -> int:
    """Return how many bends a choice with elbows may have and still be worth a look."""
    most = settled.problem.max_bends
    without = [c.bends for c in candidates if not c.elbows]
    if settled.elbows and without:
        return min(most, min(without) - settled.elbows)
    return most
