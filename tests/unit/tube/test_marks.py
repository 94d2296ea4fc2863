"""Marks along the blank against hand arithmetic."""

from __future__ import annotations

import math

import pytest

from loopsolver.errors import GeometryError
from loopsolver.tube.bend_table import Bend, BendTable
from loopsolver.tube.marks import bend_marks, blank_length

TABLE = BendTable(
    bends=(
        Bend(straight=32.0, rotation_deg=0.0, angle_deg=90.0),
        Bend(straight=34.0, rotation_deg=180.0, angle_deg=45.0),
    ),
    closing_straight=112.0,
    radius=28.0,
)
ARC = 28.0 * math.pi / 2


def test_blank_length() -> None:
    by_hand = 30 + 32 + ARC + 34 + ARC / 2 + 112 + 30
    assert blank_length(TABLE, trim_allowance=30.0) == pytest.approx(by_hand)


def test_marks() -> None:
    first, second = bend_marks(TABLE, trim_allowance=30.0, outer_diameter=14.0)
    assert (first.number, second.number) == (1, 2)
    assert first.start == pytest.approx(62.0)
    assert first.centre == pytest.approx(62.0 + ARC / 2)
    assert first.end == pytest.approx(62.0 + ARC)
    assert first.heated_from == pytest.approx(48.0)
    assert first.heated_to == pytest.approx(76.0 + ARC)
    assert second.start == pytest.approx(96.0 + ARC)
    assert second.centre == pytest.approx(96.0 + 1.25 * ARC)
    assert second.end == pytest.approx(96.0 + 1.5 * ARC)


def test_heat_ends_where_the_blank_ends() -> None:
    table = BendTable(
        bends=(Bend(straight=5.0, rotation_deg=0.0, angle_deg=90.0),),
        closing_straight=3.0,
        radius=28.0,
    )
    (mark,) = bend_marks(table, trim_allowance=0.0, outer_diameter=14.0)
    assert mark.heated_from == 0.0
    assert mark.heated_to == blank_length(table, trim_allowance=0.0)


def test_heat_reaches_into_what_is_trimmed_off() -> None:
    """A bend 5 mm behind the first end and 3 before the last, 30 mm of trim at each."""
    table = BendTable(
        bends=(Bend(straight=5.0, rotation_deg=0.0, angle_deg=90.0),),
        closing_straight=3.0,
        radius=28.0,
    )
    (mark,) = bend_marks(table, trim_allowance=30.0, outer_diameter=14.0)
    assert mark.start == pytest.approx(35.0)
    assert mark.heated_from == pytest.approx(21.0)  # 35 - 14
    assert mark.heated_to == pytest.approx(35.0 + ARC + 14.0)
    assert mark.heated_to < blank_length(table, trim_allowance=30.0)


def test_tube_without_bends_has_no_marks() -> None:
    table = BendTable(bends=(), closing_straight=80.0, radius=28.0)
    assert bend_marks(table, trim_allowance=30.0, outer_diameter=14.0) == ()
    assert blank_length(table, trim_allowance=30.0) == 140.0


def test_bends_that_overlap_cannot_be_marked() -> None:
    table = BendTable(
        bends=(
            Bend(straight=32.0, rotation_deg=0.0, angle_deg=90.0),
            Bend(straight=-4.0, rotation_deg=0.0, angle_deg=90.0),
        ),
        closing_straight=30.0,
        radius=28.0,
    )
    with pytest.raises(GeometryError, match=r"straight 2 .* 4 mm too short"):
        bend_marks(table, trim_allowance=30.0, outer_diameter=14.0)


def test_what_a_bend_takes_up_moves_marks_and_blank_once() -> None:
    """By hand: two square bends of radius 28, 44 mm of arc each, of which 1.05 is used.

    Straights of 40, 50 and 60 mm, 30 mm of trim at each end.
    """
    bends = tuple(
        Bend(straight=straight, rotation_deg=0.0, angle_deg=90.0)
        for straight in (40.0, 50.0)
    )
    table = BendTable(bends=bends, closing_straight=60.0, radius=28.0)
    used = 1.05 * 28.0 * math.pi / 2.0
    first, second = bend_marks(
        table, trim_allowance=30.0, outer_diameter=14.0, take_up=1.05
    )
    assert (first.start, second.start) == pytest.approx((70.0, 120.0 + used))
    assert first.centre == pytest.approx(70.0 + used / 2.0)
    assert second.end == pytest.approx(120.0 + 2.0 * used)
    assert second.heated_to == pytest.approx(134.0 + 2.0 * used)
    whole = blank_length(table, trim_allowance=30.0, take_up=1.05)
    assert whole == pytest.approx(210.0 + 2.0 * used)
