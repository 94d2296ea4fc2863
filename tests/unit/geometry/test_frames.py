"""Frames against scipy's rotations."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.vectors import AXES, point


@pytest.mark.parametrize(
    "angles", [(10, 20, 30), (-75, 140, 5), (90, 0, 0), (0, 90, 45), (0, 0, 0)]
)
def test_rotation_about_x_then_y_then_z(angles: tuple[float, float, float]) -> None:
    """Lower case is scipy's name for axes that stand still."""
    oracle = Rotation.from_euler("xyz", angles, degrees=True).as_matrix()
    assert rotation_matrix(angles) == pytest.approx(oracle, abs=1e-15)


def test_quarter_turns_have_whole_entries() -> None:
    for angles in itertools.product((-90, 0, 90, 180, 270), repeat=3):
        matrix = rotation_matrix(angles)
        assert np.isin(matrix, (-1.0, 0.0, 1.0)).all()
        assert np.linalg.det(matrix) == 1.0


def test_place_and_turn() -> None:
    turn = Rotation.from_euler("xyz", (31, -12, 77), degrees=True)
    shift = np.array([5.0, -7.0, 11.0])
    frame = Frame.from_rotation(point(shift), turn.as_matrix())
    assert frame.place((1, 2, 3)) == pytest.approx(turn.apply((1, 2, 3)) + shift)
    assert frame.turn((0, 0, 9)) == pytest.approx(turn.apply((0, 0, 1)))
    assert frame.rotation == pytest.approx(turn.as_matrix())


def test_frame_inside_a_frame() -> None:
    """Placing in the inner and then the outer is placing in the one seen from outside."""
    inner = Frame.from_rotation((1, 2, 3), rotation_matrix((20, 30, 40)))
    outer = Frame.from_rotation((-9, 0, 4), rotation_matrix((-60, 15, 100)))
    seen = inner.inside(outer)
    for spot in ((0, 0, 0), (1, 0, 0), (3, -5, 8)):
        assert seen.place(spot) == pytest.approx(outer.place(inner.place(spot)))


def test_default_frame_changes_nothing() -> None:
    assert Frame().place((1, 2, 3)) == (1, 2, 3)
    assert Frame().turn((0, 1, 0)) == (0, 1, 0)


@pytest.mark.parametrize(
    ("angles", "square"),
    [
        ((0, 0, 0), True),
        ((90, 180, 270), True),
        ((0, 0, 45), False),
        ((90, 0, 1e-4), False),
        ((0, 0, 1e-3), False),
    ],
)
def test_square_frames(angles: tuple[float, float, float], square: bool) -> None:
    frame = Frame.from_rotation((0, 0, 0), rotation_matrix(angles))
    assert frame.is_square is square


@pytest.mark.parametrize("axis", [*AXES.values(), (1, 2, 3), (-4, 0.1, 0)])
def test_axis_frames_are_right_handed(axis: tuple[float, float, float]) -> None:
    frame = axis_frame((4, 5, 6), axis)
    assert frame.origin == (4.0, 5.0, 6.0)
    assert frame.axes[2] == pytest.approx(np.array(axis) / np.linalg.norm(axis))
    assert frame.rotation.T @ frame.rotation == pytest.approx(np.eye(3), abs=1e-15)
    assert np.linalg.det(frame.rotation) == pytest.approx(1.0)
    assert axis_frame((4, 5, 6), axis) == frame
