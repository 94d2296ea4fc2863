"""Random loops that surely have a solution: all tubes laid, none too near, none worse."""

from functools import cache
from itertools import combinations

import pytest

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.loop.solving import Loop, solve_loop
from tests.full import few_or_all
from tests.unit.routing.known_loops import (
    APART,
    STEP,
    Known,
    Placing,
    as_drawn,
    drawn_up,
    finely_apart,
    nearest,
    random_loop,
    sampled,
)

Case = tuple[int, int, Placing]
"""Seed, runs, and how near to each other the tubes were laid."""

FEW: list[Case] = [(seed, 3 + seed % 6, as_drawn) for seed in (0, 1, 2, 3, 4, 5, 13)]
EVERY: list[Case] = [
    *((seed, 3 + seed % 6, as_drawn) for seed in range(66)),
    *((100 + seed, 6 + seed % 5, as_drawn) for seed in range(30)),
    *((seed, 6 + seed % 5, drawn_up) for seed in range(30)),
    (0, 3, drawn_up),
]
CASES = few_or_all([*FEW, (0, 3, drawn_up)], EVERY)

SAMPLED = STEP**2 / 8.0 / APART + 1e-3
"""How much too near two rows of points a step apart may seem, to either side [mm]."""


@cache
def solved(case: Case) -> tuple[Loop, tuple[Known, ...]]:
    """A loop of three to ten runs in a case that grows with them."""
    seed, runs, placing = case
    scene, known = random_loop(
        seed,
        side=110.0 + 10.0 * runs,
        runs=runs,
        bodies=2 * runs + 2 * (seed % 5),
        stretch=0.5,
        placing=placing,
    )
    return solve_loop(scene, scene.runs, key=RANKINGS["bends"]), known


@pytest.mark.parametrize(
    "case", CASES, ids=lambda case: f"{case[:2]}{case[2].__name__}"
)
def test_all_runs_are_laid_clear_of_each_other_and_no_worse_than_known(
    case: Case,
) -> None:
    loop, known = solved(case)
    chosen = [run.chosen for run in loop.runs if run.chosen is not None]
    assert len(chosen) == len(known)
    assert loop.ended == "done"
    tubes = [sampled(route.centreline.vertices) for route in chosen]
    for one, two in combinations(tubes, 2):
        assert nearest(one, two) >= APART - SAMPLED
    bends = sum(one.candidate.bends for one in chosen)
    length = sum(one.candidate.length for one in chosen)
    assert bends <= sum(route.bends for route in known)
    if bends == sum(route.bends for route in known):
        assert length <= sum(route.length for route in known) + 1e-3
    assert sum(run.refused for run in loop.runs) == 0


def test_many_of_the_loops_are_entangled() -> None:
    """The scenes put the choice to work: alone, the best routes would clash."""
    rounds = [solved(case)[0].rounds for case in CASES]
    assert sum(count > 0 for count in rounds) >= len(CASES) / 2


def test_tubes_drawn_up_lie_no_further_apart_than_they_must() -> None:
    """The scenes themselves: APART is kept, and hardly more than that."""
    _, known = solved((0, 3, drawn_up))
    gaps = [finely_apart(one, two) for one, two in combinations(known, 2)]
    assert APART - 1e-3 <= min(gaps) <= APART + 0.01
