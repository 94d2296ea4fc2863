"""A rolling offset from elevations: a steamfitter apprentices' page (January 2011).

Inches. Elevations 47 1/2 and 16 7/8, centre lines at 50 and 32 3/8, 45 degrees. The
example's last subtraction is wrong there (50 less 6 given as 46); nothing here uses it.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.setting_out import offset_travel, take_out

RISE = (47 + 1 / 2) - (16 + 7 / 8)
ROLL = 50 - (32 + 3 / 8)
ANGLE = math.radians(45)


def test_rise_and_roll() -> None:
    assert RISE == 30 + 5 / 8
    assert ROLL == 17 + 5 / 8


def test_travel_of_the_rounded_offset() -> None:
    """The page rounds to 35 3/8 first and prints 50.02; unrounded it is 49.97."""
    assert offset_travel(35 + 3 / 8, ANGLE) == pytest.approx(50.02, abs=0.01)
    assert offset_travel(35.33456, ANGLE) == pytest.approx(49.9706, abs=1e-4)


def test_tube_between_the_measured_lines() -> None:
    start_line = (50.0, 47 + 1 / 2)
    end_line = (32 + 3 / 8, 16 + 7 / 8)
    advance = 35.33456
    tube = Centreline(
        vertices=(
            (0.0, *start_line),
            (20.0, *start_line),
            (20.0 + advance, *end_line),
            (40.0 + advance, *end_line),
        ),
        radius=3.0,
    )
    table = bend_table(tube)
    assert [bend.angle_deg for bend in table.bends] == pytest.approx([45, 45], abs=1e-5)
    travel = table.bends[1].straight + 2 * take_out(3.0, ANGLE)
    assert travel == pytest.approx(49.9706, abs=1e-4)
    # The true offset that the page prints, out of the bend table.
    assert travel / offset_travel(1.0, ANGLE) == pytest.approx(35.33456, abs=1e-4)
    assert table.bends[1].rotation_deg == pytest.approx(180, abs=1e-9)
