"""The best choice with a route held, against trying all choices that have it."""

from collections.abc import Iterator
from itertools import combinations, product

import numpy as np
import pytest

from loopsolver.routing.loop.set_packing import SetPacking
from tests.unit.routing.loop_stubs import StubPool


def choices(pool: StubPool) -> Iterator[tuple[int, ...]]:
    """All choices of at most one route a run that do not clash and share no port."""
    for picked in product(*((None, *pool.of_run(run)) for run in pool.runs)):
        routes = tuple(route for route in picked if route is not None)
        ports = {port for route in routes for port in pool.routes[route].ports}
        if len(ports) == 2 * len(routes) and not any(
            pool.lot[pair] for pair in combinations(routes, 2)
        ):
            yield routes


def worth(pool: StubPool, routes: tuple[int, ...]) -> tuple[float, ...]:
    """More runs first, then the total, part by part."""
    costs = [pool.routes[route].candidate.cost for route in routes]
    return -len(routes), *(sum(part) for part in zip(*costs, strict=True))


@pytest.mark.parametrize("seed", range(6))
def test_a_held_route_is_chosen_and_the_best_there_is_beside_it(seed: int) -> None:
    pool = StubPool(np.random.default_rng(seed), 4, 2)
    # Routes that share a port begin in the same place: they clash.
    for one, two in combinations(range(len(pool.routes)), 2):
        if set(pool.routes[one].ports) & set(pool.routes[two].ports):
            pool.lot[one, two] = True
    every = list(choices(pool))
    for held in range(len(pool.routes)):
        packing = SetPacking(pool, lambda candidate: candidate.cost)
        packing.hold(held)
        found = packing.best(range(len(pool.routes)))
        best = min(worth(pool, routes) for routes in every if held in routes)
        assert held in found.routes
        assert found.routes in every
        assert found.worth == pytest.approx(best, abs=1e-3)


def test_holding_costs_runs_where_it_must() -> None:
    """The lots are such that some held routes leave fewer runs than without them."""
    pool = StubPool(np.random.default_rng(0), 4, 2)
    packing = SetPacking(pool, lambda candidate: candidate.cost)
    free = len(packing.best(range(len(pool.routes))).routes)
    counts = set()
    for held in range(len(pool.routes)):
        holding = SetPacking(pool, lambda candidate: candidate.cost)
        holding.hold(held)
        counts.add(len(holding.best(range(len(pool.routes))).routes))
    assert max(counts) == free
    assert min(counts) < free
