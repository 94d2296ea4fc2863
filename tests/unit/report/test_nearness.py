"""Tubes that come too near to each other, in words."""

from __future__ import annotations

from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.plan import Touch
from loopsolver.report.nearness import touch_remark, within_or_into


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
