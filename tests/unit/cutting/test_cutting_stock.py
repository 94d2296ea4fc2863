"""Cutting stock: trying every way agrees, and nothing is proved that is not so."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
import scipy.optimize

from loopsolver.cutting import cutting_stock
from loopsolver.cutting.cutting_stock import (
    CuttingEffort,
    Demand,
    first_fit,
    least_stock,
    patterns_of,
    simple_bound,
)
from tests.unit.cutting.tried_all import exhaustive, seeded_instance


@pytest.mark.parametrize("seed", range(0, 160, 4))
def test_no_bound_is_above_what_trying_all_finds(seed: int) -> None:
    lengths, stock, kerf = seeded_instance(seed)
    demand = Demand.of([length + kerf for length in lengths], stock=stock + kerf)
    least = exhaustive(lengths, stock=stock, kerf=kerf)
    assert simple_bound(demand) <= least
    assert least_stock(demand).bound == least


@pytest.mark.parametrize(
    ("pieces", "bound"),
    # Halves share a tube, and what is a hair longer does not; 5 x 30 need 1.5 tubes.
    [([50] * 4, 2), ([51] * 4, 4), ([30] * 5, 2), ([100], 1), ([34] * 3, 2)],
)
def test_bound_by_hand(pieces: list[int], bound: int) -> None:
    assert simple_bound(Demand.of(pieces, stock=100)) == bound


def test_the_first_answer_holds_the_demand() -> None:
    demand = Demand.of([51, 27, 26, 23, 25, 48, 49, 51], stock=100)
    tubes = first_fit(demand)
    held = [sum(column) for column in zip(*tubes, strict=True)]
    assert held == list(demand.counts)
    assert all(demand.used(tube) <= demand.stock for tube in tubes)


@pytest.mark.parametrize("seed", range(40))
def test_patterns_are_those_that_trying_all_counts_finds(seed: int) -> None:
    lengths, stock, _kerf = seeded_instance(seed)
    demand = Demand.of([*lengths, *lengths[:2]], stock=stock)
    waste = stock // (1 + seed % 7) - 1
    wanted = set()
    for counts in itertools.product(*(range(count + 1) for count in demand.counts)):
        free = stock - demand.used(counts)
        left = [
            length
            for length, count, taken in zip(
                demand.lengths, demand.counts, counts, strict=True
            )
            if taken < count
        ]
        if 0 <= free <= waste and all(length > free for length in left):
            wanted.add(counts)
    found = list(patterns_of(demand, waste=waste))
    assert len(found) == len(set(found))
    assert set(found) == wanted


def test_the_fullest_tubes_come_first_then_those_with_the_longest_piece() -> None:
    """70 + 30 and 50 + 50 fill a tube; 90 does not."""
    cutting = least_stock(Demand.of([50, 90, 30, 50, 70], stock=100))
    # Lengths 90, 70, 50, 30.
    assert cutting.patterns == ((0, 1, 0, 1), (0, 0, 2, 0), (1, 0, 0, 0))


def full_tubes(seed: int, *, tubes: int, pieces: int) -> Demand:
    """Return what so many full tubes of 1000 were cut into: so many are enough."""
    rng = random.Random(seed)
    lengths: list[int] = []
    for _ in range(tubes):
        marks = [0, *sorted(rng.sample(range(1, 1000), pieces - 1)), 1000]
        lengths += [b - a for a, b in itertools.pairwise(marks)]
    return Demand.of(lengths, stock=1000)


@pytest.mark.parametrize(
    "effort",
    [
        CuttingEffort(most_patterns=0),
        CuttingEffort(most_patterns=3),
        CuttingEffort(first_choice=0, last_choice=0),
        CuttingEffort(first_choice=0, last_choice=3),
    ],
)
def test_whichever_limit_ends_the_search_nothing_false_is_proved(
    effort: CuttingEffort,
) -> None:
    """Drawn until first fit fails; five tubes were full, so five are enough."""
    demands = [full_tubes(seed, tubes=4, pieces=5) for seed in (3, 9)]
    for demand in demands:
        assert least_stock(demand).is_least
        assert len(least_stock(demand).patterns) == 4
    for demand in demands:
        cutting = least_stock(demand, effort=effort)
        assert cutting.bound <= 4
        assert not cutting.is_least
        held = [sum(column) for column in zip(*cutting.patterns, strict=True)]
        assert held == list(demand.counts)


NO_ROUNDING_UP = [44] * 2 + [33] * 3 + [12] * 6
"""From 132: fractions of tubes sum to less than two, yet three are needed.

From the literature on instances whose optimum is not the bound rounded up (from
memory); that three are needed is found below by trying all.
"""


def test_more_is_proved_than_fractions_of_tubes_say() -> None:
    assert sum(NO_ROUNDING_UP) < 2 * 132
    assert exhaustive(NO_ROUNDING_UP, stock=132, kerf=0) == 3
    demand = Demand.of(NO_ROUNDING_UP, stock=132)
    assert simple_bound(demand) == 2
    cutting = least_stock(demand)
    assert (len(cutting.patterns), cutting.bound) == (3, 3)


CLASSIC = [45] * 97 + [36] * 610 + [31] * 395 + [14] * 211
"""From 100, with 453 tubes; the source stands beside the published check."""


def test_what_stops_early_proves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Status 1 of scipy's linprog and milp: their documentation says a limit.

    Neither programme by itself: the other still proves what it can.
    """
    solvers = {"linprog": scipy.optimize.linprog, "milp": scipy.optimize.milp}

    def stop_early(name: str) -> None:
        def stopped(*given: object, **more: object) -> object:
            answer = solvers[name](*given, **more)
            answer.status = 1
            return answer

        monkeypatch.setattr(scipy.optimize, name, stopped)

    demand = Demand.of(CLASSIC, stock=100)
    assert least_stock(demand).bound == 453
    stop_early("linprog")
    assert least_stock(demand).bound == 453
    stop_early("milp")
    cutting = least_stock(demand)
    assert len(cutting.patterns) == 453
    assert cutting.bound == simple_bound(demand) < 453


def test_what_is_held_beyond_the_demand_is_taken_off_again() -> None:
    """Patterns that hold 2 x 50 twice, for three of them: one tube keeps one."""
    demand = Demand.of([50] * 3, stock=100)
    column = np.array([[2.0]])
    kept, is_settled = cutting_stock._choose(column, demand, below=3, most_nodes=9)
    assert is_settled
    assert sorted(kept) == [(1,), (2,)]
    assert cutting_stock._choose(column, demand, below=2, most_nodes=9)[0] == ()
