"""What is doubtful at the bench, held to figures worked out by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from loopsolver.tube.bench_doubts import (
    BenchDoubt,
    FineTurn,
    HeatInBend,
    HeatInFitting,
    NoBend,
    NothingToTrim,
    ShortHold,
    ShortStraight,
    bench_doubts,
    cold_ends,
)
from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.stock import Material, Tube
from tests.builders import scenes
from tests.builders.tubes import bent

OUTER, RADIUS, DEPTH = 14.0, 28.0, 12.0
REACH = OUTER
"""How far the heat goes into a straight: one diameter, as the marks have it."""


def tube(material: Material = "acrylic", grip: float | None = None) -> Tube:
    return scenes.tube(material=material, trim_allowance=40.0, grip=grip)


def table(*straights: float, turns: Sequence[float] = ()) -> BendTable:
    """Square bends between those straights, turned so before the second and later."""
    *before, closing = straights
    rotations = [0.0, *turns, *[0.0] * len(before)][: len(before)]
    return bent(
        zip(before, rotations, [90.0] * len(before), strict=True), closing=closing
    )


def doubts(
    of: BendTable, *, stock: Tube | None = None, trim: float = 40.0
) -> tuple[BenchDoubt, ...]:
    return bench_doubts(
        of, tube=stock or tube(), trim_allowance=trim, depths=(DEPTH, DEPTH)
    )


def test_roomy_tubes_are_in_no_doubt() -> None:
    assert doubts(table(60.0, 40.0, 60.0)) == ()
    assert doubts(table(60.0, 40.0, 60.0), stock=tube(grip=25.0)) == ()


def test_a_straight_tube_is_in_no_doubt_but_that_nothing_gives_way() -> None:
    """MIL-H-8891A, 3.11.4.5: no straight tube between two rigid connections."""
    assert doubts(table(5.0), stock=tube(grip=50.0), trim=0.0) == (NoBend(),)


def test_straights_shorter_than_the_grip_are_named_with_the_trim_at_the_ends() -> None:
    """Of 30 + 10, 20, 35, 30 + 1: against 35 mm the second and the last are short."""
    found = doubts(table(10.0, 20.0, 35.0, 1.0), stock=tube("copper", 35.0), trim=30.0)
    assert found == (
        ShortStraight(number=2, count=4, length=20.0, grip=35.0),
        ShortStraight(number=4, count=4, length=31.0, grip=35.0),
    )


def test_a_grip_that_is_not_stated_is_not_asked() -> None:
    assert doubts(table(10.0, 1.0, 10.0), stock=tube("copper"), trim=30.0) == ()


def test_ends_of_which_less_than_40_mm_stay_cold_say_what_trim_would_do() -> None:
    """Trim and straight less the heat: 25 + 20 - 14 = 31 and 25 + 60 - 14 = 71.

    40 mm cold take 40 + 14 - 20 = 34 mm of trim.
    """
    of = table(20.0, 60.0, 60.0)
    assert cold_ends(of, trim_allowance=25.0, outer_diameter=OUTER) == (31.0, 71.0)
    (found,) = [one for one in doubts(of, trim=25.0) if isinstance(one, ShortHold)]
    assert found == ShortHold(end=0, cold=31.0, trim=34.0)
    assert not [one for one in doubts(of, trim=34.0) if isinstance(one, ShortHold)]
    # Where the heat would reach beyond the tube, nothing is cold.
    first, _ = cold_ends(table(2.0, 60.0), trim_allowance=5.0, outer_diameter=OUTER)
    assert first == 0.0


def test_both_ends_ask_for_the_same_trim() -> None:
    """The shorter straight decides: 40 + 14 - 10.5 = 43.5, so 44 whole millimetres."""
    found = doubts(table(20.0, 60.0, 10.5), trim=20.0)
    trims = [(one.end, one.trim) for one in found if isinstance(one, ShortHold)]
    assert trims == [(0, 44.0), (1, 44.0)]


@pytest.mark.parametrize(
    ("material", "end", "trim"),
    # Long straights need nothing more to hold, so the usual trim: 40 hot, 30 copper.
    # With 10 mm before the bend it takes 40 + 14 - 10 = 44 mm.
    [
        ("acrylic", 200.0, 40.0),
        ("petg", 10.0, 44.0),
        ("copper", 200.0, 30.0),
        ("copper", 10.0, 30.0),
    ],
)
def test_no_trim_is_always_a_doubt(material: Material, end: float, trim: float) -> None:
    found = doubts(table(end, 60.0, 200.0), stock=tube(material), trim=0.0)
    assert [one for one in found if isinstance(one, NothingToTrim)] == [
        NothingToTrim(trim=trim)
    ]
    assert not any(isinstance(one, ShortHold) for one in found)


def assert_heat_in_fitting(
    found: object, *, end: int, bend: int, length: float
) -> None:
    assert isinstance(found, HeatInFitting)
    assert (found.end, found.bend) == (end, bend)
    assert found.length == pytest.approx(length)


def test_heat_in_what_a_fitting_grips() -> None:
    """12 mm gripped, 14 mm of heat: a straight of 17 mm has 9 mm of both, 26 has none."""
    found = doubts(table(17.0, 60.0, 26.0))
    assert_heat_in_fitting(*found, end=0, bend=1, length=9.0)
    found = doubts(table(26.0, 60.0, 60.0, 5.0))
    # 5 mm of straight: all 12 mm are gripped, 5 of them straight, 7 the bend has taken;
    # the heat covers them all.
    assert_heat_in_fitting(found[-1], end=1, bend=3, length=12.0)
    assert doubts(table(17.0, 60.0, 17.0), stock=tube("copper")) == ()


def test_heat_in_a_bend_that_is_done() -> None:
    """14 mm of heat over a straight of 4 mm reach 10 mm into the bend before."""
    found = doubts(table(60.0, 4.0, 60.0, 14.0, 60.0))
    (heat,) = found
    assert isinstance(heat, HeatInBend)
    assert (heat.bend, heat.done) == (2, 1)
    assert heat.length == pytest.approx(10.0)
    assert doubts(table(60.0, 4.0, 60.0), stock=tube("copper")) == ()


@pytest.mark.parametrize("turn", [1.9, -0.1, 178.5, -178.1])
def test_a_turn_that_no_hand_can_set_is_named_with_what_leaving_it_out_costs(
    turn: float,
) -> None:
    """Bends 1 and 2 square: leaving the turn out swings what comes after bend 2.

    The last straight stands square to the axis of the turn, 40 + 28 mm long from it,
    so its end moves along a chord: 2 x 68 sin(turn / 2).
    """
    (found,) = doubts(table(60.0, 60.0, 40.0, turns=[turn]))
    off = math.remainder(turn, 180.0)
    assert isinstance(found, FineTurn)
    assert found.bend == 2
    assert found.turn_deg == pytest.approx(off)
    chord = 2.0 * (40.0 + RADIUS) * math.sin(abs(math.radians(off)) / 2.0)
    assert found.miss == pytest.approx(chord)
    assert np.isfinite(found.miss)


@pytest.mark.parametrize("turn", [0.0, 0.04, 180.0, -179.97, 2.0, -2.0, 178.0, 45.0])
def test_turns_of_none_and_of_two_degrees_and_more_are_in_no_doubt(turn: float) -> None:
    assert doubts(table(60.0, 60.0, 40.0, turns=[turn])) == ()
