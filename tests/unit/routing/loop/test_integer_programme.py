"""The integer programme against trying every subset."""

from itertools import combinations

import numpy as np
import pytest

from loopsolver.routing.loop.integer_programme import Pack, choose

THINGS = 11


def random_case(
    seed: int,
) -> tuple[list[tuple[float, float]], list[Pack]]:
    rng = np.random.default_rng(seed)
    costs = [
        (float(rng.integers(0, 4)), round(float(rng.uniform(1.0, 99.0)), 1))
        for _ in range(THINGS)
    ]
    packs = []
    for _ in range(int(rng.integers(1, 12))):
        size = int(rng.integers(2, 6))
        members = tuple(sorted(rng.choice(THINGS, size, replace=False).tolist()))
        packs.append(Pack(members=members, most=int(rng.integers(1, size))))
    return costs, packs


def best_by_trying(
    costs: list[tuple[float, float]], packs: list[Pack]
) -> tuple[int, float, float]:
    """Size and totals of the largest, then cheapest, allowed subset."""
    for size in range(THINGS, -1, -1):
        allowed = [
            (sum(costs[i][0] for i in some), sum(costs[i][1] for i in some))
            for some in combinations(range(THINGS), size)
            if all(len(set(some) & set(p.members)) <= p.most for p in packs)
        ]
        if allowed:
            return (-size, *min(allowed))
    raise AssertionError


@pytest.mark.parametrize("seed", range(40))
def test_the_choice_is_that_of_trying_all_subsets(seed: int) -> None:
    costs, packs = random_case(seed)
    members, is_proven = choose(costs, packs)
    assert is_proven
    assert all(len(set(members) & set(p.members)) <= p.most for p in packs)
    totals = tuple(sum(costs[i][part] for i in members) for part in (0, 1))
    wanted = best_by_trying(costs, packs)
    assert -len(members) == wanted[0]
    assert totals == pytest.approx(wanted[1:], abs=1e-3)


@pytest.mark.parametrize("above", [0, 1, THINGS])
@pytest.mark.parametrize("seed", range(8))
def test_how_many_may_be_chosen_at_most_changes_no_choice(
    seed: int, above: int
) -> None:
    """Told as many as there are in the largest subset that is allowed, or more."""
    costs, packs = random_case(seed)
    size, *_ = best_by_trying(costs, packs)
    told, is_proven = choose(costs, packs, most=above - size)
    assert is_proven
    assert told == choose(costs, packs)[0]


def test_the_same_choice_comes_again() -> None:
    costs, packs = random_case(7)
    assert {choose(costs, packs)[0] for _ in range(3)} == {choose(costs, packs)[0]}


def test_of_groups_without_further_packs_each_gives_its_cheapest() -> None:
    costs = [(2.0,), (1.0,), (5.0,), (4.0,), (3.0,)]
    packs = [Pack(members=(0, 1)), Pack(members=(2, 3, 4))]
    assert choose(costs, packs)[0] == (1, 4)


def test_nothing_to_choose_from_is_an_empty_choice() -> None:
    assert choose([], [])[0] == ()
