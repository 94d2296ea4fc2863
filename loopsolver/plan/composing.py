"""From a scene to a plan: every run routed, its candidates ranked, the loop chosen."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from loopsolver.errors import LoopsolverError
from loopsolver.plan.file import Plan
from loopsolver.plan.model import LoopSummary, PlannedRun, WouldFit
from loopsolver.plan.ranking import FOR_PARALLEL, RANKINGS, ranked
from loopsolver.routing.candidate_list import without_twins
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.diagnosis.no_route import (
    NoPlace,
    NoRoute,
)
from loopsolver.routing.diagnosis.whole_loop import (
    LoopRemedies,
    LoopRemedy,
)
from loopsolver.routing.effort import SECONDS
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tolerances import WRITTEN_DECIMALS
from loopsolver.words import quoted

if TYPE_CHECKING:
    from loopsolver.routing.loop.solving import Loop, LoopRun

Told = NoRoute | LoopRemedy | LoopRemedies

Worded = Callable[[Told], str]
"""What puts into words why a run has no chosen tube, and what would let all runs fit."""


def planned_scene(
    scene: Scene,
    *,
    worded: Callable[[Told, Scene], str],
    by: str = "bends",
    runs: Sequence[str] | None = None,
    keep: Mapping[str, Candidate] = MappingProxyType({}),
    built: Mapping[str, Candidate] = MappingProxyType({}),
    seconds: float = SECONDS,
    control: Control = UNATTENDED,
) -> Plan:
    """Return a plan with the candidates of every run, chosen so that the loop fits.

    Parameters
    ----------
    scene : Scene
    worded : callable
        What puts into words why a run has no chosen tube, and what would let all fit.
    by : str
        What counts as best: a name in `RANKINGS`.
    runs : sequence of str, optional
        Names of the runs to route, all others left out of the plan; all if None.
    keep : mapping of run names to Candidates, optional
        Candidates that stay chosen; the rest is solved round them.
    built : mapping of run names to Candidates, optional
        Tubes as they were built, which stay as they are; the rest is solved round them.
        They are none of their runs' candidates.
    seconds : float
        Guard on the time of the whole search [s].
    control : Control
        Asked between searches when they must end, and told how far they are.

    Returns
    -------
    Plan
        Its runs in the scene's order; where the order of the loop's parts was free, in
        the order that was found. A run without a route is a result, not an error: it
        has no candidates and says why. Where the search is stopped, the best that was
        found by then.

    Raises
    ------
    LoopsolverError
        If `by` or a name in `runs` or `keep` is not known.
    """
    if by not in RANKINGS:
        msg = f"cannot rank by {by!r}; wanted one of {', '.join(RANKINGS)}"
        raise LoopsolverError(msg)

    held = {**keep, **built}

    def solve(of: Scene, during: Control) -> tuple[Loop, Loop]:
        least = _solved(of, by=by, runs=runs, keep=held, control=during)
        return least, _alongside(least, of, by=by, keep=held, control=during)

    control = control.within(seconds)
    least, loop = solve(scene, control)
    remedies = _remedies(
        loop, scene, lambda *of: solve(*of)[1], held=held, control=control
    )
    given = _length(loop) - _length(least)
    most = scene.rules.candidates
    planned = tuple(
        _planned(
            run,
            by,
            most,
            lambda why: worded(why, scene),
            is_alone=len(loop.runs) == 1 and not held,
            built=built.get(run.request.name),
        )
        for run in loop.runs
    )
    summary = _summary(loop, by=by, held=held, given=given)
    fitting = _whole_loop(remedies, lambda one: worded(one, scene))
    return Plan(scene=scene, runs=planned, loop=replace(summary, **fitting))


def _remedies(
    loop: Loop,
    scene: Scene,
    solve: Callable[[Scene, Control], Loop],
    *,
    held: Mapping[str, Candidate],
    control: Control,
) -> LoopRemedies | None:
    """Return what would let all runs of a loop fit; None where all do, or after a stop."""
    from loopsolver.routing.loop.remedies import loop_remedies

    if _is_whole(loop) or loop.ended.startswith("stopped"):
        return None
    return loop_remedies(scene, loop, solve, kept=held, control=control)


def _summary(loop: Loop, *, by: str, held: Container[str], given: float) -> LoopSummary:
    """Return how a choice was made; `given` is its tube for running parallel [mm]."""
    laid = [run.request.name for run in loop.runs if run.chosen is not None]
    return LoopSummary(
        by=by,
        total=loop.total,
        bound=loop.bound,
        is_proven=loop.is_proven,
        ended=loop.ended,
        kept=tuple(name for name in laid if name in held),
        rounds=loop.rounds,
        pool=loop.pool,
        for_parallel=max(round(given, WRITTEN_DECIMALS), 0.0),
    )


def _alongside(
    least: Loop,
    scene: Scene,
    *,
    by: str,
    keep: Mapping[str, Candidate],
    control: Control,
) -> Loop:
    """Return a loop with more tube side by side, unless its search had to end."""
    if least.ended != "done":
        return least
    from loopsolver.routing.loop.parallel_search import parallel_loop

    share, part = FOR_PARALLEL.get(by, (0.0, None))
    return parallel_loop(
        least,
        scene,
        key=RANKINGS[by],
        share=share,
        part=part,
        kept=keep.keys(),
        control=control,
    )


def _solved(
    scene: Scene,
    *,
    by: str,
    runs: Sequence[str] | None,
    keep: Mapping[str, Candidate],
    control: Control,
) -> Loop:
    """Return the choice for the loop, its order searched where the scene leaves it."""
    from loopsolver.routing.loop.ports import as_routed
    from loopsolver.routing.loop.solving import solve_any_order, solve_loop
    from loopsolver.scene.circuit import loop_parts

    key = RANKINGS[by]
    if scene.loop is not None and scene.loop.order == "any" and runs is None:
        return solve_any_order(
            scene,
            loop_parts(scene),
            key=key,
            seconds=math.inf,
            kept=keep,
            control=control,
        )
    requests = _requests(scene, runs)
    _check_known(keep, [request.name for request in requests])
    return solve_loop(
        as_routed(scene),
        requests,
        key=key,
        seconds=math.inf,
        kept=keep,
        control=control,
    )


def _requests(scene: Scene, names: Sequence[str] | None) -> tuple[RunRequest, ...]:
    if names is None:
        return scene.runs
    _check_known(names, [run.name for run in scene.runs])
    return tuple(run for run in scene.runs if run.name in names)


def _check_known(names: Iterable[str], known: Sequence[str]) -> None:
    told: list[str] = []
    for name in (name for name in names if name not in known):
        near = difflib.get_close_matches(name, known, n=1)
        hint = f"; nearest: {near[0]!r}" if near else ""
        there_are = quoted(known) or "none"
        told.append(f"the scene has no run {name!r}; there are {there_are}{hint}")
    if told:
        raise LoopsolverError("\n".join(told))


def _planned(
    run: LoopRun,
    by: str,
    most: int,
    worded: Worded,
    *,
    is_alone: bool,
    built: Candidate | None,
) -> PlannedRun:
    """Return a run with its best candidates, the chosen one among them.

    A chosen one that was found beside other tubes takes its twins' place, but not that
    of the run's best. Where there are no other tubes, of equal ones the first is chosen.
    In place of a built tube that is chosen, the candidate that is most like it.
    """
    chosen = None if run.chosen is None else run.chosen.candidate
    candidates = ranked([route.candidate for route in run.alone], by=by)
    if chosen is not None and chosen is built:
        chosen = _most_like(built, candidates)
    if chosen in candidates and is_alone:
        equal = [one for one in candidates if RANKINGS[by](one) == RANKINGS[by](chosen)]
        chosen = equal[0]
    if chosen is not None and chosen not in candidates:
        others = without_twins([chosen, *candidates[1:]])
        candidates = ranked([*candidates[:1], *others], by=by)
    shown = candidates[:most]
    if chosen is not None and chosen not in shown:
        shown = (*shown[: most - 1], chosen)
    first, last = _ports(run, built or chosen or (shown[0] if shown else None))
    return PlannedRun(
        name=run.request.name,
        from_port=first,
        to_port=last,
        candidates=shown,
        chosen=None if chosen is None else shown.index(chosen) + 1,
        why=_why(run, shown, worded),
        in_the_way=run.why.in_the_way if isinstance(run.why, NoPlace) else (),
        refused=run.refused,
        built=built,
    )


def _most_like(built: Candidate, among: Sequence[Candidate]) -> Candidate | None:
    """Return the candidate that a built tube was probably bent from, None of none."""

    def unlikeness(one: Candidate) -> tuple[float, float]:
        pairs = zip(built.centreline.vertices, one.centreline.vertices, strict=False)
        return abs(one.bends - built.bends), sum(math.dist(*pair) for pair in pairs)

    return min(among, key=unlikeness, default=None)


def _ports(run: LoopRun, candidate: Candidate | None) -> tuple[str, str]:
    """Return the ports that a run uses: those of a candidate, else the first it may."""
    if candidate is not None and len(candidate.ends) == 2:
        return candidate.ends[0].port, candidate.ends[1].port
    return run.request.from_ports[0], run.request.to_ports[0]


def _why(run: LoopRun, shown: tuple[Candidate, ...], worded: Worded) -> str | None:
    if run.chosen is not None and shown:
        return None
    if run.why is not None:
        return worded(run.why)
    if not shown and run.chosen is not None:
        return "no route was found for it; its tube as built stays"
    if not shown:
        return "the search found none and gave no reason"
    return "every candidate is in the way of a tube that was chosen"


def _is_whole(loop: Loop) -> bool:
    return all(run.chosen is not None for run in loop.runs)


def _whole_loop(remedies: LoopRemedies | None, worded: Worded) -> dict[str, Any]:
    """Return what a plan says of what would let all runs of its loop fit."""
    if remedies is None:
        return {}
    found = remedies.found
    if found is None:
        return {"tried": worded(remedies)}
    would_fit = WouldFit(
        changes=worded(found),
        runs=found.runs,
        bends=found.bends,
        elbows=found.elbows,
        length=round(found.length, WRITTEN_DECIMALS),
    )
    return {"would_fit": would_fit}


def _length(loop: Loop) -> float:
    """Return the length of the chosen tubes [mm]."""
    chosen = [run.chosen for run in loop.runs if run.chosen is not None]
    return sum(route.candidate.length for route in chosen)
