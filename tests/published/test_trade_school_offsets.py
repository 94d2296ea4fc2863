"""A trade school's course preview (schoolcraftpublishing.com), lesson 1. Inches."""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline, developed_length
from loopsolver.tube.setting_out import offset_travel, take_out

ANGLE = math.radians(45)


def test_offset_with_fittings() -> None:
    """Paras 1.40-1.41: offset 12, two elbows of 2, threads 3/4 deep.

    Printed with 1.414: travel 16.968, less 4 is 12.968, and 14.468 with the threads:
    the straight that a pipe of those ends comes to.
    """
    travel = offset_travel(12, ANGLE)
    assert travel == pytest.approx(16.968, abs=0.003)
    for take_off, printed in ((2.0, 12.968), (2.0 - 0.75, 14.468)):
        ends = ((take_off, 0.0, 0.0), (travel - take_off, 0.0, 0.0))
        pipe = Centreline(vertices=ends, radius=1.0)
        assert developed_length(pipe) == pytest.approx(printed, abs=0.003)


def test_rolling_offset_as_a_tube() -> None:
    """Paras 1.42-1.43: offset 10, roll 12, 45 degrees.

    The answer stands on a page that was not seen: square root of 244, times that of 2.
    """
    tube = Centreline(
        vertices=(
            (0.0, 0.0, 0.0),
            (30.0, 0.0, 0.0),
            (30.0 + math.sqrt(244), 12.0, 10.0),
            (60.0 + math.sqrt(244), 12.0, 10.0),
        ),
        radius=4.0,
    )
    table = bend_table(tube)
    travel = table.bends[1].straight + 2 * take_out(4.0, ANGLE)
    assert travel == pytest.approx(22.0907, abs=1e-4)
    assert table.bends[0].angle_deg == pytest.approx(45)
    assert table.bends[1].rotation_deg == pytest.approx(180, abs=1e-9)
