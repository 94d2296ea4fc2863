"""Screws and their products: the worked examples of Modern Robotics' own library.

K. M. Lynch and F. C. Park, Modern Robotics (Cambridge, 2017); the examples stand in the
docstrings of the book's Python code, version 1.1.1 (JacobianSpace, FKinSpace).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.tube.chain import Screw, joined_motions, space_jacobian

_FOUR: tuple[Screw, ...] = (
    (0, 0, 1, 0, 0.2, 0.2),
    (1, 0, 0, 2, 0, 3),
    (0, 1, 0, 0, 2, 1),
    (1, 0, 0, 0.2, 0.3, 0.4),
)


def test_space_jacobian():
    jacobian, _ = space_jacobian(_FOUR, np.array([0.2, 1.1, 0.1, 1.2]))
    assert jacobian[:, 0].tolist() == [0, 0, 1, 0, 0.2, 0.2]
    assert jacobian[:, 2] == pytest.approx(
        [-0.09011564, 0.4445544, 0.89120736, -2.21635216, -2.43712573, 3.23573065],
        abs=5e-9,
    )


def test_forward_kinematics():
    screws: tuple[Screw, ...] = (
        (0, 0, 1, 4, 0, 0),
        (0, 0, 0, 0, 1, 0),
        (0, 0, -1, -6, 0, -0.1),
    )
    moved = joined_motions(screws, np.array([[math.pi / 2, 3.0, math.pi]]))
    (rotation,), (way,) = moved
    home = np.diag([-1.0, 1.0, -1.0])
    assert rotation @ home == pytest.approx(
        np.array([[0, 1, 0], [1, 0, 0], [0, 0, -1]]), abs=1e-12
    )
    assert way + rotation @ [0, 6, 2] == pytest.approx([-5, 4, 1.68584073], abs=5e-9)
