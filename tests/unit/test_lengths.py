"""Lengths in words, in the unit of the person at the bench."""

from __future__ import annotations

import pytest

from loopsolver.lengths import (
    INCHES,
    MILLIMETRES,
    fixed,
    lengths_for,
    on_a_rule,
    written_length,
)
from loopsolver.units import LengthUnit


@pytest.mark.parametrize(
    ("length", "number"),
    [
        (412.74, "412.7"),
        (0.0, "0.0"),
        (-0.04, "0.0"),
        (-0.06, "-0.1"),
        (99.96, "100.0"),
    ],
)
def test_millimetres_to_a_tenth(length: float, number: str) -> None:
    assert MILLIMETRES.number(length) == number
    assert MILLIMETRES.text(length) == f"{number} mm"


@pytest.mark.parametrize(
    ("length", "number"),
    # An inch is 25.4 mm exactly: 3/8, 1, 0.1 and 16 1/4 in.
    [(9.525, "0.375"), (25.4, "1.000"), (2.54, "0.100"), (412.75, "16.250")],
)
def test_inches_to_a_thousandth(length: float, number: str) -> None:
    assert INCHES.number(length) == number


def test_inches_bring_their_millimetres() -> None:
    assert INCHES.text(412.75) == "16.250 in (412.8 mm)"
    assert INCHES.fine(25.4) == "1.0000 in (25.40 mm)"
    assert MILLIMETRES.fine(2.968) == "2.97 mm"


def test_only_who_measures_in_inches_reads_inches() -> None:
    assert lengths_for("in") is INCHES
    assert lengths_for("mm") is MILLIMETRES
    assert lengths_for("cm") is MILLIMETRES


def test_what_is_visible_prints_as_more_than_nothing() -> None:
    for lengths in (MILLIMETRES, INCHES):
        assert float(lengths.number(1.01 * lengths.visible)) > 0.0
        assert float(lengths.number(0.99 * lengths.visible)) == 0.0


def test_short_ones_have_no_closing_noughts() -> None:
    assert MILLIMETRES.short(150.0) == "150"
    assert MILLIMETRES.short(12.5) == "12.5"
    assert MILLIMETRES.short(-0.04) == "0"
    # 3/8 in and 10 in, at 25.4 mm an inch.
    assert INCHES.short(9.525) == "0.375"
    assert INCHES.short(254.0) == "10"


def test_never_minus_nought() -> None:
    assert fixed(-0.0, 1) == "0.0"
    assert INCHES.text(-0.01) == "0.000 in (0.0 mm)"


@pytest.mark.parametrize(
    ("mm", "unit", "text"),
    [
        (412.66, "mm", "412.7 mm"),
        (0.04, "mm", "0.0 mm"),
        (-0.04, "mm", "0.0 mm"),
        (-0.06, "mm", "-0.1 mm"),
        (88.9, "in", "3.50 in"),
        (288.29, "in", "11.35 in"),
        (412.66, "cm", "41.27 cm"),
    ],
)
def test_lengths_of_a_rule_are_printed_with_their_unit(
    mm: float, unit: LengthUnit, text: str
) -> None:
    assert on_a_rule(unit).plain(mm) == text


def test_what_was_written_comes_back_with_all_its_digits() -> None:
    """3/8 in are 9.525 mm; 118.110 in are 3000 mm to a thousandth."""
    assert written_length(9.525, "in") == "0.375 in"
    assert written_length(14.0, "cm") == "1.4 cm"
    assert INCHES.exact(9.525) == "0.375 in (9.525 mm)"
    assert INCHES.exact(3000.0) == "118.11 in (3000 mm)"
    assert MILLIMETRES.exact(3000.0) == "3000 mm"


def test_sizes_in_inches_have_no_closing_noughts() -> None:
    assert INCHES.size(9.525) == "0.375 in"
    assert MILLIMETRES.size(14.0) == "14.0 mm"
    assert INCHES.plain(9.525) == "0.375 in"
    assert INCHES.plain(25.4) == "1.000 in"
