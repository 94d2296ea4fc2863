"""The distance between two skew lines that calculus books set as an exercise.

J. Stewart, *Calculus*, the section on equations of lines and planes (the citation is
from memory; the answer is the closed form |(q - p) . (u x v)| / |u x v|).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.clearance.gap import tube_gap
from loopsolver.geometry.distance import segment_shares
from loopsolver.tube.centreline import Centreline

FIRST, FIRST_WAY = np.array([1.0, -2.0, 4.0]), np.array([1.0, 3.0, -1.0])
SECOND, SECOND_WAY = np.array([0.0, 3.0, -3.0]), np.array([2.0, 1.0, 4.0])

PUBLISHED = 8.0 / math.sqrt(230.0)
TUBES = [
    Centreline(
        vertices=(tuple(start - 20.0 * way), tuple(start + 20.0 * way)), radius=28.0
    )
    for start, way in ((FIRST, FIRST_WAY), (SECOND, SECOND_WAY))
]
"""Along either line, 20 mm to both sides."""


def test_segments_on_the_lines() -> None:
    a, u = FIRST - 20.0 * FIRST_WAY, 40.0 * FIRST_WAY
    b, v = SECOND - 20.0 * SECOND_WAY, 40.0 * SECOND_WAY
    first, second = segment_shares(a[None], u[None], b[None], v[None])
    between = b + second[0] * v - a - first[0] * u
    assert np.linalg.norm(between) == pytest.approx(PUBLISHED, abs=1e-12)
    assert float(between @ u) == pytest.approx(0.0, abs=1e-9)
    assert float(between @ v) == pytest.approx(0.0, abs=1e-9)


def test_thin_tubes_along_the_lines() -> None:
    gap, _, _ = tube_gap(*TUBES, first_radius=0.1, second_radius=0.2)
    assert gap == pytest.approx(PUBLISHED - 0.3, abs=1e-9)


def test_thick_tubes_along_the_lines_run_into_each_other() -> None:
    """At 14 mm outer diameter both tubes overlap by all but the lines' distance."""
    gap, on_first, on_second = tube_gap(*TUBES, first_radius=7.0, second_radius=7.0)
    assert gap == pytest.approx(PUBLISHED - 14.0, abs=1e-9)
    assert math.dist(on_first, on_second) == pytest.approx(PUBLISHED, abs=1e-9)
