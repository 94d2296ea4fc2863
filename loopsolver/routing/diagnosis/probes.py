"""A run searched again with changed rules, as often as the work allows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

from loopsolver.geometry.solids import HalfSpace
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.diagnosis.feasibility import routes_in_turn
from loopsolver.routing.diagnosis.rule_changes import (
    EVERY_RULE,
    Change,
    Rule,
    changed,
)
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tolerances import TOUCH

RouteOf = Callable[[Scene, RunRequest], Candidate | None]
"""From a scene and a run to a tube of the run, other tubes left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Searches:
    """What a run is searched by.

    Attributes
    ----------
    problems : callable
        From a scene and a run to its problems, the one with the smallest radius first.
    quick : callable
        Returns some tube that is found soon; most that there are of are.
    some : callable
        Returns the first tube that `route` comes upon: whether there is any.
    best : callable
        Returns the best tube that `route` finds.
    """

    problems: Callable[[Scene, RunRequest], tuple[RouteProblem, ...]]
    quick: RouteOf
    some: RouteOf
    best: RouteOf


class Probes:
    """The probes of one run: each is made once, and its work counted."""

    def __init__(
        self,
        scene: Scene,
        run: RunRequest,
        searches: Searches,
        *,
        rules: frozenset[Rule] = EVERY_RULE,
        control: Control = UNATTENDED,
    ) -> None:
        """Make the probes of a run, for changes of some rules."""
        self.rules = rules
        self.scene = scene
        self.run = run
        self._control = control
        self._searches = searches
        self._quick: dict[tuple[Change, ...], Candidate | None] = {}
        self._some: dict[tuple[Change, ...], Candidate | None] = {}
        self._best: dict[tuple[Change, ...], Candidate | None] = {}

    @cached_property
    def problems(self) -> tuple[RouteProblem, ...]:
        """The run's own problems, nothing changed, the easiest first."""
        return self._searches.problems(self.scene, self.run)

    @property
    def problem(self) -> RouteProblem:
        """The run's own problem that is easiest to solve."""
        return self.problems[0]

    @property
    def bare_problem(self) -> RouteProblem:
        """The same with nothing in the case."""
        walls = tuple(
            obstacle
            for obstacle in self.problem.obstacles
            if isinstance(obstacle.solid, HalfSpace)
        )
        return replace(self.problem, obstacles=walls)

    @property
    def may_lead(self) -> bool:
        """Whether there is work left for finding what helps at all."""
        return self._is_below(self.problem.effort.diagnosis.leads)

    @property
    def may_refine(self) -> bool:
        """Whether there is work left for finding how little is enough."""
        return self._is_below(self.problem.effort.diagnosis.probes)

    def _is_below(self, most: int) -> bool:
        return len(self._quick) < most and not self.is_stopped

    @property
    def may_search(self) -> bool:
        """Whether all that `route` searches may be searched once more."""
        most = self.problem.effort.diagnosis.searches
        return len(self._some) < most and not self.is_stopped

    @property
    def is_stopped(self) -> bool:
        """Whether the user wants no more of it."""
        return self._control.is_over()

    @property
    def tried(self) -> tuple[Change, ...]:
        """The first change that was tried of each rule and subject, in order."""
        first: dict[tuple[str, str], Change] = {}
        for changes in (*self._quick, *self._some):
            for change in changes:
                first.setdefault((change.rule, change.subject), change)
        return tuple(first.values())

    def bare_route(self) -> Candidate | None:
        """Return some route of the run if nothing stood in the case, or None."""
        if self._control.is_over():
            return None
        most = self.scene.tube.stock_length + TOUCH
        found = routes_in_turn(self.bare_problem)
        return next((one for one in found if one.blank <= most), None)

    def route_with(self, *changes: Change) -> Candidate | None:
        """Return some route of the run after changes, or None if none is found soon."""
        return self._known(self._quick, self._searches.quick, changes)

    def some_with(self, *changes: Change) -> Candidate | None:
        """Return some route of the run after changes, or None if `route` finds none."""
        soon = self.route_with(*changes)
        return soon or self._known(self._some, self._searches.some, changes)

    def _known(
        self,
        known: dict[tuple[Change, ...], Candidate | None],
        search: RouteOf,
        changes: tuple[Change, ...],
    ) -> Candidate | None:
        """Return what a search finds after changes, which it makes once."""
        if changes not in known:
            if self._control.is_over():
                return None
            found = search(*self._changed(changes))
            if found is None and self._control.is_over():
                return None  # the search was cut short
            known[changes] = found
        return known[changes]

    def best_with(self, *changes: Change) -> Candidate | None:
        """Return the tube that `route` finds best after changes, or None.

        It has no more bends than some that is known.
        """
        known = self.some_with(*changes)
        if known is None or self._control.is_over():
            return None
        if changes not in self._best:
            scene, run = self._changed(changes)
            run = replace(run, max_bends=known.bends + known.elbows)
            found = self._searches.best(scene, run)
            if self._control.is_over():
                return None  # whatever a search that was cut short has found
            if found is None:  # what was found as it is does not pass
                self._quick[changes] = self._some[changes] = None
            self._best[changes] = found
        return self._best[changes]

    def _changed(self, changes: tuple[Change, ...]) -> tuple[Scene, RunRequest]:
        scene, run = self.scene, self.run
        for change in changes:
            scene, run = changed(scene, run, change)
        return scene, run
