"""Sampled centre lines against fine numeric integration and brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from loopsolver.tube.centreline import (
    BendArc,
    Centreline,
    bend_angles,
    developed_length,
    pieces,
    sample,
    straights,
)

STEADY = settings(derandomize=True, deadline=None, max_examples=40)
coordinates = st.floats(min_value=-300.0, max_value=300.0)
corners = st.lists(
    st.tuples(coordinates, coordinates, coordinates), min_size=2, max_size=6
)


def _bendable(vertices: list[tuple[float, float, float]], share: float) -> Centreline:
    """Return a tube through vertices with a radius that leaves room, or give up."""
    steps = np.diff(np.array(vertices), axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    assume(lengths.min() > 1.0)
    ways = steps / lengths[:, np.newaxis]
    cosines = np.sum(ways[:-1] * ways[1:], axis=1)
    assume(bool(np.all(np.abs(cosines) < 0.99)))
    # Half of every leg for each of its bends.
    halves = np.minimum(lengths[:-1], lengths[1:]) / 2
    most = min([100.0, *(halves / np.sqrt((1 - cosines) / (1 + cosines)))])
    return Centreline(vertices=tuple(vertices), radius=float(most * share))


@STEADY
@given(corners, st.floats(0.05, 1.0), st.floats(0.3, 40.0))
def test_points_keep_the_spacing(
    vertices: list[tuple[float, float, float]], share: float, spacing: float
) -> None:
    tube = _bendable(vertices, share)
    points = sample(tube, spacing=spacing)
    chords = np.linalg.norm(np.diff(points, axis=0), axis=1)
    assert chords.max() <= spacing * (1 + 1e-9)
    assert tuple(points[0]) == pytest.approx(vertices[0], abs=1e-12)
    assert tuple(points[-1]) == pytest.approx(vertices[-1], abs=1e-12)


@STEADY
@given(corners, st.floats(0.05, 1.0))
def test_chords_add_up_to_the_developed_length(
    vertices: list[tuple[float, float, float]], share: float
) -> None:
    """A chord of length h falls short of its arc by h^3 / (24 R^2) and less."""
    tube = _bendable(vertices, share)
    length = developed_length(tube)
    spacing = min(1.0, tube.radius / 20.0)
    points = sample(tube, spacing=spacing)
    polygon = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    turned = tube.radius * sum(bend_angles(tube))
    bound = turned * (spacing / tube.radius) ** 2 / 24
    assert -1e-9 <= length - polygon <= bound + 1e-9


@STEADY
@given(corners, st.floats(0.05, 1.0))
def test_length_by_numeric_integration_of_the_speed(
    vertices: list[tuple[float, float, float]], share: float
) -> None:
    """Each piece as a curve, its speed by central differences, integrated by scipy."""
    tube = _bendable(vertices, share)
    total = 0.0
    for piece in pieces(tube):
        if isinstance(piece, BendArc):
            centre, u, v = map(np.array, (piece.centre, piece.u, piece.v))

            def at(
                s: float, c=centre, u=u, v=v, r=piece.radius
            ) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
                return c + r * (math.cos(s) * u + math.sin(s) * v)

            def speed(s: float, at=at) -> float:
                return float(np.linalg.norm(at(s + 1e-4) - at(s - 1e-4)) / 2e-4)

            total += quad(speed, 0.0, piece.angle)[0]
        else:
            total += float(np.linalg.norm(np.subtract(piece.end, piece.start)))
    assert developed_length(tube) == pytest.approx(total, rel=1e-7)


@STEADY
@given(corners, st.floats(0.05, 0.95))
def test_no_kinks_and_no_bend_tighter_than_the_former(
    vertices: list[tuple[float, float, float]], share: float
) -> None:
    """Three neighbouring points never lie on a circle tighter than the bend radius."""
    tube = _bendable(vertices, share)
    points = sample(tube, spacing=tube.radius / 10.0)
    a, b, c = points[:-2], points[1:-1], points[2:]
    sides = [np.linalg.norm(p - q, axis=1) for p, q in ((a, b), (b, c), (a, c))]
    keep = np.minimum(sides[0], sides[1]) > tube.radius * 1e-3
    area_twice = np.linalg.norm(np.cross(b - a, c - a), axis=1)[keep]
    product = (sides[0] * sides[1] * sides[2])[keep]
    curvature = 2.0 * area_twice / product  # Heron: 4 area / (a b c)
    assert np.all(curvature <= 1.0 / tube.radius * (1 + 1e-4))


@STEADY
@given(corners, st.floats(0.05, 1.0))
def test_reversed_tube_is_the_same_curve(
    vertices: list[tuple[float, float, float]], share: float
) -> None:
    tube = _bendable(vertices, share)
    back = Centreline(vertices=tube.vertices[::-1], radius=tube.radius)
    assert straights(back) == pytest.approx(straights(tube)[::-1], abs=1e-9)
    there = sample(tube, spacing=5.0)
    assert sample(back, spacing=5.0) == pytest.approx(there[::-1], abs=1e-8)
