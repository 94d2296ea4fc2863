"""Places and directions on a drawing, against what right triangles say."""

from __future__ import annotations

import math

import pytest

from loopsolver.drafting.drawing import direction_deg, polar, rectangle
from tests.unit.drafting.layers import Layers

# From (7, 4): along the axes, halves of a square, and half an equilateral triangle.
PLACES = [
    ((10.0, 4.0), 0.0),
    ((7.0 + math.sqrt(3.0), 5.0), 30.0),
    ((7.0, 9.0), 90.0),
    ((5.0, 6.0), 135.0),
    ((1.0, 4.0), 180.0),
    ((6.0, 3.0), -135.0),
    ((7.0, 1.0), -90.0),
]


@pytest.mark.parametrize(("place", "angle_deg"), PLACES)
def test_directions_are_counted_from_x_anticlockwise(
    place: tuple[float, float], angle_deg: float
) -> None:
    assert direction_deg((7.0, 4.0), place) == pytest.approx(angle_deg)


@pytest.mark.parametrize(("place", "angle_deg"), PLACES)
def test_a_place_is_its_distance_away_in_its_direction(
    place: tuple[float, float], angle_deg: float
) -> None:
    away = math.dist((7.0, 4.0), place)
    assert polar((7.0, 4.0), away, angle_deg) == pytest.approx(place)


def test_a_rectangle_has_its_four_corners_in_turn() -> None:
    drawn = rectangle((1.0, 2.0), (4.0, 8.0), layer=Layers.FRAME)
    assert drawn.points == ((1.0, 2.0), (4.0, 2.0), (4.0, 8.0), (1.0, 8.0))
