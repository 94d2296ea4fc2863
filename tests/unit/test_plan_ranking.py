"""Which candidate is best, by what."""

from __future__ import annotations

import itertools
import math
import re

import pytest

from loopsolver.plan import RANKINGS, ranked
from loopsolver.plan.ranking import FOR_PARALLEL
from loopsolver.routing.problem import Candidate, CostOf
from tests.builders.plans import GAIN, candidate
from tests.commands import ROOT

# Two bends in one plane; legs 100 + 100 + 100.
FLAT = candidate(
    (0, 0, 0), (100, 0, 0), (100, 100, 0), (200, 100, 0), gap=3.5, trim=30.0
)
# Three bends in three planes; legs 70 + 70 + 70 + 70.
SHORT = candidate(
    (0, 0, 0), (70, 0, 0), (70, 70, 0), (70, 70, 70), (140, 70, 70), gap=5.0, trim=40.0
)
# One bend; legs 300 + 200.
LONG = candidate((0, 0, 0), (300, 0, 0), (300, 200, 0), gap=9.0, trim=0.0)
# Three bends, all in one plane; legs 100 + 70 + 100 + 70.
WAVE = candidate(
    (0, 0, 0), (100, 0, 0), (100, 70, 0), (200, 70, 0), (200, 140, 0), gap=4.0, trim=30
)
ALL = (FLAT, SHORT, LONG, WAVE)

# By hand: legs less a GAIN a bend.
LENGTHS = {
    "FLAT": 300.0 - 2 * GAIN,
    "SHORT": 280.0 - 3 * GAIN,
    "LONG": 500.0 - GAIN,
    "WAVE": 340.0 - 3 * GAIN,
}


def test_lengths_are_those_worked_out_by_hand() -> None:
    for one, wanted in zip(ALL, LENGTHS.values(), strict=True):
        assert one.length == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize(
    ("by", "order"),
    [
        ("bends", (LONG, FLAT, SHORT, WAVE)),  # 1, 2, 3 bends, then the shorter one
        ("length", (SHORT, FLAT, WAVE, LONG)),  # 244.0, 276.0, 304.0, 488.0
        ("gap", (LONG, SHORT, WAVE, FLAT)),  # 9, 5, 4, 3.5
        ("planes", (LONG, FLAT, WAVE, SHORT)),  # 1 (by bends), 1, 1, then the rest
        ("blank", (SHORT, FLAT, WAVE, LONG)),  # 324.0, 336.0, 364.0, 488.0
        ("parallel", (LONG, FLAT, SHORT, WAVE)),  # as by bends
    ],
)
def test_best_first(by: str, order: tuple[Candidate, ...]) -> None:
    for shuffled in itertools.permutations(ALL):
        assert ranked(shuffled, by=by) == order


def test_every_ranking_is_tried_above() -> None:
    assert set(RANKINGS) == {"bends", "length", "gap", "planes", "blank", "parallel"}


def test_equal_figures_leave_the_order_to_gap_and_vertices_not_to_the_search() -> None:
    left = candidate((0, 0, 0), (60, 0, 0), (60, 60, 0), gap=4.0, trim=0.0)
    right = candidate((0, 0, 0), (60, 0, 0), (60, -60, 0), gap=4.0, trim=0.0)
    roomy = candidate((0, 0, 0), (60, 0, 0), (60, 0, 60), gap=4.5, trim=0.0)
    orders = {
        ranked(shuffled, by="length")
        for shuffled in itertools.permutations((left, right, roomy))
    }
    assert orders == {(roomy, right, left)}  # -60 comes before 60


def test_parallel_tubes_cost_no_more_tube_than_readme_says() -> None:
    """Asked for parallel tubes, a builder gives more for them; for least tube nothing."""
    readme = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    said = re.search(r"cost no bend and at most (\d+) % of length", readme)
    assert said is not None
    share = float(said[1]) / 100.0
    for by in ("bends", "gap", "planes"):
        assert FOR_PARALLEL[by][0] == pytest.approx(share)
    assert share < FOR_PARALLEL["parallel"][0] <= 0.1
    assert not {"length", "blank"} & set(FOR_PARALLEL)


@pytest.mark.parametrize("by", ["bends", "length", "parallel"])
def test_what_costs_less_is_as_short_as_a_search_is_told(by: str) -> None:
    """The bound itself by its definition: no better candidate lies beyond it."""
    key = RANKINGS[by]
    assert isinstance(key, CostOf)
    for one, other in itertools.permutations(ALL, 2):
        if key(one) < key(other):
            assert one.length < key.below(key(other), one.bends, one.elbows)


def test_bends_and_elbows_count_before_the_length_that_is_left() -> None:
    """By hand: to cost less than three of 200 mm, of three those below 200 are left."""
    key = RANKINGS["bends"]
    assert isinstance(key, CostOf)
    below = [key.below((3, 200.0, 0), *each) for each in ((2, 0), (2, 1), (3, 0))]
    assert below == [math.inf, 200.0, 200.0]
    assert key.below((3, 200.0, 0), 3, 1) <= 0.0  # no tube is that short
