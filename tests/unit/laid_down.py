"""What the joint search finds, laid down: each run's own best, whatever touches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from loopsolver.routing.control import UNATTENDED, Control, RunStarted
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.loop.solving import Loop, LoopRun
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import Outcome
from loopsolver.scene.model import RunRequest, Scene


class LaidDown:
    """Stands for the real `solve_loop`, with outcomes by run name."""

    def __init__(self, outcomes: Mapping[str, Outcome]) -> None:
        self.outcomes = outcomes

    def __call__(
        self,
        _scene: Scene,
        runs: Sequence[RunRequest],
        *,
        key: Any,
        kept: Mapping[str, Candidate],
        control: Control = UNATTENDED,
        **_guard: float,
    ) -> Loop:
        found = []
        for number, run in enumerate(runs):
            event = RunStarted(name=run.name, number=number + 1, count=len(runs))
            control.tell(event)
            found.append(self._run(number, run, key, kept))
        costs = [key(one.chosen.candidate) for one in found if one.chosen]
        total = tuple(sum(parts) for parts in zip(*costs, strict=True))
        return Loop(
            runs=tuple(found),
            total=total,
            bound=total,
            rounds=0,
            pool=sum(len(one.alone) for one in found),
            is_proven=True,
        )

    def _run(
        self, number: int, run: RunRequest, key: Any, kept: Mapping[str, Candidate]
    ) -> LoopRun:
        outcome = self.outcomes[run.name]
        routes = [
            Route(
                run=number,
                ports=(run.from_ports[0], run.to_ports[0]),
                candidate=candidate,
            )
            for candidate in outcome.candidates
        ]
        settled = [route for route in routes if route.candidate == kept.get(run.name)]
        return LoopRun(
            request=run,
            alone=tuple(routes),
            beside=(),
            chosen=min(
                settled or routes, key=lambda route: key(route.candidate), default=None
            ),
            why=outcome.why,
            refused=outcome.refused,
        )
