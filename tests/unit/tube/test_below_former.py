"""What hangs below the former, against tubes held in space by other code."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.tube.below_former import below_former
from loopsolver.tube.centreline import Centreline, sample

RADIUS, TRIM = 28.0, 40.0


def held_level(vertices: np.ndarray, bend: int, *, to_left: bool) -> np.ndarray:
    """Return a tube turned so that a bend lies level, the travel before it along +x.

    Numpy alone: the bend turns to +y, which is the left of who looks along +x with +z
    up, or to -y, the right. Its vertex comes to the origin.
    """
    before = vertices[bend] - vertices[bend - 1]
    after = vertices[bend + 1] - vertices[bend]
    x = before / np.linalg.norm(before)
    aside = after - (after @ x) * x
    y = aside / np.linalg.norm(aside) * (1.0 if to_left else -1.0)
    return (vertices - vertices[bend]) @ np.column_stack([x, y, np.cross(x, y)])


def lowest(vertices: np.ndarray, bend: int, *, to_left: bool) -> float:
    """Return how far a tube is below its bend, up to it, on points 0.02 mm apart."""
    first = vertices[0] - vertices[1]
    longer = vertices.copy()
    longer[0] += TRIM * first / np.linalg.norm(first)
    lying = held_level(longer, bend, to_left=to_left)
    # Cut off half way to the bend: what comes after lies level anyway.
    bent = [tuple(float(v) for v in p) for p in (*lying[:bend], lying[bend])]
    line = Centreline(vertices=tuple(bent), radius=RADIUS)  # type: ignore[arg-type]
    return max(0.0, -float(sample(line, spacing=0.02)[:, 2].min()))


TUBES = {
    "up, right, rear": [(0, 0, 0), (0, 0, 130), (100, 0, 130), (100, 150, 130)],
    "up, right, front": [(0, 0, 0), (0, 0, 130), (100, 0, 130), (100, -150, 130)],
    "flat": [(0, 0, 0), (90, 0, 0), (90, 90, 0), (200, 90, 0)],
    "askew": [
        (0, 0, 0),
        (80, 0, 0),
        (140, 60, 20),
        (140, 160, 90),
        (240, 180, 90),
        (300, 120, 30),
    ],
    "hook": [(0, 0, 0), (0, 0, 60), (0, 70, 60), (0, 70, -20), (90, 70, -20)],
}


@pytest.mark.parametrize("name", TUBES)
def test_as_deep_as_the_lowest_of_many_points(name: str) -> None:
    vertices = np.array(TUBES[name], float)
    line = Centreline(
        vertices=tuple(tuple(map(float, p)) for p in vertices),  # type: ignore[misc]
        radius=RADIUS,
    )
    found = below_former(line, trim_allowance=TRIM)
    assert [one.bend for one in found] == list(range(2, len(vertices) - 1))
    for one in found:
        for depth, to_left in ((one.to_left, True), (one.to_right, False)):
            # Points 0.02 mm apart on an arc of 28 mm miss its turn by microns.
            wanted = lowest(vertices, one.bend, to_left=to_left)
            assert depth == pytest.approx(wanted, abs=1e-4)


def test_the_whole_first_leg_and_its_trim_hang_down() -> None:
    """By eye: 130 mm up, then right, then to the rear, which is left with up above."""
    line = Centreline(
        vertices=((0, 0, 0), (0, 0, 130), (100, 0, 130), (100, 150, 130)), radius=RADIUS
    )
    (one,) = below_former(line, trim_allowance=TRIM)
    assert one.to_left == pytest.approx(130.0 + TRIM)
    assert one.to_right == 0.0


def test_tubes_in_a_plane_and_of_one_bend_hang_nowhere() -> None:
    flat = Centreline(
        vertices=((0, 0, 0), (90, 0, 0), (90, 90, 0), (200, 90, 0)), radius=RADIUS
    )
    (one,) = below_former(flat, trim_allowance=TRIM)
    assert math.hypot(one.to_left, one.to_right) == pytest.approx(0.0, abs=1e-9)
    single = Centreline(vertices=((0, 0, 0), (90, 0, 0), (90, 90, 0)), radius=RADIUS)
    assert below_former(single, trim_allowance=TRIM) == ()
