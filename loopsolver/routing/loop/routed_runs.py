"""What a loop is chosen from: every run routed alone, its routes in one pool."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from loopsolver.routing.control import UNATTENDED, Control, RunRouted, RunStarted
from loopsolver.routing.diagnosis.no_route import (
    NoPortsLeft,
    NoRoute,
    NotExplained,
    NotRouted,
)
from loopsolver.routing.diagnosis.stock import is_too_long
from loopsolver.routing.loop.ports import port_pairs, with_ports
from loopsolver.routing.loop.route_pool import Route, RoutePool
from loopsolver.routing.loop.router import Router
from loopsolver.routing.loop.set_packing import CandidateCost, Selection, SetPacking
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import solve_run
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.scene.port_contests import port_contests
from loopsolver.scene.references import PortPair


class RoutedRuns:
    """The runs of a loop with all their routes so far.

    `alone` holds the routes of each run between all its ports, other tubes left out, by
    its number; where the search was stopped before all were routed, of those that were.
    """

    def __init__(
        self,
        scene: Scene,
        runs: Sequence[RunRequest],
        key: CandidateCost,
        *,
        kept: Mapping[str, Candidate] = MappingProxyType({}),
        control: Control = UNATTENDED,
    ) -> None:
        """Route each run alone; those whose names are `kept` are settled already."""
        self.router = Router(scene, runs, control=control)
        self.pool = RoutePool(
            tube_radius=scene.tube.radius, clearance=scene.rules.clearance
        )
        self.packing = SetPacking(self.pool, key)
        self.alone: dict[int, tuple[Route, ...]] = {}
        self._fits_stock: list[bool] = []
        self._of_any_length: set[int] = set()
        self._kept: dict[int, int] = {}
        self._laid: dict[PortPair, tuple[Route, ...]] = {}
        for number, run in enumerate(runs):
            control.tell(RunStarted(name=run.name, number=number + 1, count=len(runs)))
            self._route_alone(number)
            if number not in self.alone:
                break
            found = tuple(route.candidate for route in self.alone[number])
            control.tell(RunRouted(name=run.name, candidates=found))
        for number, run in enumerate(runs):
            if run.name in kept:  # whether it was found here or not
                route = self.router.route(number, kept[run.name])
                self.pool.add([route])
                self._kept[number] = self.pool.number_of(route)
                self.packing.hold(self._kept[number])

    def _route_alone(self, run: int) -> None:
        """Route a run between all its ports, other tubes left out.

        Where the search is stopped meanwhile, the run is as if it had not been begun.
        """
        router = self.router
        routes: list[Route] = []
        for ports in port_pairs(router.scene, router.runs[run]):
            routes += self._between(run, ports)
            if router.control.stopped():
                return
        if all(is_too_long(one.candidate, router.scene.tube) for one in routes):
            self._of_any_length.add(run)
        self.pool.add(routes)
        self.alone[run] = tuple(routes)

    @property
    def every_run(self) -> range:
        """The numbers of all runs."""
        return range(len(self.router.runs))

    @property
    def is_whole(self) -> bool:
        """Whether the search was not stopped before every run was routed alone."""
        return len(self.alone) == len(self.router.runs)

    def why_none(self, run: int) -> NoRoute:
        """Return why a run that has no route has none."""
        scene, request = self.router.scene, self.router.runs[run]
        for ports in port_pairs(scene, request):
            settled = with_ports(request, ports)
            why = solve_run(scene, settled, control=self.router.control).why
            if why is not None:
                return why
        is_settled = scene.loop is None or scene.loop.order != "any"
        contests = port_contests(scene) if is_settled else ()
        return NoPortsLeft(
            from_ports=request.from_ports,
            to_ports=request.to_ports,
            contest=next((one for one in contests if request.name in one.runs), None),
        )

    def why_unknown(self, run: int) -> NoRoute:
        """Return why a run has no route, as far as it is known without a search."""
        return NotExplained() if run in self.alone else NotRouted()

    def open_routes(self, runs: Collection[int]) -> list[int]:
        """Return the routes of some runs that may be chosen.

        Not those that the stock is too short for, unless one of them is kept or the run
        has no others.
        """
        tube = self.router.scene.tube
        for route in self.pool.routes[len(self._fits_stock) :]:
            self._fits_stock.append(not is_too_long(route.candidate, tube))
        return [
            number
            for run in sorted(runs)
            for number in self.pool.of_run(run)
            if (
                self._kept[run] == number
                if run in self._kept
                else self._fits_stock[number] or run in self._of_any_length
            )
        ]

    def runs_of(self, selection: Selection) -> frozenset[int]:
        """Return the runs that a selection has a route for."""
        return frozenset(self.pool.routes[route].run for route in selection.routes)

    def _between(self, run: int, ports: PortPair) -> tuple[Route, ...]:
        """Return a run's routes between two ports; the same ones serve both directions."""
        request = self.router.runs[run]
        own_rules = (request.bend_radii, request.bend_angles_deg, request.max_bends)
        is_plain = own_rules == (None, None, None)
        back = self._laid.get(ports[::-1]) if is_plain else None
        if back is not None:
            return tuple(
                replace(
                    route,
                    run=run,
                    ports=ports,
                    candidate=route.candidate.from_other_end(),
                )
                for route in back
            )
        laid = self.router.alone(run, ports)
        if is_plain:
            self._laid[ports] = laid
        return laid
