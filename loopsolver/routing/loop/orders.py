"""In which order the coolant passes the parts of a loop, where any order will do.

Between every two parts a tube may run, each way. An integer programme chooses tubes
that make one closed circuit over all parts, as if tubes could pass through each other.
That is a lower bound; the circuit is then laid for good. Circuits are taken up in the
order of their bounds, until the next bound is no better than the best loop laid.

References
----------
Circuits that leave parts out are cut off one by one: Dantzig, Fulkerson and Johnson,
Solution of a large-scale traveling-salesman problem (1954). From memory.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import chain, permutations

from loopsolver.clearance.obstacles import settled_ports
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.loop.integer_programme import Pack
from loopsolver.routing.loop.ports import ports_along
from loopsolver.routing.loop.route_pool import Route, RoutePool
from loopsolver.routing.loop.set_packing import Selection, SetPacking
from loopsolver.scene.circuit import derived_name, joined_parts
from loopsolver.scene.model import RunRequest, Scene

RunSet = frozenset[int]
"""The numbers of the runs that make a closed circuit over all parts."""

Parts = tuple[str, str]
"""Names of the part that a tube leaves and of the one it leads to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A tube that may be wanted: a run, and the parts it joins."""

    run: RunRequest
    parts: Parts


def possible_links(
    scene: Scene,
    parts: Sequence[str],
    listed: Sequence[RunRequest],
    *,
    kept: Collection[str] = (),
) -> tuple[Link, ...]:
    """Return every tube between two parts of a loop that may be wanted.

    A run that the scene lists between two of the parts is sure to be wanted, and so is
    one whose name is `kept`: nothing else leaves the part where it begins or enters the
    one where it ends.
    """
    sure = _sure_links(listed, parts)
    wanted = {
        *sure,
        *(pair for pair in permutations(parts, 2) if derived_name(*pair) in kept),
    }
    leaving = {start for start, _ in wanted}
    entering = {goal for _, goal in wanted}
    held = settled_ports(listed)
    links = [Link(run=run, parts=pair) for pair, run in sure.items()]
    for start, goal in permutations(parts, 2):
        is_taken = start in leaving or goal in entering
        if (start, goal) in sure or (is_taken and (start, goal) not in wanted):
            continue
        starts = ports_along(scene, start, against="in", held=held)
        goals = ports_along(scene, goal, against="out", held=held)
        if starts and goals:
            run = RunRequest(
                name=derived_name(start, goal), from_ports=starts, to_ports=goals
            )
            links.append(Link(run=run, parts=(start, goal)))
    return tuple(links)


def _sure_links(
    listed: Sequence[RunRequest], parts: Sequence[str]
) -> dict[Parts, RunRequest]:
    """Return the listed runs that go from one part of a loop to the next.

    A run that would divide the loop or close it too early is none of them.
    """
    sure: dict[Parts, RunRequest] = {}
    following: dict[str, str] = {}
    for run in listed:
        joined = joined_parts(run)
        if joined is None or joined[0] == joined[1] or not set(joined) <= set(parts):
            continue
        start, here = joined
        if start in following or here in following.values():
            continue
        passed = 1
        while here in following:
            here = following[here]
            passed += 1
        if here != start or passed == len(parts):
            following[start] = joined[1]
            sure[joined] = run
    return sure


class Orders:
    """Gives the closed circuits over the parts of a loop, by their bounds."""

    def __init__(
        self, packing: SetPacking, links: Sequence[Link], parts: Sequence[str]
    ) -> None:
        """Make the orders; a link's number is that of its run in the pool."""
        self.packing = packing
        self.links = tuple(links)
        self.parts = tuple(parts)
        self._closed: list[frozenset[str]] = []

    def best(
        self,
        among: Iterable[int],
        packs: Iterable[Pack] = (),
        *,
        besides: Iterable[RunSet] = (),
        control: Control = UNATTENDED,
    ) -> Selection:
        """Return the best circuit besides some, tubes passing through each other.

        Where there is none, as many tubes as fit into one. Once the search is stopped,
        some tubes that need not be either.

        Parameters
        ----------
        among : iterable of int
            The routes that may be chosen.
        packs : iterable of Pack
            What else excludes each other, by the routes' numbers.
        besides : iterable of RunSet
            Those that are left out, and the same tubes the other way round.
        control : Control
        """
        routes = sorted(among)
        runs = {self.packing.pool.routes[route].run for route in routes}
        most = len(self.parts) + sum(run >= len(self.links) for run in runs)
        more = [
            *self._merged(packs),
            *(ban for runs in besides for ban in self._bans(runs)),
        ]
        while True:
            whole = [*self._packs(self.packing.pool), *more]
            found = self.packing.regardless(routes, whole, most=most, control=control)
            closed = self._too_short(found)
            if not closed:
                return found
            self._closed += closed

    def clear(self, among: Iterable[int], control: Control) -> Selection:
        """Return the best circuit of which no tube gets in another's way."""
        return self.packing.best(
            among,
            control=control,
            choose=partial(self.best, control=control),
            alike=self.alike,
        )

    def alike(self, run: int) -> tuple[int, ...]:
        """Return the runs that leave the same part: of these one is chosen at most."""
        if run >= len(self.links):
            return (run,)
        start = self.links[run].parts[0]
        return tuple(n for n, link in enumerate(self.links) if link.parts[0] == start)

    def _merged(self, packs: Iterable[Pack]) -> Iterator[Pack]:
        """Yield packs of a route and what it clashes with, one for all alike runs."""
        others: dict[tuple[int, tuple[int, ...]], set[int]] = {}
        for pack in packs:
            route, *clashing = pack.members
            runs = self.alike(self.packing.pool.routes[clashing[0]].run)
            others.setdefault((route, runs), set()).update(clashing)
        for (route, _), every in others.items():
            yield Pack(members=(route, *sorted(every)))

    def in_order(self, runs: Iterable[int]) -> tuple[int, ...]:
        """Return a circuit's runs one after the other, from the first part on.

        Where it does not close, with the links that are missing in it.
        """
        following = {self.links[number].parts[0]: number for number in runs}
        reached = {self.links[number].parts[1] for number in following.values()}
        number_of = {link.parts: number for number, link in enumerate(self.links)}
        firsts = [part for part in self.parts if part not in reached] or self.parts[:1]
        ordered: list[int] = []
        for place, first in enumerate(firsts):
            here = first
            while here in following:
                ordered.append(following.pop(here))
                here = self.links[ordered[-1]].parts[1]
            missing = number_of.get((here, firsts[(place + 1) % len(firsts)]))
            if here != first or len(firsts) > 1:
                ordered += [] if missing is None else [missing]
        return tuple(ordered)

    def _packs(self, pool: RoutePool) -> Iterator[Pack]:
        """Yield the packs: one tube out of each part, one into it, and no short circuit."""
        for end in (0, 1):
            for part in self.parts:
                yield Pack(
                    members=tuple(
                        number
                        for number, route in self._linking(pool)
                        if self.links[route.run].parts[end] == part
                    )
                )
        for closed in self._closed:
            yield Pack(
                members=tuple(
                    number
                    for number, route in self._linking(pool)
                    if closed.issuperset(self.links[route.run].parts)
                ),
                most=len(closed) - 1,
            )

    def _linking(self, pool: RoutePool) -> list[tuple[int, Route]]:
        """Return the routes of links with their numbers; other runs have higher ones."""
        return [
            (number, route)
            for number, route in enumerate(pool.routes)
            if route.run < len(self.links)
        ]

    def _bans(self, runs: RunSet) -> Iterator[Pack]:
        """Yield that a circuit is not taken, nor the same tubes the other way round."""
        turned = {
            (link.parts[::-1], link.run.to_ports, link.run.from_ports)
            for link in (self.links[number] for number in runs)
        }
        back = frozenset(
            number
            for number, link in enumerate(self.links)
            if (link.parts, link.run.from_ports, link.run.to_ports) in turned
        )
        for banned in (runs, back):
            if len(banned) == len(runs):
                members = map(self.packing.pool.rivals, sorted(banned))
                yield Pack(members=tuple(chain(*members)), most=len(runs) - 1)

    def _too_short(self, selection: Selection) -> list[frozenset[str]]:
        """Return the circuits of a selection that leave parts out, as sets of parts."""
        runs = [self.packing.pool.routes[route].run for route in selection.routes]
        following = dict(self.links[run].parts for run in runs if run < len(self.links))
        circuits = sorted(map(sorted, closed_circuits(following)))
        return [frozenset(c) for c in circuits if len(c) < len(self.parts)]


def closed_circuits(following: Mapping[str, str]) -> Iterator[list[str]]:
    """Yield the closed circuits of parts, each of which at most one other leads to."""
    left = dict(following)
    while left:
        circuit = [*left][:1]
        while circuit[-1] in left:
            circuit.append(left.pop(circuit[-1]))
        if circuit[-1] == circuit[0]:
            yield circuit[1:]
