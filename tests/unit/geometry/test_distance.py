"""Nearest points of segments and arcs against scipy and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import lsq_linear
from scipy.spatial import cKDTree

from loopsolver.geometry.curves import Curves
from loopsolver.geometry.distance import nearest_points, segment_shares
from loopsolver.geometry.vectors import Array

FINE = 1e-4
"""The resolution that is asked for here [mm]."""


def _segment_distance(a: Array, u: Array, b: Array, v: Array) -> Array:
    """Return distances of segments given by starts and vectors (k, 3)."""
    first, second = segment_shares(a, u, b, v)
    assert np.all((first >= 0.0) & (first <= 1.0))
    assert np.all((second >= 0.0) & (second <= 1.0))
    between = b + second[:, None] * v - a - first[:, None] * u
    return np.linalg.norm(between, axis=1)


def _lsq_distance(a: Array, u: Array, b: Array, v: Array) -> float:
    """Return the distance of two segments as a bounded least-squares problem."""
    found = lsq_linear(
        np.column_stack([u, -v]), b - a, bounds=(0.0, 1.0), method="bvls", tol=1e-14
    )
    return math.sqrt(2.0 * found.cost)


@pytest.mark.parametrize("seed", range(4))
def test_segments_against_least_squares(seed: int) -> None:
    rng = np.random.default_rng(seed)
    a, b = rng.uniform(-50.0, 50.0, (2, 100, 3))
    u, v = rng.uniform(-50.0, 50.0, (2, 100, 3))
    v[:20] = rng.uniform(-2.0, 2.0, (20, 1)) * u[:20]  # parallel
    v[20:30] = u[20:30] + 1e-5 * rng.normal(size=(10, 3))  # nearly parallel
    b[30:40] = a[30:40] + 0.3 * u[30:40] - 0.6 * v[30:40]  # crossing
    reference = [_lsq_distance(*rows) for rows in zip(a, u, b, v, strict=True)]
    np.testing.assert_allclose(_segment_distance(a, u, b, v), reference, atol=1e-6)


def test_segments_without_length() -> None:
    a = np.array([[0.0, 0.0, 0.0]] * 3)
    u = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [0.0, 0.0, 0.0]])
    b = np.array([[3.0, 4.0, 0.0], [5.0, 2.0, 0.0], [-5.0, 6.0, 0.0]])
    v = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [10.0, 0.0, 0.0]])
    np.testing.assert_allclose(_segment_distance(a, u, b, v), [5.0, 2.0, 6.0])


def _arc(
    centre: Array, first: Array | list[float], second: Array | list[float], angle: float
) -> Curves:
    """Return one arc; `first` and `second` are square to each other and as long."""
    return Curves(
        origin=np.array([centre], float),
        first=np.array([first], float),
        second=np.array([second], float),
        start=np.array([0.0]),
        stop=np.array([angle]),
        is_bent=np.array([True]),
    )


def _random_arc(rng: np.random.Generator) -> Curves:
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0] * rng.uniform(10.0, 60.0)
    angle = float(rng.uniform(0.3, 3.0))
    return _arc(rng.uniform(-60.0, 60.0, 3), turn[0], turn[1], angle)


@pytest.mark.parametrize("seed", range(30))
def test_arcs_against_dense_points(seed: int) -> None:
    rng = np.random.default_rng(seed)
    first, second = _random_arc(rng), _random_arc(rng)
    found = nearest_points(first, second, resolution=FINE)
    dense = []
    for arc in (first, second):
        at = np.linspace(0.0, arc.stop[0], 6000)
        dense.append(arc.points(np.zeros(len(at), dtype=np.intp), at))
    sampled = cKDTree(dense[0]).query(dense[1])[0].min()
    # Sampled curves are never nearer than the curves, and by at most a step of each
    # (3 rad * 60 mm / 5999, half of it to either side) further.
    assert found.distance - FINE <= sampled <= found.distance + 0.03
    apart = np.linalg.norm(found.on_first - found.on_second)
    assert apart == pytest.approx(found.distance, abs=1e-12)
    assert cKDTree(dense[0]).query(found.on_first)[0] < 0.02
    assert cKDTree(dense[1]).query(found.on_second)[0] < 0.02


@pytest.mark.parametrize(
    ("outer_radius", "lift", "by_hand"),
    [(48.0, 0.0, 20.0), (28.0, 15.0, 15.0), (40.0, 5.0, 13.0), (28.0, 0.0, 0.0)],
)
def test_arcs_about_one_axis(outer_radius: float, lift: float, by_hand: float) -> None:
    """Coaxial arcs are hypot(difference of radii, lift) apart all along."""
    inner = _arc(np.zeros(3), [28.0, 0, 0], [0, 28.0, 0], math.pi / 2)
    outer = _arc(
        np.array([0.0, 0.0, lift]),
        [outer_radius, 0, 0],
        [0, outer_radius, 0],
        math.pi / 2,
    )
    found = nearest_points(inner, outer, resolution=FINE)
    assert found.distance == pytest.approx(by_hand, abs=FINE)


def test_half_rings_that_are_equally_near_all_along() -> None:
    """One in z = 0 about the origin, one in y = 0 about (10, 0, 0), both of radius 10.

    From (10 cos w, 10 sin w, 0) the nearest point of the other's plane is 10 |sin w|
    away and lies 10 |cos w| from the other ring: 10 altogether, for every w.
    """
    ring = _arc(np.zeros(3), [10.0, 0, 0], [0, 10.0, 0], math.pi)
    other = _arc(np.array([10.0, 0, 0]), [-10.0, 0, 0], [0, 0, 10.0], math.pi)
    found = nearest_points(ring, other, resolution=FINE)
    assert found.distance == pytest.approx(10.0, abs=FINE)
