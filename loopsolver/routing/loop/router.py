"""Routing one run of a loop, alone or beside tubes that are laid already."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from loopsolver.clearance.obstacles import Obstacle, elbow_bodies, fitting_body
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.diagnosis.no_route import NoRoute
from loopsolver.routing.effort import LoopEffort, VarietyEffort
from loopsolver.routing.judge import Judge, make_judge
from loopsolver.routing.loop.level_shifts import level_shifted
from loopsolver.routing.loop.obstruction import tube_obstacles
from loopsolver.routing.loop.ports import held_ports, with_ports
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.routing.solve import problem_of, solve_beside, solve_run
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.scene.references import PortPair

JudgeKey = tuple[int, tuple[EndFitting, ...], float]
"""Run, fittings and bend radius: what makes one problem of a run."""


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
        plain = VarietyEffort(roomier=0, closings=0)
        self._unvaried = replace(control, effort=replace(control.effort, variety=plain))
        self._known_ports = held_ports(scene.runs)
        self.refused: Counter[int] = Counter()
        self._judges: dict[JudgeKey, Judge | None] = {}
        self._solids: dict[Route, tuple[Obstacle, ...]] = {}

    @property
    def effort(self) -> LoopEffort:
        """How hard it is tried."""
        return self.control.effort.loop

    def alone(self, run: int, ports: PortPair) -> tuple[Route, ...]:
        """Return the candidates of a run between two ports, other tubes left out."""
        request = with_ports(self.runs[run], ports)
        found = solve_beside(self.scene, request, (), control=self.control)
        self.refused[run] += found.refused
        return tuple(self._routes(run, found.candidates))

    def level_shifted(self, route: Route, others: Iterable[Route]) -> list[Route]:
        """Return a route with its levels at places where they may clear others."""
        request = with_ports(self.runs[route.run], route.ports)
        key = (route.run, route.candidate.ends, route.centreline.radius)
        if key not in self._judges:
            problem = problem_of(
                self.scene, request, route.candidate, effort=self.control.effort
            )
            self._judges[key] = None if problem is None else make_judge(problem)
        judge = self._judges[key]
        if judge is None:
            return []
        tubes = [other.centreline.vertices for other in others]
        return list(
            self._routes(route.run, level_shifted(route.candidate, tubes, judge))
        )

    def why_none(self, run: int, ports: PortPair) -> NoRoute | None:
        """Return why there is no route between two ports at all."""
        request = with_ports(self.runs[run], ports)
        return solve_run(self.scene, request, control=self.control).why

    def beside(
        self, run: int, ports: PortPair, laid: Iterable[Route]
    ) -> tuple[Route, ...]:
        """Return routes of a run that keep clear of tubes laid already."""
        found = solve_beside(
            self._brief,
            with_ports(self.runs[run], ports),
            [solid for route in laid for solid in self.solids_of(route)],
            control=self._unvaried,
        )
        self.refused[run] += found.refused
        return tuple(self._routes(run, found.candidates))

    def solids_of(self, route: Route) -> tuple[Obstacle, ...]:
        """Return a laid tube and the fittings it brings as solids to keep clear of."""
        if route not in self._solids:
            scene = self.scene
            tube = tube_obstacles(
                route.centreline,
                tube_radius=scene.tube.radius,
                reach=scene.reach,
                name=f"tube of {self.runs[route.run].name}",
                spacing=self.effort.ball_spacing,
            )
            self._solids[route] = (*tube, *route.brought)
        return self._solids[route]

    def _routes(self, run: int, candidates: Iterable[Candidate]) -> Iterator[Route]:
        return (route_of(self, run, candidate) for candidate in candidates)

    def is_news(self, end: EndFitting) -> bool:
        """Return whether other runs cannot know what stands on a tube's end."""
        preferred = self.scene.port(end.port).fittings[0].name
        return end.port not in self._known_ports or end.fitting != preferred


def route_of(router: Router, run: int, candidate: Candidate) -> Route:
    """Return a run's candidate as a route, with the fittings that only it knows of."""
    ends = candidate.ends
    return Route(
        run=run,
        from_port=ends[0].port,
        to_port=ends[1].port,
        candidate=candidate,
        fittings=tuple(
            body
            for end in ends
            if not end.is_elbow and router.is_news(end)
            for body in fitting_bodies(router.scene, end)
        ),
        elbows=tuple(
            body
            for end in ends
            if end.is_elbow
            for body in fitting_bodies(router.scene, end)
        ),
    )


def fitting_bodies(scene: Scene, end: EndFitting) -> tuple[Obstacle, ...]:
    """Return what the fitting at a tube's end takes up."""
    port = scene.port(end.port)
    fitting = next(one for one in port.fittings if one.name == end.fitting)
    if end.is_elbow:
        return elbow_bodies(port, fitting, end.outlet)
    return (fitting_body(port, fitting),)
