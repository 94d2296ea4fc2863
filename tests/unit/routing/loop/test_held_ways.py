"""The best choice with a way held, against trying all choices that have it."""

from collections.abc import Iterator
from itertools import combinations, product

import numpy as np
import pytest

from loopsolver.routing.loop.joint import Chooser
from tests.unit.routing.loop_stubs import StubPool


def choices(pool: StubPool) -> Iterator[tuple[int, ...]]:
    """All choices of at most one way a run that do not clash and share no port."""
    for picked in product(*((None, *pool.of_run(run)) for run in pool.runs)):
        ways = tuple(way for way in picked if way is not None)
        ports = {port for way in ways for port in pool.ways[way].ports}
        if len(ports) == 2 * len(ways) and not any(
            pool.lot[pair] for pair in combinations(ways, 2)
        ):
            yield ways


def worth(pool: StubPool, ways: tuple[int, ...]) -> tuple[float, ...]:
    """More runs first, then the total, part by part."""
    costs = [pool.ways[way].candidate.cost for way in ways]
    return -len(ways), *(sum(part) for part in zip(*costs, strict=True))


@pytest.mark.parametrize("seed", range(6))
def test_a_held_way_is_chosen_and_the_best_there_is_beside_it(seed: int) -> None:
    pool = StubPool(np.random.default_rng(seed), 4, 2)
    # Ways that share a port begin in the same place: they clash.
    for one, two in combinations(range(len(pool.ways)), 2):
        if set(pool.ways[one].ports) & set(pool.ways[two].ports):
            pool.lot[one, two] = True
    every = list(choices(pool))
    for held in range(len(pool.ways)):
        chooser = Chooser(pool, lambda candidate: candidate.cost)
        chooser.hold(held)
        found = chooser.best(range(len(pool.ways)))
        best = min(worth(pool, ways) for ways in every if held in ways)
        assert held in found.ways
        assert found.ways in every
        assert found.worth == pytest.approx(best, abs=1e-3)


def test_holding_costs_runs_where_it_must() -> None:
    """The lots are such that some held ways leave fewer runs than without them."""
    pool = StubPool(np.random.default_rng(0), 4, 2)
    chooser = Chooser(pool, lambda candidate: candidate.cost)
    free = len(chooser.best(range(len(pool.ways))).ways)
    counts = set()
    for held in range(len(pool.ways)):
        holding = Chooser(pool, lambda candidate: candidate.cost)
        holding.hold(held)
        counts.add(len(holding.best(range(len(pool.ways))).ways))
    assert max(counts) == free
    assert min(counts) < free
