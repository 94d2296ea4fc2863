"""Loops of three runs: the choice is that of trying every three of the routes found."""

from itertools import combinations, product

import numpy as np
import pytest

from loopsolver.clearance.gap import tube_gap
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.loop.solving import Loop, solve_loop
from loopsolver.tolerances import GAP_RESOLUTION
from tests.full import few_or_all
from tests.unit.routing.known_loops import CLEARANCE, TUBE_RADIUS, random_loop

Cost = tuple[float, ...]


def are_clear(one: Route, two: Route) -> bool:
    gap, _, _ = tube_gap(
        one.centreline,
        two.centreline,
        first_radius=TUBE_RADIUS,
        second_radius=TUBE_RADIUS,
    )
    return gap >= CLEARANCE - GAP_RESOLUTION


def least_by_trying(loop: Loop, by: str) -> tuple[float, ...]:
    """The least total over all choices in which every two tubes are clear."""
    pools = [[*run.alone, *run.beside] for run in loop.runs]
    clear = {
        (first, second): np.array(
            [[are_clear(one, two) for two in pools[second]] for one in pools[first]]
        )
        for first, second in combinations(range(len(pools)), 2)
    }
    costs = [[RANKINGS[by](route.candidate) for route in pool] for pool in pools]
    best: Cost | None = None
    for chosen in product(*(range(len(pool)) for pool in pools)):
        if all(clear[a, b][chosen[a], chosen[b]] for a, b in clear):
            parts = zip(*(costs[r][c] for r, c in enumerate(chosen)), strict=True)
            total = tuple(sum(part) for part in parts)
            best = total if best is None else min(best, total)
    assert best is not None
    return best


@pytest.mark.parametrize("by", ["bends", "length", "gap", "planes"])
@pytest.mark.parametrize("seed", few_or_all((102, 108), (0, 30, 48, 102, 108)))
def test_the_choice_is_the_best_of_its_pools(seed: int, by: str) -> None:
    scene, _ = random_loop(seed, side=140.0, runs=3, bodies=6, stretch=0.5)
    loop = solve_loop(scene, scene.runs, key=RANKINGS[by])
    assert loop.is_proven
    assert loop.total == pytest.approx(least_by_trying(loop, by), abs=1e-3)
    assert loop.bound <= tuple(part + 1e-3 for part in loop.total)
