"""Signed rotations against published sign tables of torsion angles.

The rotation between two bends is the torsion angle of the four vertices around it, in
the sense of IUPAC Gold Book T06406 (PAC 1996, 68, 2193): looking along the middle leg,
positive when the near leg must turn clockwise to cover the far one.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline

Four = tuple[tuple[float, float, float], ...]


def _rotation_deg(vertices: Four) -> float:
    return bend_table(Centreline(vertices=vertices, radius=0.1)).bends[1].rotation_deg


@pytest.mark.parametrize(
    ("last", "radians"),
    [
        ((1, 1, 0), 0.0),
        ((-1, 1, 0), math.pi),
        ((0, 1, -1), math.pi / 2),
        ((0, 1, 1), -math.pi / 2),
    ],
)
def test_along_the_axes(last: tuple[float, float, float], radians: float) -> None:
    """Test suite of the gemmi library."""
    found = _rotation_deg(((1, 0, 0), (0, 0, 0), (0, 1, 0), last))
    assert found == math.degrees(radians)


@pytest.mark.parametrize(("last_z", "degrees"), [(3.5, -45.0), (1.5, 45.0)])
def test_by_eye(last_z: float, degrees: float) -> None:
    """Test of an open-source library in Rust."""
    vertices = ((3.2, 5.3, 2.5), (3.2, 3.3, 2.5), (1.2, 3.3, 2.5), (1.2, 4.3, last_z))
    assert _rotation_deg(vertices) == pytest.approx(degrees, abs=1e-12)


def test_right_handed_staircase() -> None:
    """Mathematics: x, then y, then z turns right-handed about y's direction."""
    assert _rotation_deg(((0, 0, 0), (1, 0, 0), (1, 1, 0), (1, 1, 1))) == 90.0


def test_left_handed_staircase() -> None:
    """Mathematics: its mirror image."""
    assert _rotation_deg(((0, 0, 0), (1, 0, 0), (1, 1, 0), (1, 1, -1))) == -90.0


def test_tetrahedral_angle() -> None:
    """A web example without its answer: the arc cosine of 1/3 (mathematics)."""
    found = _rotation_deg(((1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 1)))
    assert abs(found) == pytest.approx(math.degrees(math.acos(1 / 3)), abs=1e-12)
    assert abs(found) == pytest.approx(70.5288, abs=1e-4)
