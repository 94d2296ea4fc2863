"""The whole choice with the fewest clashes, against trying all of them."""

from itertools import combinations, pairwise, product

import numpy as np
import pytest

from loopsolver.routing.loop.integer_programme import Cost
from loopsolver.routing.loop.min_conflicts import Assignment, min_conflict_assignment
from loopsolver.routing.loop.set_packing import SetPacking
from tests.unit.routing.loop_stubs import StubPool

NEAR = 1e-2
"""Totals as near to a limit as this are not asked for: they may be either [mm]."""


def figures(pool: StubPool, whole: Assignment) -> tuple[float, ...]:
    """Clashing pairs, then the total, part by part."""
    clashes = sum(pool.lot[pair] for pair in combinations(sorted(whole), 2))
    costs = [pool.routes[route].candidate.cost for route in whole]
    return clashes, *(sum(part) for part in zip(*costs, strict=True))


def wholes(pool: StubPool) -> list[Assignment]:
    """One route for every run, no port used twice."""
    return [
        whole
        for whole in product(*(pool.of_run(run) for run in pool.runs))
        if len({port for route in whole for port in pool.routes[route].ports})
        == 2 * len(whole)
    ]


def found(
    pool: StubPool,
    *,
    cheaper_than: Cost | None = None,
    tried: tuple[Assignment, ...] = (),
) -> Assignment | None:
    packing = SetPacking(pool, lambda candidate: candidate.cost)
    routes = range(len(pool.routes))
    return min_conflict_assignment(
        packing, routes, cheaper_than=cheaper_than, tried=tried
    )


@pytest.mark.parametrize("parts", [1, 2])
@pytest.mark.parametrize("seed", range(8))
def test_no_whole_choice_has_fewer_clashes_or_costs_less(seed: int, parts: int) -> None:
    pool = StubPool(np.random.default_rng(seed), 2 + seed % 3, parts)
    every = wholes(pool)
    whole = found(pool)
    if whole is None:
        assert not every
        return
    assert whole in every
    best = min(figures(pool, one) for one in every)
    assert figures(pool, whole) == pytest.approx(best, abs=1e-3)


@pytest.mark.parametrize("parts", [1, 2])
@pytest.mark.parametrize("seed", range(12))
def test_cheaper_means_a_smaller_first_part_or_else_a_smaller_second(
    seed: int, parts: int
) -> None:
    """Fewer bends are better, however much longer the tubes become."""
    pool = StubPool(np.random.default_rng(100 + seed), 2 + seed % 3, parts)
    totals = sorted(figures(pool, one)[1:] for one in wholes(pool))
    for limit in totals[:: max(1, len(totals) // 3)]:
        below = [
            one
            for one in wholes(pool)
            if (total := figures(pool, one)[1:]) < limit
            and total != pytest.approx(limit, abs=NEAR)
        ]
        whole = found(pool, cheaper_than=limit)
        if whole is None:
            assert not below
        else:
            assert figures(pool, whole)[1:] < limit
            best = min(figures(pool, one) for one in below)
            assert figures(pool, whole) == pytest.approx(best, abs=1e-3)


def test_choices_that_were_tried_do_not_come_again() -> None:
    pool = StubPool(np.random.default_rng(7), 3, 2)
    tried: list[Assignment] = []
    while (whole := found(pool, tried=tuple(tried))) is not None:
        assert whole not in tried
        tried.append(whole)
    assert sorted(tried) == sorted(wholes(pool))
    seen = [figures(pool, whole) for whole in tried]
    for one, two in pairwise(seen):
        assert one <= tuple(part + 1e-3 for part in two)
