"""Among choices that are as good, the one in which more tubes run parallel.

A local search over the routes that were found: as long as the figure grows, two runs at
a time take the two routes of theirs that let the most tube run side by side. Then legs
are shifted beside other tubes, one run at a time, where that is worth the tube it takes.
Tube is given only for stretches whose spacing is even.

References
----------
Local search by exchanges of two: Papadimitriou and Steiglitz, Combinatorial
Optimization (1982), chapter 19. From memory.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Indices
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.diagnosis.stock import is_too_long
from loopsolver.routing.judge import Judge, passed
from loopsolver.routing.loop.integer_programme import Cost
from loopsolver.routing.loop.leg_shifts import leg_shifted_routes
from loopsolver.routing.loop.parallels import SideBySide, stretches, summed
from loopsolver.routing.loop.route_pool import Route, clash_table
from loopsolver.routing.loop.router import route_judges
from loopsolver.routing.loop.set_packing import CandidateCost, sum_of_costs
from loopsolver.routing.loop.solving import Loop, LoopRun
from loopsolver.scene.model import Scene
from loopsolver.tolerances import HELD_COST, PARALLEL_GAIN
from loopsolver.tube.stock import Tube

Assessed = Callable[[Route], Route | None]
"""A route as it is if it may be chosen: with its true gap; None where it may not be."""

Clash = Callable[[Route, Route], bool]
"""Whether two routes of different runs get in each other's way."""

LEG_SHIFT_PRICE: Final = 1.0
"""What each millimetre of tube must win where legs are shifted [mm of the figure].

Otherwise tubes would be drawn out only so that the longer legs run side by side.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """How runs change their routes, and what they have to keep to.

    Attributes
    ----------
    cost : callable
        What a route costs, in parts; the last one is its length [mm].
    limits : Cost
        What no part of the total may exceed.
    clash : Clash
    outer_diameter : float
        Of the tubes [mm].
    at_once : int
        How many runs change at a time: 1 or 2.
    price : float
        By how much the figure must grow for each millimetre of tube [mm].
    assessed : Assessed
        Asked only of routes that would be better; those chosen so far are known to be good.
    """

    cost: Callable[[Route], Cost]
    limits: Cost
    clash: Clash
    outer_diameter: float
    at_once: int = 2
    price: float = 0.0
    assessed: Assessed = lambda route: route


def parallel_loop(
    loop: Loop,
    scene: Scene,
    *,
    key: CandidateCost,
    share: float,
    part: int | None,
    kept: Collection[str] = (),
    control: Control = UNATTENDED,
) -> Loop:
    """Return a loop with as much tube side by side as its routes and length allow.

    Where a run is left out, the loop stays as it is: it has greater troubles.

    Parameters
    ----------
    loop : Loop
    scene : Scene
    key : CandidateCost
        By which the loop was chosen.
    share : float
        How much longer all tubes together may become, as a share of their length.
    part : int or None
        Which part of the total may grow with the length; the others may not.
    kept : collection of str
        Names of runs that stay as they are.
    control : Control
        Asked between runs; once it is stopped, the loop is what there is by then.

    References
    ----------
    One aim is bounded while the other is sought, the constraint method for two aims:
    Y. Y. Haimes, L. S. Lasdon and D. A. Wismer, IEEE Transactions on Systems, Man, and
    Cybernetics 1 (1971). From memory.
    """
    chosen = [run.chosen for run in loop.runs if run.chosen is not None]
    if len(chosen) < max(len(loop.runs), 2):
        return loop
    exchange = _exchange(chosen, scene, key, share=share, part=part)
    choices = [
        (own, *(() if run.request.name in kept else _others(run, own, scene.tube)))
        for run, own in zip(loop.runs, chosen, strict=True)
    ]
    found = parallel_routes(choices, exchange, control=control)
    requests = (run.request for run in loop.runs)
    numbers = (route.run for route in found)
    judge_of = route_judges(scene, dict(zip(numbers, requests, strict=True)))
    shifting = replace(
        exchange,
        at_once=1,
        price=LEG_SHIFT_PRICE,
        assessed=lambda route: _with_true_gap(route, judge_of(route)),
    )
    fixed = [run.request.name in kept for run in loop.runs]
    found = _with_shifted_legs(found, shifting, fixed=fixed, control=control)
    return replace(
        loop,
        runs=tuple(
            replace(run, chosen=route)
            for run, route in zip(loop.runs, found, strict=True)
        ),
        total=sum_of_costs(key(route.candidate) for route in found),
        ended=control.ending or loop.ended,
    )


def _exchange(
    chosen: Sequence[Route],
    scene: Scene,
    key: CandidateCost,
    *,
    share: float,
    part: int | None,
) -> Exchange:
    """Return how two runs at a time may change their routes, within the allowance."""

    def cost(route: Route) -> Cost:
        return (*key(route.candidate), route.candidate.length)

    def clash(one: Route, two: Route) -> bool:
        table = clash_table(
            [one],
            [two],
            tube_radius=scene.tube.radius,
            clearance=scene.rules.clearance,
        )
        return bool(table[0, 0])

    total = sum_of_costs(cost(route) for route in chosen)
    given = share * total[-1]
    growing = (part, len(total) - 1)
    return Exchange(
        cost=cost,
        limits=tuple(
            least + (given if index in growing else 0.0) + HELD_COST
            for index, least in enumerate(total)
        ),
        clash=clash,
        outer_diameter=scene.tube.outer_diameter,
    )


def _others(run: LoopRun, own: Route, tube: Tube) -> tuple[Route, ...]:
    """Return the routes of a run that it may take instead of its own."""
    return tuple(
        route
        for route in (*run.alone, *run.beside)
        if route.key != own.key and not is_too_long(route.candidate, tube)
    )


def _with_true_gap(route: Route, judge: Judge | None) -> Route | None:
    """Return a route with its gap as it is measured, or None where it breaks a rule."""
    candidate = None if judge is None else passed(judge, route.candidate)
    return None if candidate is None else replace(route, candidate=candidate)


def _with_shifted_legs(
    routes: tuple[Route, ...],
    exchange: Exchange,
    *,
    fixed: Sequence[bool],
    control: Control,
) -> tuple[Route, ...]:
    """Return routes with legs shifted beside other tubes, but for those that are fixed."""
    effort = control.effort.loop
    for _ in range(effort.leg_shift_passes):
        if control.is_over():
            break
        shifted = leg_shifted_routes(
            routes, outer_diameter=exchange.outer_diameter, most=effort.leg_shifts
        )
        choices = [
            (own, *(() if is_fixed else new))
            for own, new, is_fixed in zip(routes, shifted, fixed, strict=True)
        ]
        better = parallel_routes(choices, exchange, control=control)
        if better == routes:
            break
        routes = better
    return routes


def parallel_routes(
    choices: Sequence[Sequence[Route]],
    exchange: Exchange,
    *,
    control: Control = UNATTENDED,
) -> tuple[Route, ...]:
    """Return a route for each run, from which no one or two runs can do better.

    Where the search is stopped, the best there is by then.

    Parameters
    ----------
    choices : sequence of sequences of Route
        For each run its routes; the first ones are chosen so far, and fit together.
    exchange : Exchange
    control : Control
        Asked before each run or two change their routes.
    """
    search = _Search(_within_reach(choices, exchange), exchange)
    search.improve(control)
    return tuple(
        search.known[number] or search.routes[number] for number in search.chosen
    )


def _within_reach(
    choices: Sequence[Sequence[Route]], exchange: Exchange
) -> list[list[Route]]:
    """Leave out routes too dear even if all other runs took their cheapest ones."""
    costs = [np.array([exchange.cost(one) for one in routes]) for routes in choices]
    least = np.array([table.min(axis=0) for table in costs])
    rest = least.sum(axis=0) - least
    return [
        [
            route
            for number, route in enumerate(routes)
            if number == 0 or (table[number] + others <= exchange.limits).all()
        ]
        for routes, table, others in zip(choices, costs, rest, strict=True)
    ]


class _Search:
    """The routes of all runs, numbered through, and those chosen, one a run."""

    def __init__(self, choices: Sequence[Sequence[Route]], exchange: Exchange) -> None:
        self._exchange = exchange
        self.routes = [route for routes in choices for route in routes]
        sizes = [len(routes) for routes in choices]
        self.of_run = np.split(np.arange(len(self.routes)), np.cumsum(sizes)[:-1])
        self.chosen = [int(numbers[0]) for numbers in self.of_run]
        self.costs = np.array([exchange.cost(route) for route in self.routes])
        self.limits = np.array(exchange.limits)
        self.known: dict[int, Route | None] = {n: self.routes[n] for n in self.chosen}
        self._priced = exchange.price * self.costs[:, -1]
        self._clashing: dict[tuple[int, int], bool] = {}
        self._read_stretches(sizes)
        self._begun = self._beside(self.chosen)
        self._begun_length = float(self.costs[self.chosen, -1].sum())
        self.figure = self._begun.figure

    def improve(self, control: Control) -> None:
        """Let one or two runs at a time take better routes until none can."""
        at_once = self._exchange.at_once
        runs = range(len(self.of_run))
        pairs = list(combinations(runs, 2))
        if at_once == 1:
            pairs = [(run, (run + 1) % len(runs)) for run in runs]
        for _ in range(control.effort.loop.parallel_sweeps):
            before = list(self.chosen)
            for first, second in pairs:
                if control.is_over():
                    return
                two = self.of_run[second]
                if at_once == 1:
                    two = np.array([self.chosen[second]])
                self._improve_two(first, second, two)
            if self.chosen == before:
                return

    def _read_stretches(self, sizes: Sequence[int]) -> None:
        """Find where routes run side by side: stretches, and their sum for two routes."""
        lines = [route.centreline for route in self.routes]
        groups = np.repeat(np.arange(len(sizes)), sizes).tolist()
        found = stretches(
            lines, groups=groups, outer_diameter=self._exchange.outer_diameter
        )
        self.most = np.zeros((len(lines), len(lines)))
        np.add.at(self.most, (found.first, found.second), found.length)
        self.most += self.most.T
        self._stretches: dict[tuple[int, int], list[list[float]]] = {}
        columns = (found.first, found.second, found.length, found.spacing)
        for first, second, *stretch in zip(*(c.tolist() for c in columns), strict=True):
            self._stretches.setdefault((first, second), []).append(stretch)

    def _beside(self, chosen: Sequence[int]) -> SideBySide:
        found = [
            stretch
            for pair in combinations(sorted(chosen), 2)
            for stretch in self._stretches.get(pair, ())
        ]
        table = np.array(found, dtype=float).reshape(-1, 2)
        return summed(table[:, 0], table[:, 1])

    def _is_paid_for(self, found: SideBySide, chosen: Sequence[int]) -> bool:
        """Return whether a choice is worth the tube it takes: even spacing alone is."""
        more = float(self.costs[chosen, -1].sum()) - self._begun_length
        won = found.even - self._begun.even
        return more <= HELD_COST or won > PARALLEL_GAIN + self._exchange.price * more

    def _improve_two(self, first: int, second: int, two: Indices) -> None:
        """Let two runs take the routes that raise the figure the most, if any do.

        The second one's are to be among `two`.
        """
        one = self.of_run[first]
        others = [w for run, w in enumerate(self.chosen) if run not in (first, second)]
        worth_now = self.figure - float(self._priced[self.chosen].sum())
        best, best_worth, best_figure = None, worth_now + PARALLEL_GAIN, self.figure
        most = self._at_most(one, two, others)
        for place in np.argsort(-most, axis=None, kind="stable").tolist():
            row, column = divmod(place, most.shape[1])
            if most[row, column] <= best_worth:
                break
            new = int(one[row]), int(two[column])
            chosen = [*others, *new]
            found = self._beside(chosen)
            worth = found.figure - float(self._priced[chosen].sum())
            is_better = worth > best_worth and found.figure >= self.figure
            is_better = is_better and self._is_paid_for(found, chosen)
            if is_better and self._fit(*new, others):
                best, best_worth, best_figure = new, worth, found.figure
        if best is not None:
            self.chosen[first], self.chosen[second] = best
            self.figure = best_figure

    def _at_most(self, one: Indices, two: Indices, others: list[int]) -> Array:
        """Return an upper bound of the figure less the price, (n, m) [mm].

        For two runs' routes, as if all spacing were even; minus infinity where the total
        would exceed its limits.
        """
        beside = self.most[:, others].sum(axis=1)
        most: Array = 0.5 * beside[others].sum() + self.most[np.ix_(one, two)]
        most += beside[one][:, None] + beside[two][None, :]
        total = self.costs[one][:, None] + self.costs[two][None, :]
        total = total + self.costs[others].sum(axis=0)
        priced = self._priced
        most -= priced[one][:, None] + priced[two][None, :] + priced[others].sum()
        most[(total > self.limits).any(axis=2)] = -np.inf
        return most

    def _fit(self, one: int, two: int, others: Sequence[int]) -> bool:
        """Return whether two routes fit beside each other and the others."""
        pairs = [
            (one, two),
            *((route, other) for route in (one, two) for other in others),
        ]
        if any(self._in_the_way(*pair) for pair in pairs):
            return False
        for number in (one, two):
            if number not in self.known:
                self.known[number] = self._exchange.assessed(self.routes[number])
            if self.known[number] is None:
                return False
        return True

    def _in_the_way(self, one: int, two: int) -> bool:
        pair = (min(one, two), max(one, two))
        if pair not in self._clashing:
            first, second = (self.routes[number] for number in pair)
            is_shared = not {*first.ports}.isdisjoint(second.ports)
            self._clashing[pair] = is_shared or self._exchange.clash(first, second)
        return self._clashing[pair]
