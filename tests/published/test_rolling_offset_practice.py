"""The practice question of plumbinghelp.com's page on rolling offsets. Inches.

Rise 8, roll 12; line A is 42 long up to the station of the second vertex, line C 61
from the station of the first. The true offset of 14.42 is printed on hunker.com as well.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.setting_out import (
    offset_advance,
    offset_travel,
    take_out,
)
from tests.builders.tubes import bent, laid_along_x

RISE, ROLL, A_LINE, C_LINE = 8.0, 12.0, 42.0, 61.0
RADIUS = 2.0  # of the bends; between vertices it makes no difference

# bend angle, setback, then the pieces from vertex to vertex: A, B (the travel), C
PRINTED = [(22.5, 34.81, 7.19, 37.68, 26.19), (45, 14.42, 27.58, 20.39, 46.58)]
LAST_PLACE = 0.02


@pytest.mark.parametrize(("angle_deg", "setback", "a", "b", "c"), PRINTED)
def test_pieces_by_formula(
    angle_deg: float, setback: float, a: float, b: float, c: float
) -> None:
    angle, set_off = math.radians(angle_deg), math.hypot(RISE, ROLL)
    advance = offset_advance(set_off, angle)
    assert advance == pytest.approx(setback, abs=LAST_PLACE)
    assert A_LINE - advance == pytest.approx(a, abs=LAST_PLACE)
    assert C_LINE - advance == pytest.approx(c, abs=LAST_PLACE)
    assert offset_travel(set_off, angle) == pytest.approx(b, abs=LAST_PLACE)


@pytest.mark.parametrize(("angle_deg", "setback", "a", "b", "c"), PRINTED)
def test_bend_table_of_the_tube_in_space(
    angle_deg: float, setback: float, a: float, b: float, c: float
) -> None:
    first = A_LINE - math.hypot(RISE, ROLL) / math.tan(math.radians(angle_deg))
    tube = Centreline(
        vertices=(
            (0.0, 0.0, 0.0),
            (first, 0.0, 0.0),
            (A_LINE, ROLL, RISE),
            (first + C_LINE, ROLL, RISE),
        ),
        radius=RADIUS,
    )
    table = bend_table(tube)
    out = take_out(RADIUS, math.radians(angle_deg))
    assert [bend.angle_deg for bend in table.bends] == pytest.approx([angle_deg] * 2)
    assert table.bends[0].straight + out == pytest.approx(a, abs=LAST_PLACE)
    assert table.bends[1].straight + 2 * out == pytest.approx(b, abs=LAST_PLACE)
    travel = table.bends[1].straight + 2 * out
    set_off = travel / offset_travel(1.0, math.radians(angle_deg))
    assert set_off == pytest.approx(14.42, abs=0.005)
    assert table.closing_straight + out == pytest.approx(c, abs=LAST_PLACE)
    # A rolling offset lies in one plane, however that plane is rolled.
    assert table.bends[1].rotation_deg == pytest.approx(180.0, abs=1e-9)


@pytest.mark.parametrize(("angle_deg", "setback", "a", "b", "c"), PRINTED)
def test_the_printed_pieces_laid_forward_meet_the_second_line(
    angle_deg: float, setback: float, a: float, b: float, c: float
) -> None:
    out = RADIUS * math.tan(math.radians(angle_deg) / 2)
    table = bent(
        [(a - out, 0.0, angle_deg), (b - 2 * out, 180.0, angle_deg)],
        closing=c - out,
        radius=RADIUS,
    )
    tube = laid_along_x(table, towards=(0.0, ROLL, RISE))
    assert tube.vertices[2] == pytest.approx((A_LINE, ROLL, RISE), abs=LAST_PLACE)
    assert tube.vertices[3] == pytest.approx((a + C_LINE, ROLL, RISE), abs=LAST_PLACE)
