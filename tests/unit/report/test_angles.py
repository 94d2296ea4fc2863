"""Angles as screens and sheets word them."""

from __future__ import annotations

import pytest

from loopsolver.report.angles import (
    clock,
    clock_sense,
    degrees,
    departure,
    rotation,
    short,
)


def test_angles() -> None:
    assert degrees(90.0) == "90 degrees"
    assert degrees(88.46) == "88.5 degrees"
    assert rotation(-179.99) == "180.0"
    assert rotation(-90.0) == "-90.0"


@pytest.mark.parametrize(
    ("rotation_deg", "says"),
    [
        (90.0, "90° clockwise"),
        (-90.0, "90° anticlockwise"),
        (37.25, "37.2° clockwise"),
        (-0.5, "0.5° anticlockwise"),
    ],
)
def test_clock_words(rotation_deg: float, says: str) -> None:
    assert clock(rotation_deg) == says


@pytest.mark.parametrize(
    ("angle_deg", "number", "apart"),
    [
        (0.0, "0", "0.0"),
        (0.04, "0", "0.0"),
        (-0.04, "0", "0.0"),
        (0.06, "0.1", "+0.1"),
        (-0.06, "-0.1", "-0.1"),
        (9.96, "10", "+10.0"),
        (-12.34, "-12.3", "-12.3"),
    ],
)
def test_to_a_tenth_and_never_minus_nought(
    angle_deg: float, number: str, apart: str
) -> None:
    assert short(angle_deg) == number
    assert departure(angle_deg) == apart


def test_half_a_turn_has_no_way_round() -> None:
    assert clock(179.96) == clock(-179.96) == "180°, half a turn"
    assert clock(179.9) == "179.9° clockwise"
    assert rotation(179.99) == "180.0"


def test_no_turn_at_all_goes_no_way_clockwise() -> None:
    assert (clock_sense(0.1), clock_sense(0.0)) == ("clockwise", "anticlockwise")
