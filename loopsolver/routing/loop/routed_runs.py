"""What a loop is chosen from: every run routed alone, its routes in one pool."""

from __future__ import annotations

from collections.abc import Callable, Collection, Container, Iterable, Mapping, Sequence
from itertools import chain
from types import MappingProxyType

from loopsolver.routing.candidates import find_candidates, soon_found
from loopsolver.routing.control import UNATTENDED, Control, RunRouted, RunStarted
from loopsolver.routing.diagnosis.no_route import (
    NoPortsLeft,
    NoRoute,
    NotExplained,
    NotRouted,
)
from loopsolver.routing.diagnosis.stock import is_too_long
from loopsolver.routing.loop.port_looks import PortLooks
from loopsolver.routing.loop.port_searches import PortSearches
from loopsolver.routing.loop.ports import port_pairs, with_ports
from loopsolver.routing.loop.route_pool import Route, RoutePool
from loopsolver.routing.loop.router import Router
from loopsolver.routing.loop.set_packing import CandidateCost, Selection, SetPacking
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import RouteSearch, solve_run
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.scene.port_contests import port_contests
from loopsolver.scene.references import PortPair
from loopsolver.tolerances import NO_SHORTER


class RoutedRuns:
    """The runs of a loop with all their routes so far.

    Between many pairs of ports each run is looked for soon, and further between those
    that a choice takes: `search_further`. A run that has no others beside it is looked
    for only between ports that may have a tube worth listing.
    """

    def __init__(
        self,
        scene: Scene,
        runs: Sequence[RunRequest],
        key: CandidateCost,
        *,
        kept: Mapping[str, Candidate] = MappingProxyType({}),
        optional: Container[int] = (),
        control: Control = UNATTENDED,
    ) -> None:
        """Route each run alone; those whose names are `kept` are settled already.

        Of many `optional` ones few are wanted in the end: but on the lattice alone, which
        is quick, they are looked at only where a choice takes what may be hoped for of
        them. Those that the stock is too short for are left out of what may be chosen,
        until `spare_none`.
        """
        self.router = Router(scene, runs, control=control)
        self._searches = PortSearches(self.router)
        self.pool = RoutePool(
            tube_radius=scene.tube.radius, clearance=scene.rules.clearance
        )
        self.packing = SetPacking(self.pool, key)
        self._alone: dict[int, dict[PortPair, tuple[Route, ...]]] = {}
        self._fits_stock: list[bool] = []
        self._of_any_length: set[int] = set()
        self._spared = frozenset(run for run in self.every_run if run in optional)
        self._kept: dict[int, int] = {}
        self._unseen: set[tuple[int, PortPair]] = set()
        self._briefly: dict[tuple[int, PortPair], list[int]] = {}
        self._aside: set[int] = set()
        is_lone = len(runs) == 1 and not kept and not self._is_on_lattice(0)
        self._looks = PortLooks(self._searches, soon_found, key) if is_lone else None
        self._route_each()
        for number, run in enumerate(runs):
            if run.name in kept:  # whether it was found here or not
                self._keep(self.router.route(number, kept[run.name]))

    def _route_each(self) -> None:
        """Route each run by itself, as far as the search is not stopped."""
        runs, control = self.router.runs, self.router.control
        pairs = [port_pairs(self.router.scene, run) for run in runs]
        searches: list[RouteSearch] = [
            soon_found if number in self._spared or len(each) > 1 else find_candidates
            for number, each in enumerate(pairs)
        ]
        every = zip(self.every_run, pairs, searches, strict=True)
        hoped = [one for one in self._spared if not self._is_on_lattice(one)]
        for number, run in enumerate(runs):
            control.tell(RunStarted(name=run.name, number=number + 1, count=len(runs)))
            if not number:
                ahead = (one for one in every if one[0] not in hoped)
                self._searches.ahead(() if self._looks else ahead)
            if number in hoped:
                self._hope_alone(number, pairs[number])
            else:
                self._route_alone(number, pairs[number], searches[number])
            if number not in self._alone:
                break
            self._tell_routed(number)

    def _keep(self, route: Route) -> None:
        """Settle a run on a route."""
        self.pool.add([route])
        self._kept[route.run] = self.pool.number_of(route)
        self.packing.hold(self._kept[route.run])

    def _route_alone(
        self, run: int, pairs: Iterable[PortPair], search: RouteSearch
    ) -> None:
        """Route a run between all its ports, other tubes left out.

        Where the search is stopped meanwhile, the run is as if it had not been begun.
        """
        found: dict[PortPair, tuple[Route, ...]] = dict.fromkeys(pairs, ())
        if self._looks and search is soon_found:
            self._looks.begin(found)
        else:
            for ports in found:
                found[ports] = self._searches.between(run, ports, search)
                if self.router.control.is_over():
                    return
        if self.router.control.is_over():
            return
        self._alone[run] = found
        if search is soon_found:
            for ports, routes in found.items():
                if self._looks is None or ports not in self._looks.left:
                    self._hope(run, ports, routes)
        self._take_in(run)

    def _hope_alone(self, run: int, pairs: Iterable[PortPair]) -> None:
        """Take in what may be hoped for of a run that is not looked at yet."""
        self._alone[run] = dict.fromkeys(pairs, ())
        for ports in self._alone[run]:
            if self.router.control.is_over():
                del self._alone[run]
                return
            self._unseen.add((run, ports))
            self._hope(run, ports, None)
        self._take_in(run)

    def _hope(self, run: int, ports: PortPair, soon: tuple[Route, ...] | None) -> None:
        """Take in what a further search between two ports may find at best."""
        self._briefly.pop((run, ports), None)
        hoped = self.router.at_least(run, ports, soon)
        if hoped or self._is_on_lattice(run):
            self._briefly[run, ports] = self.pool.hope_for(hoped)

    def look_at(self, runs: Iterable[int]) -> None:
        """Look briefly at those of some runs that nothing is known of but hopes."""
        wanted = set(runs)
        self._look_between(one for one in sorted(self._unseen) if one[0] in wanted)

    def _look_between(self, pairs: Iterable[tuple[int, PortPair]]) -> None:
        """Look briefly between the ports of runs."""
        unseen = list(pairs)
        self._searches.ahead((run, (ports,), soon_found) for run, ports in unseen)
        for run, ports in unseen:
            found = self._searches.between(run, ports, soon_found)
            if self.router.control.is_over():
                return
            self._unseen.remove((run, ports))
            self._alone[run][ports] = found
            self._hope(run, ports, found)
            self._take_in(run)
        for run in sorted({run for run, _ in unseen}):
            self._tell_routed(run)

    def look_for_list(self, selection: Selection) -> None:
        """Look also between ports that may have a tube worth listing beside the chosen."""
        if self._looks is None:
            return
        for chosen in selection.routes:
            self._looks.go_on(self._alone[0], self.pool.routes[chosen].candidate)
            self._take_in(0)

    def _tell_routed(self, run: int) -> None:
        """Tell what was found of a run, where it was looked at."""
        if self._is_seen(run):
            found = tuple(route.candidate for route in self.alone(run))
            name = self.router.runs[run].name
            self.router.control.tell(RunRouted(name=name, candidates=found))

    def alone(self, run: int) -> tuple[Route, ...]:
        """Return the routes of a run between all its ports, other tubes left out.

        None where the search was stopped before it was routed.
        """
        return tuple(chain(*self._alone.get(run, {}).values()))

    def search_further_for(
        self,
        choose: Callable[[], Selection],
        control: Control,
        *,
        runs: Iterable[int] = (),
        is_worth: Callable[[Selection], bool] = lambda _: True,
    ) -> Selection:
        """Return a choice between whose ports all is searched in full; see below.

        Or one that is not worth it: no choice of what there is, searched in full or
        not, is better than it. Once the search is to end, that may be so of any.
        """
        chosen = choose()
        while is_worth(chosen) and self.search_further(chosen, control, runs=runs):
            chosen = choose()
        return chosen

    def search_further(
        self, chosen: Selection, control: Control, *, runs: Iterable[int] = ()
    ) -> bool:
        """Search in full between ports that were looked at but briefly.

        Those of the chosen routes, and all those of `runs` that have none; of them first
        those whose best route may be better than what is known. Returned is whether there
        were any; once the search is to end, there are none.
        """
        if control.is_over():
            return False
        routes = [self.pool.routes[route] for route in chosen.routes]
        wanted = {(route.run, route.ports) for route in routes}
        out = set(runs) - {route.run for route in routes}
        further = [
            each for each in sorted(self._briefly) if each in wanted or each[0] in out
        ]
        unseen = [each for each in further if each in self._unseen]
        if unseen:
            self._look_between(unseen)
            return control.ending is None
        further = [each for each in further if not self._is_met(*each)] or further
        self._searches.ahead((run, (ports,), find_candidates) for run, ports in further)
        for run, ports in further:
            if control.ending is not None:
                return False
            self._alone[run][ports] = self._searches.between(
                run, ports, find_candidates
            )
            del self._briefly[run, ports]
            self._take_in(run)
        return bool(further)

    def _is_met(self, run: int, ports: PortPair) -> bool:
        """Return whether between two ports a route is as good as what is hoped for."""
        cost = self.packing.cost
        known = [cost(self.pool.number_of(one)) for one in self._alone[run][ports]]
        hoped = min(map(cost, self._briefly[run, ports]), default=())
        return not hoped or (
            bool(known)
            and all(
                here <= there + NO_SHORTER
                for here, there in zip(min(known), hoped, strict=True)
            )
        )

    def _take_in(self, run: int) -> None:
        """Take a run's routes into the pool, and whether the stock is enough for any."""
        routes = self.alone(run)
        self.pool.add(routes)
        hopes = [self.pool.routes[number] for number in self._hoped_for(run)]
        if run in self._spared or any(map(self._is_enough_for, [*routes, *hopes])):
            self._of_any_length.discard(run)
        else:
            self._of_any_length.add(run)

    def spare_none(self) -> None:
        """Let also those optional runs be chosen that the stock is too short for."""
        spared, self._spared = self._spared, frozenset()
        for run in sorted(spared):
            self._take_in(run)

    def _is_enough_for(self, route: Route) -> bool:
        """Return whether the stock is long enough for a route."""
        return not is_too_long(route.candidate, self.router.scene.tube)

    def _hoped_for(self, run: int) -> list[int]:
        """Return what a further search of a run may find at best."""
        hoped = ((one, some) for (one, _), some in self._briefly.items() if one == run)
        return [number for _, some in hoped for number in some]

    @property
    def every_run(self) -> range:
        """The numbers of all runs."""
        return range(len(self.router.runs))

    @property
    def is_whole(self) -> bool:
        """Whether the search was not stopped before every run was routed alone."""
        return len(self._alone) == len(self.router.runs)

    def _is_on_lattice(self, run: int) -> bool:
        """Return whether a run's bends and turns are square: the lattice knows all."""
        rules, request = self.router.scene.rules, self.router.runs[run]
        angles_deg = request.bend_angles_deg or rules.bend_angles_deg
        return (angles_deg, rules.turn_step_deg) == ((90.0,), 90.0)

    def _is_seen(self, run: int) -> bool:
        """Return whether a run was looked at, between some of its ports at least."""
        pairs = self._alone.get(run)
        return pairs is not None and not (
            pairs and all((run, ports) in self._unseen for ports in pairs)
        )

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
        return NotExplained() if self._is_seen(run) else NotRouted()

    def set_aside(self, routes: Iterable[int]) -> None:
        """Leave these routes, and no others, out of what may be chosen."""
        self._aside = set(routes)

    def take_up(self, routes: Iterable[Route]) -> None:
        """Take routes in, also where they had been set aside."""
        found = tuple(routes)
        self.pool.add(found)
        self._aside.difference_update(map(self.pool.number_of, found))

    def open_routes(self, runs: Collection[int]) -> list[int]:
        """Return the routes of some runs that may be chosen.

        Not those that are set aside, nor those that the stock is too short for, unless
        one of them is kept or the run has no others.
        """
        for route in self.pool.routes[len(self._fits_stock) :]:
            self._fits_stock.append(self._is_enough_for(route))
        return [
            number
            for run in sorted(runs)
            for number in self.pool.of_run(run)
            if number not in self._aside
            and (
                self._kept[run] == number
                if run in self._kept
                else self._fits_stock[number] or run in self._of_any_length
            )
        ]

    def is_hoped(self, selection: Selection) -> bool:
        """Return whether a selection takes what is only hoped for."""
        return any(
            number not in self.pool.of_run(self.pool.routes[number].run)
            for number in selection.routes
        )

    def hoped_for(self, runs: Collection[int]) -> list[int]:
        """Return the routes of some runs that may be chosen, now or searched further.

        Where ports were looked at but briefly, what no route between them betters stands
        for all that a further search may find.
        """
        return self.open_routes(runs) + [
            number
            for run in sorted(runs)
            if run not in self._kept
            for number in self._hoped_for(run)
            if self._fits_stock[number] or run in self._of_any_length
        ]

    def is_open(self, run: int) -> bool:
        """Return whether a run has routes and is not settled on one of them."""
        return run not in self._kept and bool(self.pool.of_run(run))

    def runs_of(self, selection: Selection) -> frozenset[int]:
        """Return the runs that a selection has a route for."""
        return frozenset(self.pool.routes[route].run for route in selection.routes)
