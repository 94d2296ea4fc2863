"""A run searched again with changed rules, as often as the work allows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from typing import Final

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import HalfSpace
from loopsolver.routing.changes import Change, changed
from loopsolver.routing.lattice import square_run
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.trial import (
    Search,
    angled_tubes,
    free_tubes,
    route_of,
    square_routes,
    straight_routes,
)
from loopsolver.scene.model import RunRequest, Scene

Ways = Callable[[Scene, RunRequest], tuple[RouteProblem, ...]]
"""From a scene and a run to its problems, the one that is easiest to solve first."""

BUDGET: Final = 28.0
"""Work that the trials of one run may take, in searches of an ordinary square case.

Where this was written such a search takes 0.06 s. Work and not time is counted, so that
the same scene gets the same answer everywhere.
"""

TURNED_WORK: Final = 0.25
"""What a body that stands askew to the lattice adds to a search."""

ANGLED_WORK: Final = 4.0
"""What a search for bends from a list of angles takes."""

FREE_WORK: Final = 6.0
"""What a search for bends of any angle takes on top of that."""

Searches = tuple[Search, ...]

SQUARE: Final[Searches] = (straight_routes, square_routes)
LISTED: Final[Searches] = (straight_routes, square_routes, angled_tubes)
ANY: Final[Searches] = (straight_routes, angled_tubes, free_tubes)


class Trials:
    """The trials of one run: each is made once, and its work counted."""

    def __init__(self, scene: Scene, run: RunRequest, ways: Ways) -> None:
        """Make the trials of a run; `ways` turns scenes into problems."""
        self.scene = scene
        self.run = run
        self._ways = ways
        self._spent = 0.0
        self._known: dict[tuple[tuple[Change, ...], Searches], Candidate | None] = {}

    @cached_property
    def problem(self) -> RouteProblem:
        """The run's own problem, nothing changed."""
        return self._ways(self.scene, self.run)[0]

    @property
    def is_spent(self) -> bool:
        """Whether no more trials may be made."""
        return self._spent >= BUDGET

    def route_with(self, *changes: Change) -> Candidate | None:
        """Return some route of the run after changes, or None if none is found.

        Where square bends are asked for, tubes rolled out of square are looked for only
        if ports stand so that no others can be.
        """
        return self._route(changes, _quick_searches)

    def any_route_with(self, *changes: Change) -> Candidate | None:
        """Return some route of the run after changes, every search tried, or None."""
        return self._route(changes, _all_searches)

    def bare_route(self) -> Candidate | None:
        """Return some route of the run if nothing stood in the case, or None."""
        walls = tuple(
            obstacle
            for obstacle in self.problem.obstacles
            if isinstance(obstacle.solid, HalfSpace)
        )
        problem = replace(self.problem, obstacles=walls)
        self._spent += 0.5 * _work(problem, _quick_searches(problem))
        return route_of(
            problem,
            stock_length=self.scene.tube.stock_length,
            searches=_quick_searches(problem),
        )

    def _route(
        self, changes: tuple[Change, ...], choice: Callable[[RouteProblem], Searches]
    ) -> Candidate | None:
        scene, run = self.scene, self.run
        for change in changes:
            scene, run = changed(scene, run, change)
        problem = self._ways(scene, run)[0]
        searches = choice(problem)
        key = (changes, searches)
        if key not in self._known:
            self._spent += _work(problem, searches)
            self._known[key] = route_of(
                problem, stock_length=scene.tube.stock_length, searches=searches
            )
        return self._known[key]


def _all_searches(problem: RouteProblem) -> Searches:
    return ANY if problem.bend_angles == "any" else LISTED


def _quick_searches(problem: RouteProblem) -> Searches:
    """Return the searches that find most of what there is."""
    if problem.bend_angles == (90.0,) and square_run(problem) is not None:
        return SQUARE
    return _all_searches(problem)


def _work(problem: RouteProblem, searches: Searches) -> float:
    """Return about how much work a search takes that finds nothing."""
    work = 0.0
    run = square_run(problem)
    if square_routes in searches and run is not None:
        turned = sum(
            not isinstance(o.solid, HalfSpace)
            and not (run.frame == Frame() and o.solid.frame.is_square)
            for o in problem.obstacles
        )
        work += 1.0 + TURNED_WORK * turned
    if angled_tubes in searches:
        work += ANGLED_WORK
    if free_tubes in searches:
        work += FREE_WORK
    return work
