"""The best choice with a route held, against trying all choices that have it.

And whom it keeps out: nobody whom the routes that are chosen leave a place.
"""

from collections.abc import Iterator
from itertools import combinations, product
from pathlib import Path

import numpy as np
import pytest

from loopsolver.plan import RANKINGS
from loopsolver.routing.diagnosis.no_route import NoPlace
from loopsolver.routing.loop.set_packing import Selection, SetPacking
from loopsolver.routing.loop.solving import solve_loop
from loopsolver.routing.solve import solve_run
from loopsolver.scene.reader import load_scene
from tests.builders.flat_case import flat_case
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


def drawn(seed: int) -> StubPool:
    """A pool in which routes that share a port clash: they begin in the same place."""
    pool = StubPool(np.random.default_rng(seed), 4, 2)
    for one, two in combinations(range(len(pool.routes)), 2):
        if set(pool.routes[one].ports) & set(pool.routes[two].ports):
            pool.lot[one, two] = True
    return pool


@pytest.mark.parametrize("seed", range(6))
def test_a_held_route_is_chosen_and_the_best_there_is_beside_it(seed: int) -> None:
    pool = drawn(seed)
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


@pytest.mark.parametrize("seed", range(6))
def test_a_completed_choice_leaves_out_no_run_that_has_a_free_route(seed: int) -> None:
    pool = drawn(seed)
    every = {frozenset(routes) for routes in choices(pool)}
    packing = SetPacking(pool, lambda candidate: candidate.cost)
    for routes in every:
        total = worth(pool, tuple(routes))[1:]
        given = Selection(routes=tuple(sorted(routes)), total=total, is_proven=True)
        found = packing.completed(given, range(len(pool.routes)))
        chosen = frozenset(found.routes)
        assert routes <= chosen
        assert not any(chosen < other for other in every)
        assert found.is_proven == (chosen == routes)
        assert found.worth == pytest.approx(worth(pool, found.routes), abs=1e-9)


def test_two_held_in_each_others_way_keep_nobody_else_out(tmp_path: Path) -> None:
    """The first crosses both others, which are straight: of those kept the second stays."""
    path = tmp_path / "flat.toml"
    ends = [("first", 40.0, 220.0), ("second", 100.0, 100.0), ("third", 160.0, 160.0)]
    path.write_text(flat_case(ends, width=260.0), encoding="utf-8")
    scene = load_scene(path)
    kept = {run.name: solve_run(scene, run).candidates[0] for run in scene.runs[:2]}
    loop = solve_loop(scene, scene.runs, key=RANKINGS["bends"], kept=kept)
    assert [run.chosen is not None for run in loop.runs] == [False, True, True]
    why = loop.runs[0].why
    assert isinstance(why, NoPlace)
    assert {met.run for met in why.in_the_way} == {"second", "third"}
