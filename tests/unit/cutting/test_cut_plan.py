"""The cut plan: an exhaustive search agrees, and nothing is lost on the way."""

from __future__ import annotations

import csv
import io
import itertools
import random

import pytest

from loopsolver.cutting.cut_plan import (
    CSV_HEADING,
    CutPlan,
    Piece,
    cut_plan,
    cut_plan_csv,
)
from loopsolver.errors import LoopsolverError
from loopsolver.lengths import INCHES
from tests.unit.cutting.tried_all import exhaustive, seeded_instance


def pieces_of(*lengths: float) -> list[Piece]:
    """Return pieces named after their place."""
    return [
        Piece(number=number, run=f"run {number}", length=length)
        for number, length in enumerate(lengths, start=1)
    ]


def assert_sound(plan: CutPlan) -> None:
    """Assert that no two pieces share material and all lie within their tube."""
    for tube in plan.tubes:
        assert tube.cuts[0].start == 0.0
        for before, after in zip(tube.cuts, tube.cuts[1:], strict=False):
            assert after.start - before.end == pytest.approx(plan.kerf)
        assert tube.cuts[-1].end <= plan.stock_length + 1e-6


@pytest.mark.parametrize("seed", range(160))
def test_exhaustive_search_agrees_with_kerf(seed: int) -> None:
    lengths, stock, kerf = seeded_instance(seed)
    pieces = pieces_of(*(length / 10.0 for length in lengths))
    plan = cut_plan(pieces, stock_length=stock / 10.0, kerf=kerf / 10.0)
    assert len(plan.tubes) == exhaustive(lengths, stock=stock, kerf=kerf)
    assert plan.is_least
    assert_sound(plan)
    cut = sorted(cut.piece.number for tube in plan.tubes for cut in tube.cuts)
    assert cut == [piece.number for piece in pieces]


def test_kerf_alone_can_cost_a_tube() -> None:
    halves = pieces_of(250.0, 250.0)
    assert len(cut_plan(halves, stock_length=500.0, kerf=0.0).tubes) == 1
    assert len(cut_plan(halves, stock_length=500.0, kerf=1.0).tubes) == 2
    less = pieces_of(250.0, 249.0)
    assert len(cut_plan(less, stock_length=500.0, kerf=1.0).tubes) == 1


def test_piece_as_long_as_the_stock_needs_no_cut() -> None:
    plan = cut_plan(pieces_of(500.0), stock_length=500.0, kerf=2.0)
    assert len(plan.tubes) == 1
    assert plan.tubes[0].leftover == 0.0
    assert plan.too_long == ()


def test_float_noise_does_not_cost_a_tube() -> None:
    thirds = pieces_of(*(100.0 + 1e-9 for _ in range(3)))
    assert len(cut_plan(thirds, stock_length=300.0, kerf=0.0).tubes) == 1


def test_leftover_is_what_lies_beyond_the_last_cut() -> None:
    plan = cut_plan(pieces_of(200.0, 150.0), stock_length=500.0, kerf=1.5)
    assert plan.tubes[0].leftover == pytest.approx(500.0 - 200.0 - 150.0 - 2 * 1.5)


def test_pieces_longer_than_the_stock_are_said_and_set_apart() -> None:
    plan = cut_plan(pieces_of(200.0, 530.0), stock_length=500.0, kerf=1.0)
    assert [piece.number for piece in plan.too_long] == [2]
    assert [len(tube.cuts) for tube in plan.tubes] == [1]


def test_no_pieces_need_no_tube() -> None:
    plan = cut_plan([], stock_length=500.0, kerf=1.0)
    assert (plan.tubes, plan.bound, plan.is_least) == ((), 0, True)


@pytest.mark.parametrize(
    ("length", "stock", "kerf"),
    [
        (0.0, 500.0, 1.0),
        (-3.0, 500.0, 1.0),
        (float("nan"), 500.0, 1.0),
        (100.0, 0.0, 1.0),
        (100.0, float("inf"), 1.0),
        (100.0, 500.0, -0.1),
    ],
)
def test_nonsense_is_refused(length: float, stock: float, kerf: float) -> None:
    with pytest.raises(LoopsolverError, match="mm"):
        cut_plan(pieces_of(length), stock_length=stock, kerf=kerf)


def test_same_pieces_give_the_same_plan() -> None:
    rng = random.Random(7)
    pieces = pieces_of(*(rng.uniform(120.0, 480.0) for _ in range(25)))
    first, second = (cut_plan(pieces, stock_length=1000.0, kerf=1.0) for _ in range(2))
    assert first == second
    assert cut_plan_csv(first) == cut_plan_csv(second)


def test_csv_holds_every_piece_and_leftover() -> None:
    hostile = '=HYPERLINK("http://x"),\n"two"'
    pieces = [
        Piece(number=1, run=hostile, length=300.25),
        Piece(number=1, run=hostile, length=300.25, spare=1),
        Piece(number=2, run="泵 to card", length=700.0),
    ]
    plan = cut_plan(pieces, stock_length=620.0, kerf=1.0)
    rows = list(csv.DictReader(io.StringIO(cut_plan_csv(plan))))
    assert tuple(rows[0]) == CSV_HEADING
    kinds = [row["what"] for row in rows]
    assert kinds == ["blank", "spare 1", "leftover", "blank, too long"]
    assert rows[0]["run"].startswith("'=")
    assert rows[3]["run"] == "泵 to card"
    leftover = 620.0 - 2 * 300.25 - 2 * 1.0
    assert float(rows[2]["length_mm"]) == pytest.approx(leftover)
    assert float(rows[1]["from_mm"]) == pytest.approx(300.25 + 1.0)


def test_csv_for_who_measures_in_inches_holds_both() -> None:
    """25.4 mm an inch; the columns in millimetres are as they were."""
    pieces = [
        Piece(number=1, run="a", length=254.0),
        Piece(number=2, run="b", length=900),
    ]
    plan = cut_plan(pieces, stock_length=508.0, kerf=2.54)
    rows = list(csv.DictReader(io.StringIO(cut_plan_csv(plan, lengths=INCHES))))
    assert tuple(rows[0]) == (*CSV_HEADING, "from_in", "to_in", "length_in")
    inches = [[row[f"{name}_in"] for name in ("from", "to", "length")] for row in rows]
    assert inches == [
        ["0.000", "10.000", "10.000"],
        ["10.100", "20.000", "9.900"],
        ["", "", "35.433"],
    ]
    millimetres = list(csv.DictReader(io.StringIO(cut_plan_csv(plan))))
    assert millimetres == [{key: row[key] for key in CSV_HEADING} for row in rows]


def exact_fill(seed: int) -> list[float]:
    """Return 30 lengths cut from five full tubes of 500 mm: five tubes are enough."""
    rng = random.Random(seed)
    lengths = []
    for _ in range(5):
        marks = [0, *sorted(rng.sample(range(1, 50_000), 5)), 50_000]
        lengths += [(b - a) / 100.0 for a, b in itertools.pairwise(marks)]
    return lengths


@pytest.mark.parametrize("seed", range(2))
def test_tubes_that_can_be_filled_to_the_last_hair_are(seed: int) -> None:
    plan = cut_plan(pieces_of(*exact_fill(seed)), stock_length=500.0, kerf=0.0)
    assert len(plan.tubes) == 5
    assert plan.is_least
