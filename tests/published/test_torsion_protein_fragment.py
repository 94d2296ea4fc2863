"""Torsion angles of a protein fragment, asserted by several open-source libraries.

Stack Overflow, question 20305272, whose answer's points and values those libraries'
test suites took over.
"""

from __future__ import annotations

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline

P1 = (24.969, 13.428, 30.692)
P2 = (24.044, 12.661, 29.808)
P3 = (22.785, 13.482, 29.543)
P4 = (21.951, 13.670, 30.431)
BETA = (23.672, 11.328, 30.466)
GAMMA = (22.881, 10.326, 29.620)
DELTA_1 = (23.691, 9.935, 28.389)
DELTA_2 = (22.557, 9.096, 30.459)

Four = tuple[tuple[float, float, float], ...]

PUBLISHED = [
    ((P1, P2, P3, P4), -71.21515114671394, 1e-10),
    ((P1, P2, BETA, GAMMA), -171.94319947953642, 1e-10),
    ((P2, BETA, GAMMA, DELTA_1), 60.82226735, 1e-8),
    ((P2, BETA, GAMMA, DELTA_2), -177.63641151, 1e-8),
]


@pytest.mark.parametrize(("points", "degrees", "within"), PUBLISHED)
def test_rotation(points: Four, degrees: float, within: float) -> None:
    table = bend_table(Centreline(vertices=points, radius=0.1))
    assert table.bends[0].rotation_deg == 0.0
    assert table.bends[1].rotation_deg == pytest.approx(degrees, abs=within)


@pytest.mark.parametrize(("points", "degrees", "within"), PUBLISHED)
def test_rotation_from_the_other_end(
    points: Four, degrees: float, within: float
) -> None:
    """The libraries assert the same value for the points in reverse order."""
    back = bend_table(Centreline(vertices=points[::-1], radius=0.1))
    assert back.bends[1].rotation_deg == pytest.approx(degrees, abs=within)


@pytest.mark.parametrize(("points", "degrees", "within"), PUBLISHED)
def test_mirror_image(points: Four, degrees: float, within: float) -> None:
    mirrored = tuple((x, y, -z) for x, y, z in points)
    table = bend_table(Centreline(vertices=mirrored, radius=0.1))
    assert table.bends[1].rotation_deg == pytest.approx(-degrees, abs=within)
