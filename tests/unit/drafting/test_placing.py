"""What is taken on the drawing board and what is free, one distance at a time."""

from __future__ import annotations

import math

import pytest

from loopsolver.drafting.placing import NEAR_JOINT, Ground

BOX = (10.0, 20.0, 30.0, 28.0)
"""20 mm wide and 8 mm high, its middle at (20, 24)."""


def beside(away: float, *, side: int) -> tuple[float, float]:
    """Return a place so far from the box on its left, below, right or above."""
    return [
        (10.0 - away, 24.0),
        (20.0, 20.0 - away),
        (30.0 + away, 24.0),
        (20.0, 28.0 + away),
    ][side]


@pytest.mark.parametrize("side", range(4))
@pytest.mark.parametrize(("away", "free"), [(1.41, True), (1.39, False), (-1.0, False)])
def test_a_line_keeps_its_half_width_and_a_mm_free(
    side: int, away: float, free: bool
) -> None:
    """0.4 mm of half width and 1 mm to spare."""
    ground = Ground()
    place = beside(away, side=side)
    ground.take_line(place, place)
    assert ground.is_free(BOX) == free


@pytest.mark.parametrize(("away", "free"), [(2.6, True), (2.4, False)])
def test_a_corner_is_as_near_as_it_is(away: float, free: bool) -> None:
    """Not by x or by y alone: 3-4-5 triangles beyond the upper right corner."""
    ground = Ground()
    place = (30.0 + 0.6 * away, 28.0 + 0.8 * away)
    ground.take_line(place, place, half_width=2.0)
    assert ground.is_free(BOX, spare=0.5) == free


def test_a_long_line_is_taken_all_along() -> None:
    """No gap between its beads lets a box of 1 mm through."""
    ground = Ground()
    ground.take_line((0.0, 0.0), (60.0, 45.0))
    for step in range(301):
        x, y = 60.0 * step / 300, 45.0 * step / 300
        assert not ground.is_free((x - 0.5, y - 0.5, x + 0.5, y + 0.5), spare=0.2)
    for x, y in ((-1.5, -1.5), (61.5, 46.5), (30.0, 25.0), (30.0, 20.0)):
        assert ground.is_free((x - 0.5, y - 0.5, x + 0.5, y + 0.5), spare=0.2)


def test_a_path_is_taken_from_point_to_point_and_not_closed() -> None:
    ground = Ground()
    ground.take_path([(0.0, 0.0), (40.0, 0.0), (40.0, 40.0)], half_width=1.0)
    for x, y, free in ((20.0, 0.0, False), (40.0, 20.0, False), (20.0, 20.0, True)):
        assert ground.is_free((x, y, x, y)) == free


@pytest.mark.parametrize("side", range(4))
@pytest.mark.parametrize(("away", "free"), [(1.1, True), (0.9, False), (-3.0, False)])
def test_boxes_keep_a_mm_apart(side: int, away: float, free: bool) -> None:
    ground = Ground()
    x, y = beside(away + 2.0, side=side)
    ground.take_box((x - 2.0, y - 2.0, x + 2.0, y + 2.0))
    assert ground.is_free(BOX) == free
    assert ground.is_clear_of_boxes(BOX) == free


def test_only_boxes_are_in_the_way_where_lines_may_be_crossed() -> None:
    ground = Ground()
    ground.take_line((0.0, 24.0), (40.0, 24.0))
    assert ground.is_clear_of_boxes(BOX)
    assert not ground.is_free(BOX)


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("end", [0, 1])
@pytest.mark.parametrize(("away", "off"), [(6.1, True), (5.9, False), (-4.0, False)])
def test_boxes_keep_off_joints_and_lines_cross_them(
    axis: int, end: int, away: float, off: bool
) -> None:
    """6 mm from where pages are joined, before it and behind it."""
    assert NEAR_JOINT == 6.0
    at = BOX[axis] - away if end == 0 else BOX[2 + axis] + away
    joints = ((at,), ()) if axis == 0 else ((), (at,))
    ground = Ground()
    ground.take_joints(joints)
    assert ground.is_off_joints(BOX) == off
    assert ground.is_free(BOX) == off
    assert ground.is_strip_free((BOX[0], BOX[1]), (BOX[2], BOX[3]), half_width=1.0)


@pytest.mark.parametrize(("up", "free"), [(3.45, True), (3.2, False), (0.0, False)])
@pytest.mark.parametrize("along", [0.0, 17.0, 50.0])
def test_a_strip_is_free_where_nothing_is_within_a_mm_of_it(
    along: float, up: float, free: bool
) -> None:
    """2 mm of half width, 0.4 of the line's and 1 to spare, at its ends and between.

    The strip slants by 3 in 5; lines across it reach up to the given distance.
    """
    cos, sin = 0.8, 0.6

    def place(a: float, u: float) -> tuple[float, float]:
        return (7.0 + a * cos - u * sin, 9.0 + a * sin + u * cos)

    for side in (1.0, -1.0):
        ground = Ground()
        # Squares of the strip are upright: their corners reach further by a little.
        reach = up * side if not free else side * (up + 1.0)
        ground.take_line(place(along, reach), place(along, reach))
        strip = place(0.0, 0.0), place(50.0, 0.0)
        assert ground.is_strip_free(*strip, half_width=2.0) == free


def test_a_strip_ends_where_it_ends() -> None:
    ground = Ground()
    ground.take_line((10.0, 0.0), (10.0, 0.0))
    beyond = math.nextafter(3.41, 4.0)
    assert ground.is_strip_free((10.0 + beyond, 0.0), (60.0, 0.0), half_width=2.0)
    assert not ground.is_strip_free((13.3, 0.0), (60.0, 0.0), half_width=2.0)
    assert not ground.is_strip_free((-40.0, 0.0), (6.7, 0.0), half_width=2.0)
    assert ground.is_strip_free((-40.0, 0.0), (6.5, 0.0), half_width=2.0)
