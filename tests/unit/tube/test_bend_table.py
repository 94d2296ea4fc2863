"""Bend tables against hand arithmetic and against a count of all square tubes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.errors import GeometryError
from loopsolver.geometry.vectors import point
from loopsolver.tube.bend_table import (
    Bend,
    BendTable,
    bend_table,
    lay_forward,
)
from loopsolver.tube.centreline import Centreline, developed_length
from tests.builders.tubes import bent
from tests.unit.tube.turned_round import reversed_table

Z_TUBE = Centreline(
    vertices=((0, 0, 0), (0, -60, 0), (90, -60, 0), (90, -200, 0)), radius=28.0
)
SIX = [sign * axis for axis in np.eye(3, dtype=int) for sign in (1, -1)]


def test_table_of_a_flat_z() -> None:
    """Straights by hand: 60 - 28, 90 - 2 x 28, 140 - 28."""
    assert bend_table(Z_TUBE) == BendTable(
        bends=(
            Bend(straight=32.0, rotation_deg=0.0, angle_deg=90.0),
            Bend(straight=34.0, rotation_deg=180.0, angle_deg=90.0),
        ),
        closing_straight=112.0,
        radius=28.0,
    )


def test_length_of_a_table() -> None:
    assert bend_table(Z_TUBE).length == pytest.approx(developed_length(Z_TUBE))
    assert bend_table(Z_TUBE).straights == (32.0, 34.0, 112.0)


def test_tube_without_bends() -> None:
    tube = Centreline(vertices=((0, 0, 0), (0, 0, 75)), radius=28.0)
    table = bend_table(tube)
    assert table == BendTable(bends=(), closing_straight=75.0, radius=28.0)
    laid = lay_forward(
        table, start=(1, 2, 3), direction=(0, 2, 0), first_bend_towards=(0, 2, 0)
    )
    assert laid.vertices == ((1, 2, 3), (1, 77, 3))


def test_every_square_tube_of_three_bends_turns_by_exact_quarters() -> None:
    """Brute force in whole numbers: all 6 x 4 x 4 x 4 sequences of directions.

    The rotation about leg b from a x b to b x c is a multiple of 90 that integer
    products tell exactly.
    """
    quarter = {(1, 0): 0.0, (0, 1): 90.0, (-1, 0): 180.0, (0, -1): -90.0}
    seen = 0
    for first in SIX:
        turns = [[first]]
        for _ in range(3):
            turns = [[*way, d] for way in turns for d in SIX if not d @ way[-1]]
        for way in turns:
            corners = [np.zeros(3, dtype=int)]
            for step, direction in zip((70, 65, 80, 90), way, strict=True):
                corners.append(corners[-1] + step * direction)
            vertices = tuple(point(corner) for corner in corners)
            table = bend_table(Centreline(vertices=vertices, radius=28.0))
            expected = [0.0]
            for a, b, c in zip(way, way[1:], way[2:], strict=False):
                m, n = np.cross(a, b), np.cross(b, c)
                expected.append(quarter[int(m @ n), int(np.cross(m, n) @ b)])
            assert [bend.rotation_deg for bend in table.bends] == expected
            assert [bend.angle_deg for bend in table.bends] == [90.0] * 3
            assert all(
                math.copysign(1, bend.rotation_deg) > 0
                for bend in table.bends
                if bend.rotation_deg == 0
            )
            seen += 1
    assert seen == 6 * 4**3


def test_small_rotations_are_kept() -> None:
    """A hundredth of a degree out of plane shows as that, not as in plane."""
    tilt = math.radians(0.01)
    vertices = (
        (0.0, 0.0, 0.0),
        (100.0, 0.0, 0.0),
        (100.0, 100.0, 0.0),
        (0.0, 100.0, 100.0 * math.tan(tilt)),
    )
    table = bend_table(Centreline(vertices=vertices, radius=20.0))
    assert abs(table.bends[1].rotation_deg) == pytest.approx(0.01, rel=1e-9)


def test_rotation_just_short_of_a_half_turn_keeps_its_sign() -> None:
    tilt = math.radians(0.01)
    found = []
    for rise in (math.tan(tilt), -math.tan(tilt)):
        vertices = (
            (0.0, 0.0, 0.0),
            (100.0, 0.0, 0.0),
            (100.0, 100.0, 0.0),
            (200.0, 100.0, 100.0 * rise),
        )
        table = bend_table(Centreline(vertices=vertices, radius=20.0))
        found.append(table.bends[1].rotation_deg)
    assert sorted(found) == pytest.approx([-179.99, 179.99], abs=1e-9)


def test_laying_the_flat_z_forward() -> None:
    laid = lay_forward(
        bend_table(Z_TUBE),
        start=(0, 0, 0),
        direction=(0, -3, 0),
        first_bend_towards=(5, -17, 0),
    )
    assert laid.radius == 28.0
    assert np.array(laid.vertices) == pytest.approx(np.array(Z_TUBE.vertices))


def test_rotation_in_the_first_row_turns_the_side() -> None:
    """A quarter turn right-handed about +z takes the side +x to +y."""
    table = bent([(30.0, 90.0, 90.0)], closing=30.0, radius=20.0)
    laid = lay_forward(
        table, start=(0, 0, 0), direction=(0, 0, 1), first_bend_towards=(1, 0, 0)
    )
    assert laid.vertices[-1] == pytest.approx((0, 50, 50), abs=1e-12)


def test_side_along_the_tube_is_refused() -> None:
    with pytest.raises(GeometryError, match="give a side that is across it"):
        lay_forward(
            bend_table(Z_TUBE),
            start=(0, 0, 0),
            direction=(0, -1, 0),
            first_bend_towards=(0, 2, 0),
        )


@pytest.mark.parametrize("angle_deg", [0.0, -30.0, 180.0, 200.0, math.nan])
def test_row_that_is_no_bend_is_refused(angle_deg: float) -> None:
    rows = [(30.0, 0.0, 90.0), (30.0, 0.0, angle_deg)]
    table = bent(rows, closing=30.0, radius=20.0)
    with pytest.raises(GeometryError, match="bend 2 is of"):
        lay_forward(
            table, start=(0, 0, 0), direction=(0, 0, 1), first_bend_towards=(1, 0, 0)
        )


def test_straight_that_leaves_no_leg_is_refused() -> None:
    table = bent([(30.0, 0.0, 90.0)], closing=-20.0, radius=20.0)
    with pytest.raises(
        GeometryError, match=r"straight 2 of -20\.0 mm leaves its leg no"
    ):
        lay_forward(
            table, start=(0, 0, 0), direction=(0, 0, 1), first_bend_towards=(1, 0, 0)
        )


def test_table_from_the_other_end_by_hand() -> None:
    there = [(10.0, 0.0, 30.0), (20.0, 55.0, 45.0), (40.0, -120.0, 90.0)]
    table = bent(there, closing=80.0, radius=14.0)
    wanted = ((80.0, 0.0, 90.0), (40.0, -120.0, 45.0), (20.0, 55.0, 30.0))
    line = lay_forward(
        table, start=(0, 0, 0), direction=(0, 0, 1), first_bend_towards=(1, 0, 0)
    )
    back = bend_table(replace(line, vertices=line.vertices[::-1]))
    for bend, row in zip(back.bends, wanted, strict=True):
        found = (bend.straight, bend.rotation_deg, bend.angle_deg)
        assert found == pytest.approx(row, abs=1e-9)
    assert (back.closing_straight, back.radius) == pytest.approx((10.0, 14.0))
    # What other tests hold tables against.
    turned = reversed_table(table)
    rows = [(one.straight, one.rotation_deg, one.angle_deg) for one in turned.bends]
    assert (tuple(rows), turned.closing_straight) == (wanted, 10.0)


def test_half_turn_by_rounding_reads_plus() -> None:
    """A hundred tilted flat Zs: rounding falls to both sides, the sign does not."""
    rng = np.random.default_rng(7)
    flat = np.array([[0, 0, 0], [61.7, 0, 0], [61.7, 83.1, 0], [150.3, 83.1, 0]])
    for _ in range(100):
        basis, _ = np.linalg.qr(rng.normal(size=(3, 3)))
        turned = flat @ basis + rng.uniform(-400, 400, 3)
        vertices = tuple(tuple(row) for row in turned.tolist())
        found = bend_table(Centreline(vertices=vertices, radius=28.0)).bends[1]
        assert found.rotation_deg == pytest.approx(180.0, abs=1e-9)
