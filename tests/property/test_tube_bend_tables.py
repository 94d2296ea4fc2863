"""What holds for every bend table, with scipy's rotations as a second opinion."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from loopsolver.tube.bend_table import (
    Bend,
    BendTable,
    bend_table,
    lay_forward,
)
from loopsolver.tube.centreline import Centreline, developed_length, legs
from tests.unit.tube.turned_round import reversed_table

Array = NDArray[np.float64]
STEADY = settings(derandomize=True, deadline=None, max_examples=80)

lengths = st.floats(min_value=0.0, max_value=300.0)
angles = st.one_of(
    st.sampled_from([22.5, 45.0, 90.0]), st.floats(min_value=2.0, max_value=165.0)
)
turns = st.one_of(
    st.sampled_from([0.0, 90.0, -90.0, 180.0]),
    st.floats(min_value=-179.9, max_value=180.0),
)
coordinates = st.floats(min_value=-500.0, max_value=500.0)


@st.composite
def tables(draw: st.DrawFn, least_bends: int = 0) -> BendTable:
    """Return a table of up to six bends; end straights are never nothing."""
    count = draw(st.integers(min_value=least_bends, max_value=6))
    bends = [
        Bend(
            straight=draw(lengths) + (1.0 if number == 0 else 0.0),
            rotation_deg=0.0 if number == 0 else draw(turns),
            angle_deg=draw(angles),
        )
        for number in range(count)
    ]
    return BendTable(
        bends=tuple(bends),
        closing_straight=draw(lengths) + 1.0,
        radius=draw(st.floats(min_value=5.0, max_value=60.0)),
    )


@st.composite
def poses(draw: st.DrawFn) -> tuple[Array, Rotation]:
    """Return a start and an orientation: columns are travel, side, normal."""
    where = np.array([draw(coordinates) for _ in range(3)])
    seed = draw(st.integers(min_value=0, max_value=2**32 - 1))
    return where, Rotation.random(rng=seed)


def laid_by_scipy(table: BendTable, where: Array, pose: Rotation) -> Array:
    """Return the vertices of a table, laid by turning a moving frame. [(n, 3), mm]

    In its own frame the tube travels along x and bends towards y: a rotation is a turn
    about own x, a bend a turn about own z.
    """
    corners = [where]
    before = 0.0
    for bend in table.bends:
        out = table.radius * math.tan(math.radians(bend.angle_deg) / 2)
        step = before + bend.straight + out
        corners.append(corners[-1] + pose.apply([step, 0.0, 0.0]))
        pose = pose * Rotation.from_euler("x", bend.rotation_deg, degrees=True)
        pose = pose * Rotation.from_euler("z", bend.angle_deg, degrees=True)
        before = out
    step = before + table.closing_straight
    corners.append(corners[-1] + pose.apply([step, 0.0, 0.0]))
    return np.array(corners)


def centreline_of(corners: Array, radius: float) -> Centreline:
    return Centreline(
        vertices=tuple(tuple(row) for row in corners.tolist()), radius=radius
    )


def assert_same(found: BendTable, wanted: BendTable, *, within: float) -> None:
    """Assert that two tables agree, rotations modulo a full turn."""
    assert len(found.bends) == len(wanted.bends)
    assert found.straights == pytest.approx(wanted.straights, abs=within)
    for a, b in zip(found.bends, wanted.bends, strict=True):
        assert a.angle_deg == pytest.approx(b.angle_deg, abs=within)
        apart = (a.rotation_deg - b.rotation_deg + 180.0) % 360.0 - 180.0
        assert abs(apart) <= within
        assert -180.0 < a.rotation_deg <= 180.0


@STEADY
@given(tables(), poses())
def test_scipy_lays_the_same_tube(
    table: BendTable, pose: tuple[Array, Rotation]
) -> None:
    where, turn = pose
    travel, side, _ = turn.as_matrix().T
    laid = lay_forward(
        table,
        start=tuple(where.tolist()),
        direction=tuple(travel.tolist()),
        first_bend_towards=tuple((side + 0.7 * travel).tolist()),
    )
    assert np.array(laid.vertices) == pytest.approx(
        laid_by_scipy(table, where, turn), abs=1e-9
    )


@STEADY
@given(tables(), poses())
def test_table_of_what_scipy_laid(
    table: BendTable, pose: tuple[Array, Rotation]
) -> None:
    tube = centreline_of(laid_by_scipy(table, *pose), table.radius)
    assert_same(bend_table(tube), table, within=1e-9)


@STEADY
@given(tables(least_bends=1), poses())
def test_vertices_to_table_to_vertices(
    table: BendTable, pose: tuple[Array, Rotation]
) -> None:
    corners = laid_by_scipy(table, *pose)
    tube = centreline_of(corners, table.radius)
    first, second = legs(tube).directions[:2]
    laid = lay_forward(
        bend_table(tube),
        start=tube.vertices[0],
        direction=first,
        first_bend_towards=second,
    )
    assert np.array(laid.vertices) == pytest.approx(corners, abs=1e-9)


@STEADY
@given(tables(), poses(), poses())
def test_moving_the_tube_leaves_its_table_alone(
    table: BendTable, pose: tuple[Array, Rotation], motion: tuple[Array, Rotation]
) -> None:
    corners = laid_by_scipy(table, *pose)
    by, turn = motion
    moved = turn.apply(corners) + by
    assert_same(
        bend_table(centreline_of(moved, table.radius)),
        bend_table(centreline_of(corners, table.radius)),
        within=1e-9,
    )


@STEADY
@given(tables(), poses(), st.integers(min_value=0, max_value=2**32 - 1))
def test_a_mirror_flips_rotations_and_nothing_else(
    table: BendTable, pose: tuple[Array, Rotation], seed: int
) -> None:
    corners = laid_by_scipy(table, *pose)
    normal = Rotation.random(rng=seed).apply([1.0, 0.0, 0.0])
    mirrored = corners - 2.0 * np.outer(corners @ normal, normal)
    flipped = BendTable(
        bends=tuple(
            Bend(
                straight=bend.straight,
                rotation_deg=-bend.rotation_deg,
                angle_deg=bend.angle_deg,
            )
            for bend in table.bends
        ),
        closing_straight=table.closing_straight,
        radius=table.radius,
    )
    assert_same(bend_table(centreline_of(mirrored, table.radius)), flipped, within=1e-9)


@STEADY
@given(tables(), poses())
def test_reversal_reverses_the_lists_and_keeps_rotation_signs(
    table: BendTable, pose: tuple[Array, Rotation]
) -> None:
    corners = laid_by_scipy(table, *pose)
    back = bend_table(centreline_of(corners[::-1], table.radius))
    assert_same(back, reversed_table(table), within=1e-9)
    assert [bend.angle_deg for bend in back.bends] == pytest.approx(
        [bend.angle_deg for bend in table.bends][::-1], abs=1e-9
    )
    assert back.straights == pytest.approx(table.straights[::-1], abs=1e-9)


@STEADY
@given(tables(), poses())
def test_table_and_centre_line_have_one_length(
    table: BendTable, pose: tuple[Array, Rotation]
) -> None:
    tube = centreline_of(laid_by_scipy(table, *pose), table.radius)
    by_hand = sum(table.straights) + table.radius * math.radians(
        sum(bend.angle_deg for bend in table.bends)
    )
    assert table.length == pytest.approx(by_hand, abs=1e-9)
    assert developed_length(tube) == pytest.approx(by_hand, abs=1e-9)
