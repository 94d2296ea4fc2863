"""Runs searched between two ports, other tubes left out: once for both directions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.loop.router import Router
from loopsolver.routing.processes import search_ahead
from loopsolver.routing.solve import RouteSearch, Task
from loopsolver.scene.references import PortPair


class PortSearches:
    """What a router finds between pairs of ports; what both directions share is kept."""

    def __init__(self, router: Router) -> None:
        """Search with a router."""
        self.router = router
        self._laid: dict[tuple[PortPair, RouteSearch], tuple[Route, ...]] = {}

    def ahead(
        self, wanted: Iterable[tuple[int, Iterable[PortPair], RouteSearch]]
    ) -> None:
        """Search what `between` will be asked for, over the cores there are."""
        if self.router.control.jobs < 2:
            return
        tasks: dict[tuple[PortPair, RouteSearch], Task | None] = {}
        for run, pairs, search in wanted:
            for ports in pairs:
                if not (self._is_plain(run) and (ports[::-1], search) in tasks):
                    task = self.router.task(run, ports, search=search)
                    tasks[ports, search] = task
        search_ahead([task for task in tasks.values() if task], self.router.control)

    def between(
        self, run: int, ports: PortPair, search: RouteSearch
    ) -> tuple[Route, ...]:
        """Return a run's routes between two ports; the same ones serve both directions."""
        is_plain = self._is_plain(run)
        back = self._laid.get((ports[::-1], search)) if is_plain else None
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
        laid = self.router.alone(run, ports, search=search)
        if is_plain:
            self._laid[ports, search] = laid
        return laid

    def _is_plain(self, run: int) -> bool:
        """Return whether a run has no rules of its own."""
        request = self.router.runs[run]
        own = (request.bend_radii, request.bend_angles_deg, request.max_bends)
        return own == (None, None, None)
