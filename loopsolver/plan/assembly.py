"""From a scene to a plan: every run routed, its candidates ranked."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence

from loopsolver.errors import LoopsolverError
from loopsolver.plan.model import Plan, PlannedRun
from loopsolver.plan.ranking import RANKINGS, ranked
from loopsolver.routing.problem import Outcome
from loopsolver.scene.model import RunRequest, Scene

Progress = Callable[[str, int, int], None]
"""Told before each run: its name, its number counted from 1, how many there are."""


def route_scene(
    scene: Scene,
    *,
    by: str = "bends",
    runs: Sequence[str] | None = None,
    progress: Progress | None = None,
) -> Plan:
    """Return a plan with the candidates of every run, the best of each chosen.

    Parameters
    ----------
    scene : Scene
    by : str
        What counts as best: a name in `RANKINGS`.
    runs : sequence of str, optional
        Names of the runs to route, all others left out of the plan; all if None.
    progress : callable, optional
        Told before each run: its name, its number counted from 1, how many there are.

    Returns
    -------
    Plan
        Its runs in the scene's order. A run without a route is a result, not an error:
        it has no candidates and says why.

    Raises
    ------
    LoopsolverError
        If `by` or a name in `runs` is not known.
    """
    from loopsolver.routing.solve import solve_run

    if by not in RANKINGS:
        msg = f"cannot rank by {by!r}; wanted one of {', '.join(RANKINGS)}"
        raise LoopsolverError(msg)
    requests = _requests(scene, runs)
    planned: list[PlannedRun] = []
    for number, request in enumerate(requests, start=1):
        if progress is not None:
            progress(request.name, number, len(requests))
        planned.append(_planned(request, solve_run(scene, request), by))
    return Plan(scene=scene, runs=tuple(planned))


def _requests(scene: Scene, names: Sequence[str] | None) -> tuple[RunRequest, ...]:
    if names is None:
        return scene.runs
    known = [run.name for run in scene.runs]
    unknown = [name for name in names if name not in known]
    if unknown:
        raise LoopsolverError("\n".join(_no_such_run(name, known) for name in unknown))
    return tuple(run for run in scene.runs if run.name in names)


def _no_such_run(name: str, known: Sequence[str]) -> str:
    near = difflib.get_close_matches(name, known, n=1)
    listed = ", ".join(repr(one) for one in known) or "none"
    hint = f"; nearest: {near[0]!r}" if near else ""
    return f"the scene has no run {name!r}; there are {listed}{hint}"


def _planned(request: RunRequest, outcome: Outcome, by: str) -> PlannedRun:
    candidates = ranked(outcome.candidates, by=by)
    why = outcome.why or "the search found none and gave no reason"
    return PlannedRun(
        name=request.name,
        from_port=request.from_ports[0],
        to_port=request.to_ports[0],
        candidates=candidates,
        chosen=1 if candidates else None,
        why=None if candidates else why,
        refused=outcome.refused,
    )
