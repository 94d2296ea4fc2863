"""A bent wire whose poster could not get its rotation: freemathhelp.com, thread 111090.

Posted in May 2018 with the four points alone; the answers are worked out: legs by
Pythagoras, and a flat Z, whose rotation is the half turn.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.planes import PlaneStretch, plane_stretches
from loopsolver.tube.setting_out import take_out

WIRE = Centreline(
    vertices=(
        (38.5202, -14.0264, 0.0),
        (45.3142, -14.0264, 0.0),
        (45.3142, -17.5214, 0.9654),
        (48.6822, -17.5214, 0.9654),
    ),
    radius=0.5,
)


def test_table() -> None:
    table = bend_table(WIRE)
    out = take_out(0.5, math.pi / 2)
    legs = (
        table.bends[0].straight + out,
        table.bends[1].straight + 2 * out,
        table.closing_straight + out,
    )
    assert legs == pytest.approx((6.7940, 3.62588, 3.3680), abs=5e-6)
    assert [bend.angle_deg for bend in table.bends] == pytest.approx([90, 90])
    assert table.bends[1].rotation_deg == 180.0


def test_one_plane() -> None:
    assert plane_stretches(bend_table(WIRE)) == (
        PlaneStretch(first=1, last=2, turn_deg=0.0),
    )
