"""Probes that search nothing: a test says which changes give a route."""

from __future__ import annotations

import math
from collections.abc import Callable

from loopsolver.routing.diagnosis.probes import Probes, Searches
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import problems_of
from loopsolver.scene.model import RunRequest, Scene
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
    """The probes of a scene's run; the work is so many of them.

    Attributes
    ----------
    asked, sought, searched : list of changes
        After which some route was looked for soon and thoroughly, and after which the
        best.
    """

    def __init__(
        self,
        scene: Scene,
        works: Works,
        *,
        some: Works | None = None,
        best: Works | None = None,
        lead: float = math.inf,
        refine: float = math.inf,
        search: float = math.inf,
    ) -> None:
        """Tell what some changes give; thoroughly, and at best, if that is other."""
        self.asked: list[tuple[Change, ...]] = []
        self.sought: list[tuple[Change, ...]] = []
        self.searched: list[tuple[Change, ...]] = []
        self._now: tuple[Change, ...] = ()
        self._lead, self._refine, self._search = lead, refine, search
        searches = Searches(
            problems=problems_of,
            quick=self._telling(works, self.asked),
            some=self._telling(works if some is None else some, self.sought),
            best=self._telling(best or works, self.searched),
        )
        super().__init__(scene, scene.runs[0], searches)

    def _telling(
        self, works: Works, kept: list[tuple[Change, ...]]
    ) -> Callable[[Scene, RunRequest], Candidate | None]:
        def tell(_scene: Scene, _run: RunRequest) -> Candidate | None:
            kept.append(self._now)
            return works(*self._now)

        return tell

    def _changed(self, changes: tuple[Change, ...]) -> tuple[Scene, RunRequest]:
        self._now = changes
        return super()._changed(changes)

    @property
    def may_lead(self) -> bool:
        return len(self.asked) < self._lead

    @property
    def may_refine(self) -> bool:
        return len(self.asked) < self._refine

    @property
    def may_search(self) -> bool:
        return len(self.sought) < self._search
