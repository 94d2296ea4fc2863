"""Probes that search nothing: a test says which changes give a route."""

from __future__ import annotations

import math
from collections.abc import Callable

from loopsolver.routing.diagnosis.probes import (
    Probes,
    Searches,
    all_searches,
    quick_searches,
)
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.solve import problems_of
from loopsolver.scene.model import Scene
from tests.builders.short_runs import ONE_BEND, made

ROUTE = made(ONE_BEND)

Works = Callable[..., Candidate | None]
"""From changes to the route that they give, or None."""


def always(*changes: Change) -> Candidate | None:
    """Whatever is changed gives a route."""
    return ROUTE


def never(*changes: Change) -> Candidate | None:
    """Nothing helps."""


def number(change: Change) -> float:
    """Return the value after a change of a rule that has a number."""
    assert isinstance(change.after, int | float)
    return change.after


class ToldProbes(Probes):
    """The probes of a scene's run; the work is so many of them, `slow` ones apart."""

    def __init__(
        self,
        scene: Scene,
        works: Works,
        *,
        slow: Works = never,
        lead: float = math.inf,
        refine: float = math.inf,
        search: float = math.inf,
    ) -> None:
        super().__init__(scene, scene.runs[0], problems_of, best=lambda *_: None)
        self._works, self._slow = works, slow
        self.best_works = works
        self._lead, self._refine = lead, refine
        self._search = search
        self.asked: list[tuple[Change, ...]] = []
        self.searched: list[tuple[Change, ...]] = []

    @property
    def may_lead(self) -> bool:
        return len(self.asked) < self._lead

    @property
    def may_refine(self) -> bool:
        return len(self.asked) < self._refine

    def route_with(
        self,
        *changes: Change,
        choice: Callable[[RouteProblem], Searches] = quick_searches,
    ) -> Candidate | None:
        self.asked.append(changes)
        works = self._slow if choice is all_searches else self._works
        return works(*changes)

    def best_with(self, *changes: Change) -> Candidate | None:
        if changes not in self.searched:
            self.searched.append(changes)
        return self.best_works(*changes) or self._slow(*changes)

    @property
    def may_search(self) -> bool:
        return len(self.searched) < self._search
