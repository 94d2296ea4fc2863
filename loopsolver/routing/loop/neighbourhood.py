"""Large neighbourhood search: runs that are in each other's way look for other routes.

Where the first choice leaves runs out, space has its price first (`congestion`). Then
runs are laid beside chosen others as hard obstacles, in several orders; all that is found
stays in the pool, and the programme picks across rounds. Four kinds of round take turns.
In one, a run that has not its best route takes a better one, and those it gets in the way
of are laid anew beside it. In one, levels of good routes are moved to where they may clear
those of others. In one, runs are laid one after the other in some order. In one, the whole
choice with the fewest clashes is taken, and those that clash are laid anew.

References
----------
Shaw, Using constraint programming and local search methods to solve vehicle routing
problems, CP 1998, pages 417-431: take some of a solution out, put it back in another
way.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import cycle

from loopsolver.routing.control import Control, Ended, RoundDone
from loopsolver.routing.loop.congestion import negotiated
from loopsolver.routing.loop.integer_programme import Cost
from loopsolver.routing.loop.min_conflicts import Assignment, min_conflict_assignment
from loopsolver.routing.loop.routed_runs import RoutedRuns
from loopsolver.routing.loop.set_packing import Selection, sum_of_costs
from loopsolver.routing.problem import WHATEVER_COST, CostOf, whatever_longest

Bound = tuple[frozenset[int], Cost]
"""What a run's routes beside some routes cost at least."""

Move = Callable[[Selection], Iterator[None]]
"""What a round does about the best selection so far; yields between its searches."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchResult:
    """What came of the rounds.

    Attributes
    ----------
    selection : Selection
    rounds : int
        In how many rounds something was routed again.
    ended : Ended
    """

    selection: Selection
    rounds: int = 0
    ended: Ended = "done"


class NeighbourhoodSearch:
    """Fills a pool with routes that fit beside each other."""

    def __init__(
        self,
        routed: RoutedRuns,
        runs: Collection[int],
        *,
        control: Control,
    ) -> None:
        """Make the rounds for some of the runs that were routed alone."""
        self.control = control
        self.routed = routed
        self.runs = runs
        self.router, self.packing, self.pool = (
            routed.router,
            routed.packing,
            routed.pool,
        )
        self.effort = self.router.effort
        self._found: Selection | None = None
        self._in_vain = self._all_searches = 0
        self._ideals: dict[int, Selection] = {}
        self._shifted: set[tuple[int, frozenset[int]]] = set()
        self._mended: list[Assignment] = []
        self._limits: dict[int, Cost] = {}
        self._bounds: dict[int, list[Bound]] = {}

    def search(self, *, after: int = 0) -> SearchResult:
        """Return the best selection that the rounds find; tell of it after each round.

        Asked again, they begin anew only where more routes give a better first choice.
        Usually they end because nothing improves; the control ends them before. Where
        it stops them, what the last one leaves behind is the best of those before; of
        the routes that it added nothing is proven.

        Parameters
        ----------
        after : int
            How many rounds of other runs there were before.
        """
        first = self.packing.best(self._among(), control=self.control)
        if self.control.is_over():
            return SearchResult(selection=first, ended=self.control.ending or "done")
        if self._found is not None and first.worth >= self._found.worth:
            same = replace(self._found, is_proven=first.is_proven)
            return SearchResult(selection=same, rounds=after)
        found = self._from(first, after=after)
        self._found = found.selection
        return found

    def _from(self, first: Selection, *, after: int) -> SearchResult:
        """Return the best selection that rounds find after a first choice."""
        self._tell(after, first)
        if not self._lacks_runs(first):
            return self._in_rounds(first, after=after)
        known = len(self.pool.routes)
        agreed, count = negotiated(
            self.routed, self.runs, first, control=self.control, after=after
        )
        if not self._lacks_runs(agreed):
            return self._in_rounds(agreed, after=after, searched=count)
        # Offers are much alike: where they leave runs out, rounds would try little else.
        self.routed.set_aside(range(known, len(self.pool.routes)))
        found = self._in_rounds(first, after=after, searched=count)
        self.routed.set_aside(())
        every = agreed
        if not self.control.is_over():
            every = self.packing.best(self._among(), control=self.control)
        best = min(found.selection, every, key=lambda one: one.worth)
        is_proven = every.is_proven and not self.control.is_over()
        return replace(found, selection=replace(best, is_proven=is_proven))

    def _lacks_runs(self, best: Selection) -> bool:
        """Return whether runs are left out that have a route."""
        return len(best.routes) < len(self._wanted(best))

    def _in_rounds(
        self, best: Selection, *, after: int, searched: int = 0
    ) -> SearchResult:
        """Return the best selection that rounds find, after others and negotiations."""
        number = improved_at = self._in_vain = 0
        ended: Ended = "done"
        moves = self._moves()
        while number - improved_at < self.effort.patience and self._is_worth_more(best):
            ended = self.control.ending or "done"
            if ended != "done":
                break
            number += 1
            known, begun = len(self._among()), self._all_searches
            self._limits = self._limits_for(best)
            hoped = len(self._hopeful(best))
            for _ in next(moves)(best):
                if self.control.is_over():
                    break
            is_grown = len(self._among()) > known
            hopeful = self._hopeful(best)
            if self.control.is_over():
                ended = self.control.ending or "done"
                best = replace(best, is_proven=best.is_proven and not is_grown)
                break
            if len(hopeful) > hoped:
                found = self.packing.best(hopeful, control=self.control)
                if found.worth < best.worth:
                    best, improved_at = found, number
                    self._in_vain = 0
            searched += self._all_searches > begun
            self._tell(after + searched, best)
        return SearchResult(selection=best, rounds=searched, ended=ended)

    def _tell(self, rounds: int, best: Selection) -> None:
        routes = self.pool.routes
        candidates = tuple(routes[route].candidate for route in best.routes)
        self.control.tell(RoundDone(rounds=rounds, best=candidates))

    def _is_worth_more(self, best: Selection) -> bool:
        """Return whether more rounds may bring something better."""
        wanted = len(self._wanted(best))
        most = self.effort.searches_a_run * wanted
        if len(best.routes) < wanted:
            most *= self.effort.searches_for_none
        return self._in_vain < most and best.worth > self._ideal().worth

    def _limits_for(self, best: Selection) -> dict[int, Cost]:
        """Return what a run's route must cost less than to be in a better choice.

        All others would have to take their best routes. No limits where a run is left out.
        """
        wanted = self._wanted(best)
        if len(best.routes) < len(wanted):
            return {}
        least = {run: self.packing.cost(self._routes(run)[0]) for run in wanted}
        left = [
            a - b for a, b in zip(best.total, sum_of_costs(least.values()), strict=True)
        ]
        return {
            run: tuple(a + b for a, b in zip(cost, left, strict=True))
            for run, cost in least.items()
        }

    def _hopeful(self, best: Selection) -> list[int]:
        """Return the chosen routes, and those that may be in a better choice."""
        cost, route_of = self.packing.cost, self.pool.routes
        return [
            route
            for route in self._among()
            if route in best.routes
            or cost(route) < self._limits.get(route_of[route].run, WHATEVER_COST)
        ]

    def _wanted(self, best: Selection) -> tuple[int, ...]:
        """Return the runs that have a part in the best or in the ideal selection."""
        routes = (*best.routes, *self._ideal().routes)
        return tuple(sorted({self.pool.routes[route].run for route in routes}))

    def _ideal(self) -> Selection:
        """Return the best selection if tubes could cross; reckoned once a choice."""
        among = self._among()
        if len(among) not in self._ideals:
            self._ideals = {len(among): self.packing.regardless(among)}
        return self._ideals[len(among)]

    def _moves(self) -> Iterator[Move]:
        """Yield the moves in turn; the first relay takes the worst off first."""
        shuffle = random.Random(0)
        first = (self._displace, self._shift_levels, self._relay, self._mend)
        yield from first
        relay_in_any_order = partial(self._relay, shuffle=shuffle)
        yield from cycle((*first[:2], relay_in_any_order, *first[3:]))

    def _chosen(self, best: Selection) -> dict[int, int]:
        """Return the chosen route of each run."""
        return {self.pool.routes[route].run: route for route in best.routes}

    def _standing(self, run: int, chosen: dict[int, int]) -> Cost:
        """Return a run's best cost less that of its chosen route, part by part.

        The worst off has the least; without a route less than any.
        """
        best = self.packing.cost(self._routes(run)[0])
        if run not in chosen:
            return tuple(-math.inf for _ in best)
        cost = self.packing.cost(chosen[run])
        return tuple(a - b for a, b in zip(best, cost, strict=True))

    def _among(self) -> list[int]:
        """Return the routes that may be chosen."""
        return self.routed.open_routes(self.runs)

    def _routes(self, run: int) -> list[int]:
        """Return the routes of a run that may be chosen, the best first."""
        routes = self.routed.open_routes((run,))
        return sorted(routes, key=lambda route: (self.packing.cost(route), route))

    def _entangled(self, runs: Sequence[int], chosen: dict[int, int]) -> list[int]:
        """Return runs that lack their best route and those in its way, worst off first."""
        found: set[int] = set()
        for run in runs:
            for route in self._better(run, chosen):
                found.add(run)
                found.update(
                    other
                    for other, its_route in chosen.items()
                    if other != run and self.pool.clash(route, its_route)
                )
        return sorted(found, key=lambda run: (self._standing(run, chosen), run))

    def _better(self, run: int, chosen: dict[int, int]) -> list[int]:
        """Return a run's routes that are better than its chosen one, best first."""
        routes = self._routes(run)
        if run in chosen:
            now = self.packing.cost(chosen[run])
            routes = [route for route in routes if self.packing.cost(route) < now]
        return routes[: self.effort.better_routes]

    # --- the kinds of round ---

    def _displace(self, best: Selection) -> Iterator[None]:
        """Give each run better routes in turn, and lay those in the way of them anew."""
        chosen = self._chosen(best)
        for run in self._wanted(best):
            others = [route for other, route in chosen.items() if other != run]
            better = self._better(run, chosen)
            if better:
                self._best_beside(run, others)
                yield
            for route in better:
                yield from self._displace_by(route, others)

    def _displace_by(self, route: int, others: Sequence[int]) -> Iterator[None]:
        """Lay those anew that are in the way of a route."""
        placed = [route] + [w for w in others if not self.pool.clash(route, w)]
        moved = [w for w in others if self.pool.clash(route, w)]
        for blocker in moved:
            found = self._best_beside(self.pool.routes[blocker].run, placed)
            yield
            if found is None:
                break
            placed.append(found)

    def _relay(
        self, best: Selection, shuffle: random.Random | None = None
    ) -> Iterator[None]:
        """Lay entangled runs one after the other, beside those that are not.

        The worst off first, or in any order.
        """
        chosen = self._chosen(best)
        order = self._entangled(self._wanted(best), chosen)
        if shuffle is not None:
            shuffle.shuffle(order)
        placed = [route for run, route in chosen.items() if run not in order]
        for run in order:
            found = self._best_beside(run, placed)
            yield
            if found is not None:
                placed.append(found)

    def _shift_levels(self, best: Selection) -> Iterator[None]:
        """Move levels of entangled runs' good routes to where they may clear others'."""
        chosen = self._chosen(best)
        entangled = self._entangled(self._wanted(best), chosen)
        good = {run: self._good(run, chosen) for run in entangled}
        for run in entangled:
            others = [
                self.pool.routes[route]
                for other in entangled
                if other != run
                for route in good[other]
            ]
            for route in good[run]:
                key = (route, frozenset(id(other) for other in others))
                if key not in self._shifted:
                    self._shifted.add(key)
                    self.routed.take_up(
                        self.router.level_shifted(self.pool.routes[route], others)
                    )
                    yield

    def _good(self, run: int, chosen: dict[int, int]) -> list[int]:
        """Return a run's best routes and its chosen one."""
        good = self._routes(run)[: self.effort.shifted_routes]
        if run in chosen and chosen[run] not in good:
            good.append(chosen[run])
        return good

    def _mend(self, best: Selection) -> Iterator[None]:
        """Lay anew, in two orders, the runs that clash in the choice of fewest clashes."""
        runs = self._wanted(best)
        whole = min_conflict_assignment(
            self.packing,
            [
                route
                for route in self._hopeful(best)
                if self.pool.routes[route].run in runs
            ],
            cheaper_than=best.total if len(best.routes) == len(runs) else None,
            tried=self._mended,
            control=self.control,
        )
        if whole is None:
            return
        self._mended.append(whole)
        clashing = [
            route
            for route in whole
            if any(self.pool.clash(route, other) for other in whole if other != route)
        ]
        for order in (clashing, clashing[::-1]):
            placed = [route for route in whole if route not in clashing]
            for route in order:
                if any(self.pool.clash(route, other) for other in placed):
                    found = self._best_beside(self.pool.routes[route].run, placed)
                    yield
                    if found is None:
                        break
                    placed.append(found)
                else:
                    placed.append(route)

    def _best_beside(self, run: int, placed: Sequence[int]) -> int | None:
        """Return a run's best route that clears the placed ones, searched for if need be.

        Searched beside those alone that are in the way of better routes known so far: what
        is found beside some bounds what can be found beside all, and may clear all.
        """
        found, is_asked = self._free(run, placed), False
        limit = self._limit_beside(run, placed)
        while (core := self._in_the_way(run, found, placed, limit)) is not None:
            is_asked = True
            self._search_beside(run, core, limit)
            found = self._free(run, placed)
            if self.control.is_over():
                break
        self._in_vain += is_asked
        return found

    def _limit_beside(self, run: int, placed: Sequence[int]) -> Cost:
        """Return what a run must cost less than for a better choice with those placed."""
        limit = self._limits.get(run, WHATEVER_COST)
        if limit == WHATEVER_COST:
            return limit
        for other in placed:
            best = self.packing.cost(self._routes(self.pool.routes[other].run)[0])
            both = zip(limit, best, self.packing.cost(other), strict=True)
            limit = tuple(most + least - cost for most, least, cost in both)
        return limit

    def _in_the_way(
        self, run: int, found: int | None, placed: Sequence[int], limit: Cost
    ) -> frozenset[int] | None:
        """Return which placed routes keep a run from a better one than was found.

        None where it is known that no better one can be found beside them, or none that
        makes the whole choice better.
        """
        wanted = limit if found is None else min(self.packing.cost(found), limit)
        better = [
            route for route in self._routes(run) if self.packing.cost(route) < wanted
        ]
        own = {
            port
            for route in self._routes(run)
            for port in self.pool.routes[route].ports
        }
        core = frozenset(
            other
            for other in placed
            if not own.isdisjoint(self.pool.routes[other].ports)
            or any(self.pool.clash(route, other) for route in better)
        )
        bounds = self._bounds.setdefault(run, [])
        every = frozenset(placed)
        is_bounded = any(some <= every and wanted <= least for some, least in bounds)
        return core if better and not is_bounded else None

    def _search_beside(self, run: int, core: frozenset[int], limit: Cost) -> None:
        """Search a run beside some routes; note what it costs at least beside them."""
        laid = [self.pool.routes[route] for route in sorted(core)]
        key, longest = self.packing.key, whatever_longest
        if isinstance(key, CostOf) and limit != WHATEVER_COST:
            longest = partial(key.below, limit)
        taken = {port for route in laid for port in route.ports}
        pairs = dict.fromkeys(
            self.pool.routes[route].ports for route in self._routes(run)
        )
        for ports in list(pairs)[: self.effort.port_pairs]:
            if not taken.intersection(ports) and not self.control.is_over():
                self._all_searches += 1
                self.routed.take_up(
                    self.router.beside(run, ports, laid, longest=longest)
                )
        free = self._free(run, sorted(core))
        least = limit if free is None else min(self.packing.cost(free), limit)
        self._bounds[run].append((core, least))

    def _free(self, run: int, placed: Sequence[int]) -> int | None:
        """Return the best route in the pool that clears the placed ones."""
        for route in self._routes(run):
            if not any(self.pool.clash(route, one) for one in placed):
                return route
        return None
