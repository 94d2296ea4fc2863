"""What choosing another candidate of one run would do to the other runs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Final

from loopsolver.plan.file import Plan
from loopsolver.plan.model import AS_BUILT, PlannedRun
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene

if TYPE_CHECKING:
    from loopsolver.routing.loop.integer_programme import Cost
    from loopsolver.routing.loop.route_pool import RoutePool

MOST_STEPS: Final = 2000
"""Settled routes after which an integer programme takes over: it may be quicker then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What choosing one candidate would do, the others' listed candidates given.

    Attributes
    ----------
    run, rank : str, int
        The candidate.
    moved : tuple of (str, int), or None
        Other runs that would have to take another candidate, and which; empty where all
        can stay as they are chosen; None where no candidates of theirs fit beside it.
    """

    run: str
    rank: int
    moved: tuple[tuple[str, int], ...] | None


def effects(plan: Plan) -> tuple[Effect, ...]:
    """Return what choosing each candidate of each run would do to the others.

    As few other runs move as possible; runs without a chosen candidate take no part. A
    built tube moves for nobody, and nothing is said of its run's candidates.
    """
    runs = [run for run in plan.runs if run.tube_in_place is not None]
    if any(len(one.ends) != 2 for run in runs for _, one in _open(run)):
        return ()
    pool, places = _pool(plan.scene, runs)
    stay = {
        places[route][0]: route
        for route in places
        if places[route][1] == runs[places[route][0]].rank_in_place
    }
    mover = _Mover(pool, stay)
    found = []
    for tried, (number, rank) in places.items():
        if rank == AS_BUILT:
            continue
        routes = mover.beside(tried)
        moved = None
        if routes is not None:
            moved = tuple(
                (runs[run].name, places[route][1])
                for run, route in sorted(routes.items())
                if run != number and route != stay[run]
            )
        found.append(Effect(run=runs[number].name, rank=rank, moved=moved))
    return tuple(found)


def _open(run: PlannedRun) -> Iterable[tuple[int, Candidate]]:
    """Return what may still be chosen of a run, by rank: of a built one that alone."""
    if run.built is not None:
        return ((AS_BUILT, run.built),)
    return enumerate(run.candidates, start=1)


def _pool(
    scene: Scene, runs: Sequence[PlannedRun]
) -> tuple[RoutePool, dict[int, tuple[int, int]]]:
    """Return all candidates as routes, and of each route the number of its run and rank."""
    from loopsolver.routing.loop.route_pool import RoutePool
    from loopsolver.routing.loop.router import Router
    from loopsolver.scene.model import RunRequest

    requests = [
        RunRequest(name=run.name, from_ports=(run.from_port,), to_ports=(run.to_port,))
        for run in runs
    ]
    router = Router(scene, requests)
    pool = RoutePool(tube_radius=scene.tube.radius, clearance=scene.rules.clearance)
    places: dict[int, tuple[int, int]] = {}
    for number, run in enumerate(runs):
        for rank, candidate in _open(run):
            route = router.route(number, candidate)
            pool.add([route])
            places.setdefault(pool.number_of(route), (number, rank))
    return pool, places


class _Mover:
    """Finds for each route the choice beside it in which the fewest other runs move."""

    def __init__(self, pool: RoutePool, stay: Mapping[int, int]) -> None:
        """Make a mover; `stay` has the chosen route of each run."""
        from loopsolver.routing.loop.set_packing import SetPacking

        by_bends = RANKINGS["bends"]
        staying = {id(pool.routes[route].candidate) for route in stay.values()}

        def cost(candidate: Candidate) -> tuple[float, ...]:
            moves = 0.0 if id(candidate) in staying else 1.0
            return (moves, *by_bends(candidate))

        self._pool, self._stay = pool, stay
        self._packing = SetPacking(pool, cost)
        self._clashes = {
            pair for runs in combinations(pool.runs, 2) for pair in pool.clashing(*runs)
        }
        self._steps = 0

    def beside(self, tried: int) -> dict[int, int] | None:
        """Return a route for each run, one of them given; None where none fit."""
        own = self._pool.routes[tried].run
        open_routes = {
            run: sorted(self._pool.of_run(run), key=self._packing.cost)
            for run in self._stay
            if run != own
        }
        self._steps = MOST_STEPS
        found = self._completed({own: tried}, self._left(open_routes, tried), None)
        return found if self._steps > 0 else self._chosen(tried)

    def _completed(
        self,
        settled: dict[int, int],
        open_routes: Mapping[int, Sequence[int]],
        best: dict[int, int] | None,
    ) -> dict[int, int] | None:
        """Return the best way to settle the other runs as well, if better than `best`.

        The routes that are open keep clear of what is settled, the cheapest first. If all
        of these cost no less than the best, no choice among them does.
        """
        self._steps -= 1
        if self._steps <= 0 or not all(open_routes.values()):
            return best
        least = [*settled.values(), *(routes[0] for routes in open_routes.values())]
        if best is not None and self._total(least) >= self._total(best.values()):
            return best
        if not open_routes:
            return settled
        run = min(open_routes, key=lambda run: (len(open_routes[run]), run))
        others = {
            other: routes for other, routes in open_routes.items() if other != run
        }
        for route in open_routes[run]:
            best = self._completed(
                {**settled, run: route}, self._left(others, route), best
            )
        return best

    def _left(
        self, open_routes: Mapping[int, Sequence[int]], beside: int
    ) -> dict[int, list[int]]:
        """Return the routes that stay open beside one more."""
        return {
            run: [route for route in routes if self._is_free(route, beside)]
            for run, routes in open_routes.items()
        }

    def _chosen(self, tried: int) -> dict[int, int] | None:
        """Return the best choice of all; None where not every run has a place."""
        own = self._pool.routes[tried].run
        among = [
            route
            for route in range(len(self._pool.routes))
            if route == tried or self._pool.routes[route].run != own
        ]
        best = self._packing.best(among)
        found = {self._pool.routes[route].run: route for route in best.routes}
        return found if len(found) == len(self._stay) else None

    def _is_free(self, route: int, other: int) -> bool:
        """Return whether a route keeps clear of another and of its ports."""
        one, two = (set(self._pool.routes[each].ports) for each in (route, other))
        return not (one & two or {(route, other), (other, route)} & self._clashes)

    def _total(self, routes: Iterable[int]) -> Cost:
        from loopsolver.routing.loop.set_packing import sum_of_costs

        return sum_of_costs(self._packing.cost(route) for route in routes)
