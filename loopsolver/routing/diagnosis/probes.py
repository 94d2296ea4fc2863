"""A run searched again with changed rules, as often as the work allows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from typing import Final

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import HalfSpace
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.diagnosis.feasibility import (
    Search,
    feasible_route,
    free_routes,
    listed_routes,
    short_free_routes,
    short_listed_routes,
    square_routes,
    straight_routes,
)
from loopsolver.routing.diagnosis.rule_changes import (
    EVERY_RULE,
    Change,
    Rule,
    changed,
)
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.square.lattice import square_run
from loopsolver.scene.model import RunRequest, Scene

BestOf = Callable[[Scene, RunRequest], Candidate | None]
"""From a scene and a run to the best tube that `route` finds, other tubes left out."""

ProblemsOf = Callable[[Scene, RunRequest], tuple[RouteProblem, ...]]
"""From a scene and a run to its problems, the one that is easiest to solve first."""

Searches = tuple[Search, ...]

SQUARE: Final[Searches] = (straight_routes, square_routes)
QUICK: Final[Searches] = (*SQUARE, short_listed_routes, short_free_routes)
ALL: Final[Searches] = (*SQUARE, listed_routes, free_routes)


def all_searches(problem: RouteProblem) -> Searches:
    """Return every search, whatever the problem."""
    del problem
    return ALL


def quick_searches(problem: RouteProblem) -> Searches:
    """Return the searches that find most of what there is.

    Slow ones are left out: for angled routes of many bends, and, where square bends are
    asked for, for tubes rolled out of square unless no others can be.
    """
    if problem.bend_angles_deg == (90.0,) and square_run(problem) is not None:
        return SQUARE
    return QUICK


class Probes:
    """The probes of one run: each is made once, and its work counted."""

    def __init__(
        self,
        scene: Scene,
        run: RunRequest,
        problems: ProblemsOf,
        *,
        best: BestOf,
        rules: frozenset[Rule] = EVERY_RULE,
        control: Control = UNATTENDED,
    ) -> None:
        """Make the probes of a run, for changes of some rules.

        `problems` turns scenes into problems for quick searches; `best` is the search
        that `route` makes.
        """
        self.rules = rules
        self.scene = scene
        self.run = run
        self._control = control
        self._problems = problems
        self._best_of = best
        self._best: dict[tuple[Change, ...], Candidate | None] = {}
        self._spent = 0.0
        self._known: dict[tuple[tuple[Change, ...], Searches], Candidate | None] = {}

    @cached_property
    def problems(self) -> tuple[RouteProblem, ...]:
        """The run's own problems, nothing changed, the easiest first."""
        return self._problems(self.scene, self.run)

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
        return self._is_below(self.problem.effort.diagnosis.lead_work)

    @property
    def may_refine(self) -> bool:
        """Whether there is work left for finding how little is enough."""
        return self._is_below(self.problem.effort.diagnosis.work)

    @property
    def is_stopped(self) -> bool:
        """Whether the user wants no more of it."""
        return self._control.stopped()

    @property
    def may_search(self) -> bool:
        """Whether the search that `route` makes may be made once more."""
        return self._may_search(self.problem.effort.diagnosis.searches)

    def _may_search(self, most: int) -> bool:
        return len(self._best) < most and not self._control.stopped()

    @property
    def tried(self) -> tuple[Change, ...]:
        """The first change that was tried of each rule and subject, in order."""
        first: dict[tuple[str, str], Change] = {}
        for changes in (*(changes for changes, _ in self._known), *self._best):
            for change in changes:
                first.setdefault((change.rule, change.subject), change)
        return tuple(first.values())

    def bare_route(self) -> Candidate | None:
        """Return some route of the run if nothing stood in the case, or None."""
        if self._control.stopped():
            return None
        problem = self.bare_problem
        self._spent += _work(problem, QUICK)
        return feasible_route(
            problem, stock_length=self.scene.tube.stock_length, searches=QUICK
        )

    def _is_below(self, work: float) -> bool:
        return self._spent < work and not self._control.stopped()

    def route_with(
        self,
        *changes: Change,
        choice: Callable[[RouteProblem], Searches] = quick_searches,
    ) -> Candidate | None:
        """Return some route of the run after changes, or None if none is found.

        Of `choice` are the searches that are tried.
        """
        scene, run = self._changed(changes)
        problem = self._problems(scene, run)[0]
        searches = choice(problem)
        key = (changes, searches)
        if key not in self._known:
            if self._control.stopped():
                return None
            route = feasible_route(
                problem, stock_length=scene.tube.stock_length, searches=searches
            )
            self._known[key] = route
            # A tube without a bend is tried before anything is searched.
            if route is None or route.bends:
                self._spent += _work(problem, searches)
        return self._known[key]

    def best_with(self, *changes: Change) -> Candidate | None:
        """Return the tube that `route` finds best after changes, or None."""
        if changes not in self._best:
            if self._control.stopped():
                return None
            found = self._best_of(*self._changed(changes))
            if self._control.stopped():
                return None  # whatever a search that was cut short has found
            self._best[changes] = found
        return self._best[changes]

    def lead_with(self, *changes: Change) -> Candidate | None:
        """Return some route after changes: of a quick search, else as `route` finds it."""
        route = self.route_with(*changes)
        if route is None and self._may_search(
            self.problem.effort.diagnosis.lead_searches
        ):
            route = self.best_with(*changes)
        return route

    def _changed(self, changes: tuple[Change, ...]) -> tuple[Scene, RunRequest]:
        scene, run = self.scene, self.run
        for change in changes:
            scene, run = changed(scene, run, change)
        return scene, run


def _work(problem: RouteProblem, searches: Searches) -> float:
    """Return about how much work a search takes that finds nothing."""
    effort = problem.effort.diagnosis
    if not problem.max_bends:
        return effort.straight_work
    bodies = [o.solid for o in problem.obstacles if not isinstance(o.solid, HalfSpace)]
    share = min(len(bodies) / effort.crowded, 1.0)
    size = effort.empty_work + (1.0 - effort.empty_work) * share
    work = 0.0
    run = square_run(problem)
    if run is not None and problem.bend_angles_deg != "any":
        is_turned = [run.frame != Frame() or not s.frame.is_square for s in bodies]
        work += size + effort.turned_work * sum(is_turned)
    if searches == SQUARE:
        return work
    is_free = problem.bend_angles_deg == "any"
    few, every = effort.free_work if is_free else effort.listed_work
    return work + (every if searches == ALL else few)
