"""Vectors and angles against closed forms and numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.errors import GeometryError
from loopsolver.geometry.vectors import (
    AXES,
    angle_between,
    axis_name,
    cos_sin_deg,
    cross,
    difference,
    dot,
    norm,
    offset,
    point,
    points_array,
    unit,
)


@pytest.mark.parametrize("angle", [1e-9, 1e-3, 1.0, math.pi / 2, 3.0, math.pi - 1e-9])
def test_angle_between_keeps_its_digits_at_both_ends(angle: float) -> None:
    turned = (math.cos(angle), math.sin(angle), 0.0)
    assert angle_between((5, 0, 0), turned) == pytest.approx(angle, rel=1e-12)


def test_angle_between_opposite_and_equal() -> None:
    assert angle_between((1, 2, 3), (-2, -4, -6)) == math.pi
    assert angle_between((1, 2, 3), (2, 4, 6)) == 0.0


def test_unit_of_nothing_is_refused() -> None:
    for nothing in ((0, 0, 0), (1e-13, 0, 0), (math.nan, 0, 0), (math.inf, 0, 0)):
        with pytest.raises(GeometryError, match="a direction needs a length"):
            unit(nothing)


def test_unit() -> None:
    assert unit((2, 3, 6)) == pytest.approx((2 / 7, 3 / 7, 6 / 7))


def test_products_agree_with_numpy() -> None:
    rng = np.random.default_rng(1)
    for a, b in rng.normal(size=(20, 2, 3)):
        assert cross(a, b) == pytest.approx(np.cross(a, b))
        assert dot(a, b) == pytest.approx(a @ b)
        assert norm(a) == pytest.approx(np.linalg.norm(a))
        assert difference(a, b) == pytest.approx(a - b)
        assert offset(a, b, 2.5) == pytest.approx(a + 2.5 * b)


@pytest.mark.parametrize(
    ("degrees", "pair"),
    [
        (0, (1, 0)),
        (90, (0, 1)),
        (180, (-1, 0)),
        (-180, (-1, 0)),
        (270, (0, -1)),
        (-90, (0, -1)),
        (720, (1, 0)),
        (-1e-20, (1, 0)),
    ],
)
def test_quarter_turns_are_exact(degrees: float, pair: tuple[int, int]) -> None:
    assert cos_sin_deg(degrees) == pair


@pytest.mark.parametrize("degrees", [1.0, 45.0, 89.999, 181.0, -33.0])
def test_other_turns(degrees: float) -> None:
    turn = math.radians(degrees)
    assert cos_sin_deg(degrees) == pytest.approx((math.cos(turn), math.sin(turn)))


def test_axis_names() -> None:
    for name, axis in AXES.items():
        assert axis_name(axis) == name
        assert axis_name(offset(axis, (1, 1, 1), 1e-10)) == name
        assert axis_name(offset(axis, (1, 1, 1), 1e-8)) is None
    assert axis_name(unit((1, 1, 0))) is None


def test_points_are_plain_floats() -> None:
    made = point(np.array([1, 2, 3]))
    assert made == (1.0, 2.0, 3.0)
    assert all(type(value) is float for value in made)
    with pytest.raises(ValueError, match="not enough values"):
        point((1, 2))


def test_arrays_of_points() -> None:
    assert points_array([]).shape == (0, 3)
    assert points_array(iter([(1, 2, 3), (4, 5, 6)])).tolist() == [[1, 2, 3], [4, 5, 6]]
