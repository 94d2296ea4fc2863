"""A web article that works a rolling offset in steps: offset 14, rise 10, over .707.

The steps are printed, the numbers between them worked out. Inches.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.setting_out import offset_travel, take_out


def test_as_a_tube() -> None:
    advance = math.sqrt(14**2 + 10**2)
    tube = Centreline(
        vertices=(
            (0.0, 0.0, 0.0),
            (0.0, 0.0, 30.0),
            (14.0, 10.0, 30.0 + advance),
            (14.0, 10.0, 60.0 + advance),
        ),
        radius=4.0,
    )
    bends = bend_table(tube).bends
    travel = bends[1].straight + 2 * take_out(4.0, math.radians(45))
    assert travel == pytest.approx(24.331, abs=0.001)
    # The article's steps: the true offset, and over .707 in place of sin 45.
    set_off = travel / offset_travel(1.0, math.radians(45))
    assert set_off == pytest.approx(17.2047, abs=1e-4)
    assert set_off / 0.707 == pytest.approx(24.335, abs=0.001)
    assert bends[1].rotation_deg == pytest.approx(180, abs=1e-9)
