"""Worked offsets from instruction sheets and guides of hand benders. Inches.

Makers are not named. The sheets take 1/4 of the set as shrink at 30 degrees, where it
is 0.268; the tolerances are that difference.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.setting_out import offset_advance, offset_travel
from tests.published.trade_words import shrink

THIRTY = math.radians(30)


def test_six_inch_offset() -> None:
    """Instruction sheet: 6 in at 30 degrees, marks 12 apart, shrink 1.5."""
    assert offset_travel(6, THIRTY) == pytest.approx(12, abs=1e-12)
    assert shrink(6, THIRTY) == pytest.approx(1.5, rel=0.072)
    assert shrink(6, THIRTY) == pytest.approx(1.6077, abs=1e-4)


def test_four_inch_offset_before_an_obstacle() -> None:
    """Bender guide: 4 in at 30 degrees, 30 to the obstacle, marks at 31 and 39."""
    first = 30 + shrink(4, THIRTY)
    second = first + offset_travel(4, THIRTY)
    assert (first, second) == pytest.approx((31, 39), abs=0.072)
    assert (first, second) == pytest.approx((31.07, 39.07), abs=0.005)


def test_multiplier_at_twenty_five_degrees() -> None:
    """Trade page of cosecants: 15 in, 2.37, 35.55."""
    assert offset_travel(15, math.radians(25)) == pytest.approx(35.55, abs=0.06)
    assert offset_travel(15, math.radians(25)) == pytest.approx(35.493, abs=0.0005)


def test_run_from_travel() -> None:
    """Exam page for a state's pipefitters: travel 40 at 45 degrees runs 28.3."""
    forty_five = math.radians(45)
    set_off = 40 / offset_travel(1.0, forty_five)
    assert offset_advance(set_off, forty_five) == pytest.approx(28.3, abs=0.05)
    assert offset_advance(set_off, forty_five) == pytest.approx(28.284, abs=0.0005)
