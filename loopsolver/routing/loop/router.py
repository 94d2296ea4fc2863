"""Routing one run of a loop, alone or beside tubes that are laid already."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from loopsolver.clearance.obstacles import (
    Obstacle,
    elbow_bodies,
    fitting_body,
    settled_ports,
)
from loopsolver.routing.candidates import is_soon_found, routes_beside
from loopsolver.routing.configurations import Configuration, configurations
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.effort import USUAL, Effort, LoopEffort
from loopsolver.routing.judge import Judge, make_judge, passed
from loopsolver.routing.least_tube import least_tubes
from loopsolver.routing.loop.level_shifts import level_shifted
from loopsolver.routing.loop.obstruction import tube_obstacles
from loopsolver.routing.loop.ports import with_ports
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.problem import (
    Candidate,
    EndFitting,
    Longest,
    whatever_longest,
)
from loopsolver.routing.solve import (
    RouteSearch,
    Task,
    first_task,
    problem_of,
    solve_beside,
)
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.scene.references import PortPair

JudgeOf = Callable[[Route], Judge | None]
"""The judge of a route; None where the scene does not offer its ends or its former."""

EndsKey = tuple[int, tuple[EndFitting, ...], float]
"""A run, what holds its ends, and the radius of its bends [mm]."""


class Router:
    """Routes the runs of a loop; what depends on one tube alone is reckoned once.

    `refused` counts, by run, the routes of searches that failed the independent check.
    """

    def __init__(
        self,
        scene: Scene,
        runs: Sequence[RunRequest],
        *,
        control: Control = UNATTENDED,
    ) -> None:
        """Make the router of these runs, which need not be the scene's own.

        Once `control` is stopped, its searches return what they have found by then.
        """
        self.scene = scene
        self.runs = tuple(runs)
        self.control = control
        rules = replace(scene.rules, candidates=self.effort.routes_beside)
        self._brief = replace(scene, rules=rules)
        self._beside = replace(control, effort=control.effort.beside)
        self._known_ports = settled_ports(scene.runs)
        self.refused: Counter[int] = Counter()
        self._judge_of = route_judges(scene, self.runs, effort=control.effort)
        self._solids: dict[Route, tuple[Obstacle, ...]] = {}
        self._least: dict[EndsKey, tuple[Route, ...]] = {}

    @property
    def effort(self) -> LoopEffort:
        """How hard it is tried."""
        return self.control.effort.loop

    def alone(
        self, run: int, ports: PortPair, *, search: RouteSearch
    ) -> tuple[Route, ...]:
        """Return the candidates of a run between two ports, other tubes left out."""
        found = solve_beside(
            self.scene,
            with_ports(self.runs[run], ports),
            (),
            control=self.control,
            search=search,
        )
        self.refused[run] += found.refused
        return tuple(self.route(run, one) for one in found.candidates)

    def at_least(
        self, run: int, ports: PortPair, soon: Sequence[Route] | None
    ) -> tuple[Route, ...]:
        """Return what no candidate of a run between two ports betters, as routes.

        None where `soon_found`, which gave `soon` if it was asked, has found all that
        there is, or the best of it: on the lattice alone.
        """
        request, effort = with_ports(self.runs[run], ports), self.control.effort
        found = [one.candidate for one in soon or () if not one.candidate.elbows]
        bends = min((one.bends for one in found), default=math.inf)
        return tuple(
            one
            for settled in configurations(self.scene, request, effort)
            if settled.elbows <= bends
            and not settled.problem.is_on_lattice
            and (soon is None or is_soon_found(settled.problem))
            for one in self._least_tubes(run, settled)
        )

    def _least_tubes(self, run: int, settled: Configuration) -> tuple[Route, ...]:
        """Return what no tube of a run between settled ends betters; reckoned once."""
        key = (run, settled.ends, settled.problem.bend_radius)
        if key not in self._least:
            self._least[key] = tuple(
                self.route(run, replace(one, ends=settled.ends))
                for one in least_tubes(settled.problem)
            )
        return self._least[key]

    def task(self, run: int, ports: PortPair, *, search: RouteSearch) -> Task | None:
        """Return what `alone` has to search first between two ports, if anything."""
        request = with_ports(self.runs[run], ports)
        return first_task(
            self.scene, request, effort=self.control.effort, search=search
        )

    def level_shifted(self, route: Route, others: Iterable[Route]) -> list[Route]:
        """Return a route with its levels at places where they may clear others."""
        judge = self._judge_of(route)
        if judge is None:
            return []
        tubes = [other.centreline.vertices for other in others]
        shifted = level_shifted(route.candidate, tubes, judge)
        return [self.route(route.run, candidate) for candidate in shifted]

    def checked(self, run: int, candidate: Candidate) -> Route | None:
        """Return a candidate of a run as a route with its gap, if it passes the check."""
        judge = self._judge_of(self.route(run, candidate))
        found = None if judge is None else passed(judge, candidate)
        return None if found is None else self.route(run, found)

    def beside(
        self,
        run: int,
        ports: PortPair,
        laid: Iterable[Route],
        *,
        longest: Longest = whatever_longest,
    ) -> tuple[Route, ...]:
        """Return routes of a run that keep clear of tubes laid already.

        As long as they are any good.
        """
        found = solve_beside(
            self._brief,
            with_ports(self.runs[run], ports),
            [solid for route in laid for solid in self.solids_of(route)],
            control=self._beside,
            search=routes_beside,
            longest=longest,
        )
        self.refused[run] += found.refused
        return tuple(self.route(run, one) for one in found.candidates)

    def solids_of(self, route: Route) -> tuple[Obstacle, ...]:
        """Return a laid tube and the fittings it brings as solids to keep clear of."""
        if route not in self._solids:
            scene = self.scene
            tube = tube_obstacles(
                route.centreline,
                tube_radius=scene.tube.radius,
                reach=scene.reach,
                name=f"tube of {self.runs[route.run].name}",
            )
            self._solids[route] = (*tube, *route.brought)
        return self._solids[route]

    def route(self, run: int, candidate: Candidate) -> Route:
        """Return a run's candidate as a route, with what other runs do not know of it."""
        fittings: list[Obstacle] = []
        elbows: list[Obstacle] = []
        for end in candidate.ends:
            port = self.scene.port(end.port)
            fitting = next(one for one in port.fittings if one.name == end.fitting)
            if end.is_elbow:
                elbows += elbow_bodies(port, fitting, end.outlet)
            elif (
                end.port not in self._known_ports
                or end.fitting != port.fittings[0].name
            ):
                fittings.append(fitting_body(port, fitting))
        return Route(
            run=run,
            ports=(candidate.ends[0].port, candidate.ends[1].port),
            candidate=candidate,
            fittings=tuple(fittings),
            elbows=tuple(elbows),
        )


def route_judges(
    scene: Scene,
    runs: Sequence[RunRequest] | Mapping[int, RunRequest],
    *,
    effort: Effort = USUAL,
) -> JudgeOf:
    """Return what gives each route of some runs its judge; each is made once."""
    known: dict[EndsKey, Judge | None] = {}

    def judge_of(route: Route) -> Judge | None:
        key = (route.run, route.candidate.ends, route.centreline.radius)
        if key not in known:
            request = with_ports(runs[route.run], route.ports)
            problem = problem_of(scene, request, route.candidate, effort=effort)
            known[key] = None if problem is None else make_judge(problem)
        return known[key]

    return judge_of
