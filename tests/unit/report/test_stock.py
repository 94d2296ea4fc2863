"""Blanks that are longer than the stock, and what would help."""

from __future__ import annotations

import pytest

from loopsolver.lengths import MILLIMETRES
from loopsolver.report.stock import (
    over_stock,
    over_stock_words,
    stock_help,
    stock_remarks,
)
from tests.builders.plans import GAIN
from tests.builders.scenes import tube
from tests.builders.short_runs import ONE_BEND, STRAIGHT, TWO_PLANES, made, run_of


@pytest.mark.parametrize(
    # The straight's blank is 200 + 2 x 30 = 260 mm.
    ("stock", "over"),
    [(260.0, 0.0), (259.0, 1.0), (300.0, 0.0), (150.0, 110.0)],
)
def test_blank_over_stock(stock: float, over: float) -> None:
    assert over_stock(made(STRAIGHT), tube(stock_length=stock)) == pytest.approx(over)


def test_a_smaller_trim_allowance_is_offered_where_it_leaves_something_to_hold() -> (
    None
):
    # (250 - 200) / 2 = 25 mm at each end, more than the diameter of 14 mm.
    help_25 = stock_help(
        made(STRAIGHT), tube(stock_length=250.0), text=MILLIMETRES.text
    )
    assert "at most 25.0 mm of trim allowance at each end instead of 30.0 mm" in help_25
    # (220 - 200) / 2 = 10 mm is too little.
    help_10 = stock_help(
        made(STRAIGHT), tube(stock_length=220.0), text=MILLIMETRES.text
    )
    assert help_10 == "longer stock, or two tubes with a coupling"


def test_a_blank_that_is_too_long_says_by_how_much_and_what_it_takes() -> None:
    """260 mm of blank, of which 60 mm are trimmed off."""
    words = over_stock_words(
        made(STRAIGHT), tube(stock_length=220.0), text=MILLIMETRES.text
    )
    assert words == (
        "40.0 mm longer than the stock of 220.0 mm; takes longer stock, or two tubes "
        "with a coupling"
    )
    assert not over_stock_words(
        made(STRAIGHT), tube(stock_length=260.0), text=MILLIMETRES.text
    )


def test_long_blanks_with_the_same_help_share_a_sentence() -> None:
    run = run_of(made(STRAIGHT), made(ONE_BEND), made(TWO_PLANES))
    (told,) = stock_remarks(
        run, (1, 2, 3), tube=tube(stock_length=150.0), lengths=MILLIMETRES
    )
    blanks = (260.0, 260.0 - GAIN, 320.0 - 2 * GAIN)
    wanted = ", ".join(
        f"candidate {rank} by {blank - 150.0:.1f} mm"
        for rank, blank in enumerate(blanks, start=1)
    )
    assert told.startswith(f"blank longer than the stock of 150.0 mm: {wanted}; takes")
    assert (
        list(
            stock_remarks(run, (1,), tube=tube(stock_length=500.0), lengths=MILLIMETRES)
        )
        == []
    )


def test_a_smaller_trim_says_what_it_leaves_to_hold() -> None:
    """Blank 200 - GAIN + 60 of one bend with 72 mm of straight at each end.

    Stock 20 mm shorter than the blank: 20 mm of trim, and 20 + 72 - 14 = 78 mm stay
    cold. With 20 mm of straight 20 + 20 - 14 = 26 mm do.
    """
    long = made(ONE_BEND)
    words = stock_help(
        long, tube(stock_length=long.blank - 20.0), text=MILLIMETRES.text
    )
    assert words.endswith("instead of 30.0 mm")
    short = made(((0, 0, 0), (48, 0, 0), (48, 100, 0)))
    words = stock_help(
        short, tube(stock_length=short.blank - 20.0), text=MILLIMETRES.text
    )
    assert words.endswith("instead of 30.0 mm (26.0 mm stay cold to hold then)")
