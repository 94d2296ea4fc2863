"""The cut plan: an exhaustive search agrees, and nothing is lost on the way."""

from __future__ import annotations

import csv
import io
import itertools
import random
from dataclasses import replace

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


@pytest.mark.parametrize(
    ("spare", "key", "label"),
    [(0, "3", "pump to card"), (1, "3s", "pump to card, spare 1")],
)
def test_a_piece_is_named_after_its_run(spare: int, key: str, label: str) -> None:
    piece = Piece(number=3, run="pump to card", length=100.0, spare=spare)
    assert (piece.key, piece.label) == (key, label)


@pytest.mark.parametrize(
    ("length", "stock", "kerf", "said"),
    [
        (
            -3.0,
            500.0,
            1.0,
            "the blank of run 1 must be above 0 mm, found -3 mm",
        ),
        (100.0, 0.0, 1.0, "the stock length must be above 0 mm, found 0 mm"),
        (100.0, 500.0, -0.1, "the saw cut must be 0 mm wide or more, found -0.1 mm"),
        (
            100.0,
            500.0,
            float("inf"),
            "the saw cut must be 0 mm wide or more, found inf mm",
        ),
    ],
)
def test_what_cannot_be_a_length_is_named(
    length: float, stock: float, kerf: float, said: str
) -> None:
    with pytest.raises(LoopsolverError) as caught:
        cut_plan(pieces_of(length), stock_length=stock, kerf=kerf)
    assert str(caught.value) == said


def test_a_saw_takes_a_millimetre_unless_another_is_told() -> None:
    """Common practice, no source."""
    plan = cut_plan(pieces_of(200.0, 100.0), stock_length=500.0)
    assert plan.kerf == 1.0
    assert [cut.start for cut in plan.tubes[0].cuts] == [0.0, 201.0]
    assert [cut.end for cut in plan.tubes[0].cuts] == [200.0, 301.0]
    assert plan.tubes[0].leftover == 198.0


@pytest.mark.parametrize(
    # A piece of 299 mm and its cut leave 200 mm and no more for the second one.
    ("second", "tubes", "leftover"),
    [(200.0, 1, 0.0), (200.01, 2, None), (199.5, 1, 0.0), (198.0, 1, 1.0)],
)
def test_the_last_cut_may_take_what_is_left(
    second: float, tubes: int, leftover: float | None
) -> None:
    plan = cut_plan(pieces_of(299.0, second), stock_length=500.0, kerf=1.0)
    assert len(plan.tubes) == tubes
    if leftover is not None:
        assert plan.tubes[0].leftover == pytest.approx(leftover)


@pytest.mark.parametrize(
    ("length", "too_long"), [(500.0, False), (500.0 + 1e-9, False), (500.01, True)]
)
def test_a_piece_may_be_as_long_as_the_stock(length: float, too_long: bool) -> None:
    plan = cut_plan(pieces_of(length), stock_length=500.0, kerf=1.0)
    assert bool(plan.too_long) == too_long
    assert len(plan.tubes) == (not too_long)
    assert plan.bound == (not too_long)


def test_pieces_of_one_length_are_taken_in_their_order() -> None:
    plan = cut_plan(pieces_of(*[240.0] * 5), stock_length=500.0, kerf=1.0)
    cut = [[cut.piece.number for cut in tube.cuts] for tube in plan.tubes]
    assert cut == [[1, 2], [3, 4], [5]]


@pytest.mark.parametrize("first", "=+-@")
def test_a_name_that_a_spreadsheet_reckons_with_gets_an_apostrophe(first: str) -> None:
    piece = Piece(number=1, run=f"{first}1 +  2\n", length=100.0)
    plan = cut_plan([piece], stock_length=100.0)
    (row,) = csv.DictReader(io.StringIO(cut_plan_csv(plan)))
    assert row["run"] == f"'{first}1 + 2"
    assert (row["stock_tube"], row["place"]) == ("1", "1")


def test_places_are_counted_on_each_tube_and_the_leftover_comes_last() -> None:
    """300 + 1 + 150 + 1 leave 48 mm; 450 + 1 leave 49."""
    pieces = pieces_of(300.0, 150.0, 450.0)
    plan = cut_plan(pieces, stock_length=500.0, kerf=1.0)
    rows = list(csv.DictReader(io.StringIO(cut_plan_csv(plan))))
    told = [
        (row["stock_tube"], row["place"], row["what"], row["run"], row["length_mm"])
        for row in rows
    ]
    by_tube = [
        [("blank", "run 1", "300.00"), ("blank", "run 2", "150.00")],
        [("blank", "run 3", "450.00")],
    ]
    leftovers = ["48.00", "49.00"]
    wanted = [
        (str(tube), str(place), *row)
        for tube, (cut, left) in enumerate(zip(by_tube, leftovers, strict=True), 1)
        for place, row in enumerate([*cut, ("leftover", "", left)], start=1)
    ]
    assert told == wanted
    assert [rows[2]["from_mm"], rows[2]["to_mm"]] == ["452.00", "500.00"]


def test_a_plan_is_the_least_only_where_it_is_proved() -> None:
    plan = cut_plan(pieces_of(300.0, 300.0), stock_length=500.0)
    assert plan.is_least
    assert not replace(plan, bound=1).is_least
    assert replace(plan, bound=3).is_least
