"""Random loops that surely have a solution: all tubes laid, none too near, none worse."""

from functools import cache
from itertools import combinations

import pytest

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.loop.solving import Loop, solve_loop
from tests.full import few_or_all
from tests.unit.routing.known_loops import (
    CLEARANCE,
    STEP,
    TUBE_RADIUS,
    Known,
    nearest,
    random_loop,
    sampled,
)

SEEDS = few_or_all((0, 1, 2, 3, 4, 5, 13), range(66))

SAMPLED = STEP**2 / 8.0 / (2.0 * TUBE_RADIUS + CLEARANCE) + 1e-3
"""How much too near two rows of points a step apart may seem, to either side [mm]."""


@cache
def solved(seed: int) -> tuple[Loop, tuple[Known, ...]]:
    """A loop of three to eight runs in a case that grows with them."""
    runs = 3 + seed % 6
    scene, known = random_loop(
        seed,
        side=110.0 + 10.0 * runs,
        runs=runs,
        bodies=2 * runs + 2 * (seed % 5),
        stretch=0.5,
    )
    return solve_loop(scene, scene.runs, key=RANKINGS["bends"]), known


@pytest.mark.parametrize("seed", SEEDS)
def test_all_runs_are_laid_clear_of_each_other_and_no_worse_than_known(
    seed: int,
) -> None:
    loop, known = solved(seed)
    chosen = [run.chosen for run in loop.runs if run.chosen is not None]
    assert len(chosen) == len(known)
    assert loop.ended == "done"
    tubes = [sampled(route.centreline.vertices) for route in chosen]
    for one, two in combinations(tubes, 2):
        assert nearest(one, two) >= 2.0 * TUBE_RADIUS + CLEARANCE - SAMPLED
    bends = sum(one.candidate.bends for one in chosen)
    length = sum(one.candidate.length for one in chosen)
    assert bends <= sum(route.bends for route in known)
    if bends == sum(route.bends for route in known):
        assert length <= sum(route.length for route in known) + 1e-3
    assert sum(run.refused for run in loop.runs) == 0


def test_many_of_the_loops_are_entangled() -> None:
    """The scenes put the choice to work: alone, the best routes would clash."""
    rounds = [solved(seed)[0].rounds for seed in SEEDS]
    assert sum(count > 0 for count in rounds) >= len(SEEDS) / 2
