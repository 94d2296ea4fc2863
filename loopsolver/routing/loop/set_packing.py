"""One route for each run, none in another's way, with the least total.

References
----------
Set packing with lazy constraints: Dantzig, Fulkerson and Johnson, Solution of a large-
scale traveling-salesman problem (1954), add a row only where an answer breaks it. Rows
over all routes that exclude each other: Padberg, On the facial structure of set packing
polyhedra (1973). Both from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations, product
from typing import Final

from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.loop.integer_programme import Cost, Pack, choose
from loopsolver.routing.loop.route_pool import RoutePool
from loopsolver.routing.problem import Candidate

PROVEN: Final = 16
"""So many choices are kept of which it is known that there is no better one."""

CandidateCost = Callable[[Candidate], Cost]
"""What makes a candidate good: the least is best, the first part before the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """Routes that were chosen together.

    Attributes
    ----------
    routes : tuple of int
        Their numbers in the pool, in the order of their runs.
    total : Cost
        Sum of their costs, part by part.
    is_proven : bool
        Whether no better choice can be made from the pool.
    """

    routes: tuple[int, ...]
    total: Cost
    is_proven: bool

    @property
    def worth(self) -> tuple[float, ...]:
        """What to compare selections by: more runs first, then the total."""
        return (-float(len(self.routes)), *self.total)


CrossingChoice = Callable[[Sequence[int], Sequence[Pack]], Selection]
"""What chooses among routes as if tubes could cross, but for what packs exclude."""


class SetPacking:
    """Chooses from a pool that grows; remembers which pairs of runs matter."""

    def __init__(self, pool: RoutePool, key: CandidateCost) -> None:
        """Make the choice from a pool; `key` says what a candidate costs."""
        self.pool = pool
        self.key = key
        self._costs: list[Cost] = []
        self._watched: set[tuple[int, int]] = set()
        self._held: list[int] = []
        self._proven: dict[tuple[tuple[int, ...], tuple[Pack, ...]], Selection] = {}

    def hold(self, route: int) -> None:
        """Settle a run on a route: no route that gets in its way is chosen any more.

        Of routes held that get in each other's way the most are chosen, as of others.
        """
        self._held.append(route)

    def cost(self, route: int) -> Cost:
        """Return what a route costs."""
        for known in range(len(self._costs), len(self.pool.routes)):
            self._costs.append(self.key(self.pool.routes[known].candidate))
        return self._costs[route]

    def best(
        self,
        among: Iterable[int],
        *,
        control: Control = UNATTENDED,
        choose: CrossingChoice | None = None,
        alike: Callable[[int], Iterable[int]] = lambda run: (run,),
    ) -> Selection:
        """Return the best choice among routes: the most runs, then the least total.

        Only pairs of runs whose chosen routes clash are looked into, until none does: the
        choice is then the best with all pairs looked into. Where the search is stopped
        before, a quick choice.

        Parameters
        ----------
        among : iterable of int
        control : Control
        choose : callable, optional
            What else a choice must keep to; `regardless` if None.
        alike : callable
            Which runs are looked into together with one.
        """
        choose = choose or partial(self.regardless, control=control)
        routes = [route for route in sorted(among) if self._clears_held(route)]
        while True:
            packs = [
                pack
                for first, second in sorted(self._watched)
                for pack in clash_packs(self.pool.clashing(first, second))
            ]
            found = choose(routes, packs)
            if not found.is_proven and control.is_over():
                nothing = Selection(routes=(), total=(), is_proven=False)
                return self.completed(nothing, routes)
            new = {
                pair
                for one, two in combinations(found.routes, 2)
                if (pair := self._runs(one, two)) not in self._watched
                and self.pool.clash(one, two)
            }
            if not new:
                return found
            self._watched.update(
                (min(pair), max(pair))
                for runs in new
                for pair in product(*map(alike, runs))
                if len({*pair}) == 2
            )

    def regardless(
        self,
        among: Iterable[int],
        packs: Iterable[Pack] = (),
        *,
        most: int | None = None,
        control: Control = UNATTENDED,
    ) -> Selection:
        """Return the best choice if tubes could pass through each other.

        One route a run and one tube a port are kept to. The last ones are kept: rounds
        ask again for what they have chosen from before.

        Parameters
        ----------
        among : iterable of int
            The routes that may be chosen.
        packs : iterable of Pack
            What else excludes each other, by the routes' numbers.
        most : int, optional
            More routes the packs surely do not allow; the number of runs if None.
        control : Control
            Asked before each part of the total; once it is stopped, the choice is what
            there is by then, or empty.
        """
        routes, pool = tuple(sorted(among)), self.pool
        place = {route: index for index, route in enumerate(routes)}
        excluded = tuple(
            Pack(members=there, most=pack.most)
            for pack in (
                *(Pack(members=pool.rivals(run)) for run in pool.runs),
                *port_packs(pool, range(len(pool.routes))),
                *packs,
            )
            if (there := tuple(place[w] for w in pack.members if w in place))
        )
        known = self._proven.get((routes, excluded))
        if known is not None:
            return known
        members, is_proven = choose(
            [self.cost(route) for route in routes],
            excluded,
            most=len({pool.routes[w].run for w in routes}) if most is None else most,
            control=control,
        )
        chosen = sorted(
            (routes[index] for index in members),
            key=lambda route: (pool.routes[route].run, route),
        )
        found = self._selection(chosen, is_proven=is_proven)
        if is_proven:
            self._proven[routes, excluded] = found
            while len(self._proven) > PROVEN:
                del self._proven[next(iter(self._proven))]
        return found

    def completed(self, chosen: Selection, among: Iterable[int]) -> Selection:
        """Return a choice with a route for each further run that has a free one.

        Each run in turn takes its best. Those with the fewest routes come first, so
        before all those that are settled.
        """
        of_run: dict[int, list[int]] = {}
        for route in sorted(among, key=lambda route: (self.cost(route), route)):
            of_run.setdefault(self.pool.routes[route].run, []).append(route)
        placed = {self.pool.routes[route].run: route for route in chosen.routes}
        for run in sorted(
            of_run.keys() - placed.keys(), key=lambda r: (len(of_run[r]), r)
        ):
            free = (one for one in of_run[run] if self._is_free(one, placed.values()))
            best = next(free, None)
            if best is not None:
                placed[run] = best
        if len(placed) == len(chosen.routes):
            return chosen
        return self._selection([placed[run] for run in sorted(placed)], is_proven=False)

    def _selection(self, chosen: Sequence[int], *, is_proven: bool) -> Selection:
        total = sum_of_costs(self.cost(route) for route in chosen)
        return Selection(routes=tuple(chosen), total=total, is_proven=is_proven)

    def _is_free(self, route: int, placed: Iterable[int]) -> bool:
        """Return whether a route keeps clear of placed ones and of their ports."""
        ports = set(self.pool.routes[route].ports)
        return not any(
            ports.intersection(self.pool.routes[other].ports)
            or self.pool.clash(route, other)
            for other in placed
        )

    def _clears_held(self, route: int) -> bool:
        """Return whether a route is held, or keeps clear of all that are."""
        if route in self._held:
            return True
        run = self.pool.routes[route].run
        return not any(
            self.pool.routes[held].run == run or self.pool.clash(route, held)
            for held in self._held
        )

    def _runs(self, one: int, two: int) -> tuple[int, int]:
        first, second = sorted((self.pool.routes[one].run, self.pool.routes[two].run))
        return first, second


def sum_of_costs(costs: Iterable[Cost]) -> Cost:
    """Return the sum of costs, part by part; empty where there are none."""
    return tuple(sum(parts) for parts in zip(*costs, strict=True))


def port_packs(pool: RoutePool, among: Iterable[int]) -> Iterator[Pack]:
    """Yield the packs by which a port serves one run."""
    users: dict[str, list[int]] = {}
    for number in among:
        for port in pool.routes[number].ports:
            users.setdefault(port, []).append(number)
    for members in users.values():
        if len({pool.routes[route].run for route in members}) > 1:
            yield Pack(members=tuple(members))


def clash_packs(clashes: Iterable[tuple[int, int]]) -> Iterator[Pack]:
    """Yield a pack for each route and those of another run that it clashes with.

    The routes of one run exclude each other anyway, so all of these exclude each other.
    """
    of_first: dict[int, list[int]] = {}
    of_second: dict[int, list[int]] = {}
    for one, two in sorted(clashes):
        of_first.setdefault(one, []).append(two)
        of_second.setdefault(two, []).append(one)
    for table in (of_first, of_second):
        for route, others in table.items():
            yield Pack(members=(route, *others))
