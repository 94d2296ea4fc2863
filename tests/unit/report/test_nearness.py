"""Tubes that come too near to each other, in words."""

from __future__ import annotations

from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.plan import Touch
from loopsolver.report.nearness import (
    too_near,
    touch_remark,
    touch_words,
    within_or_into,
)
from loopsolver.routing.diagnosis.no_route import Shortfall


def test_touching_tubes_with_by_how_much_where_and_what_helps() -> None:
    touch = Touch(first="a to b", second="c to d", gap=2.9, at=(10.0, 20.0, 30.0))
    words = touch_remark(touch, [("c to d", 2)], clearance=3.0, lengths=MILLIMETRES)
    assert words == (
        "'a to b' and 'c to d' come within 2.90 mm of each other at x, y, z = 10.0, "
        "20.0, 30.0 mm, 0.10 mm less than the clearance of 3.0 mm; candidate 2 of "
        "'c to d' would keep clear of all chosen tubes"
    )


def test_tubes_in_each_other() -> None:
    touch = Touch(first="a", second="b", gap=-4.0, at=(0.0, 0.0, 0.0))
    words = touch_remark(touch, [], clearance=3.0, lengths=MILLIMETRES)
    assert "'a' and 'b' run into each other by 4.00 mm" in words
    assert words.endswith("no other candidate of either alone keeps clear of all tubes")


def test_what_runs_into_a_thing_does_not_come_within_it() -> None:
    """2.54 mm are a tenth of an inch."""
    assert (
        within_or_into(2.54, "the pump", text=INCHES.text)
        == "comes within 0.100 in (2.5 mm) of the pump"
    )
    assert (
        within_or_into(0.0, "it", text=MILLIMETRES.text) == "comes within 0.0 mm of it"
    )
    assert within_or_into(-4.0, "it", text=MILLIMETRES.text) == "runs 4.0 mm into it"


def test_several_ways_out_are_all_told() -> None:
    touch = Touch(first="a", second="b", gap=1.0, at=(0.0, 0.0, 0.0))
    words = touch_remark(
        touch, [("a", 3), ("b", 2)], clearance=3.0, lengths=MILLIMETRES
    )
    assert words.endswith(
        "; candidate 3 of 'a' or candidate 2 of 'b' would keep clear of all chosen tubes"
    )


def test_tubes_that_just_touch_run_into_each_other_by_nothing() -> None:
    """25.4 mm are an inch, 3.175 mm an eighth."""
    touch = Touch(first="a", second="b", gap=0.0, at=(25.4, 0.0, -50.8))
    assert touch_words(touch, clearance=3.175, lengths=INCHES) == (
        "'a' and 'b' run into each other by 0.0000 in (0.00 mm) at x, y, z = 1.000, "
        "0.000, -2.000 in, against a clearance of 0.125 in (3.2 mm)"
    )


def test_what_is_too_near_says_by_how_much_to_what() -> None:
    near = Shortfall(name="the card", by=2.5)
    assert too_near(near, MILLIMETRES) == "2.5 mm too near to the card"
