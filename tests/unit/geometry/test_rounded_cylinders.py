"""Cylinders grown all round: balls, rods with round ends, and what lies between."""

import fcl
import numpy as np
import pytest

from loopsolver.clearance.gap import least_gap, tube_gap
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.solid_set import stack
from loopsolver.geometry.solids import Cylinder, bounds, signed_distance
from loopsolver.geometry.vectors import point
from loopsolver.tube.centreline import Centreline


def random_core(seed: int) -> tuple[np.random.Generator, Cylinder]:
    """A flat-ended cylinder at any rotation; now and then of no diameter or height."""
    rng = np.random.default_rng(seed)
    frame = Frame.from_rotation(
        point(rng.uniform(-20.0, 20.0, 3)),
        rotation_matrix(point(rng.uniform(-180, 180, 3))),
    )
    diameter = float(rng.choice([0.0, 15.0]) * rng.random())
    height = float(rng.choice([0.0, 40.0]) * rng.random())
    return rng, Cylinder(frame=frame, diameter=diameter, height=height)


def grown(core: Cylinder, by: float) -> Cylinder:
    return Cylinder(
        frame=core.frame, diameter=core.diameter, height=core.height, rounding=by
    )


@pytest.mark.parametrize("seed", range(20))
def test_a_ball_is_as_far_as_its_middle_less_its_radius(seed: int) -> None:
    rng = np.random.default_rng(seed)
    middle, points = rng.uniform(-30, 30, 3), rng.uniform(-60, 60, (40, 3))
    ball = Cylinder(
        frame=Frame(origin=point(middle)), diameter=0.0, height=0.0, rounding=7.0
    )
    wanted = np.linalg.norm(points - middle, axis=1) - 7.0
    np.testing.assert_allclose(signed_distance(ball, points), wanted, atol=1e-12)
    np.testing.assert_allclose(bounds(ball), [middle - 7.0, middle + 7.0])


@pytest.mark.parametrize("seed", range(20))
def test_a_rod_is_as_far_as_fcl_finds_its_capsule(seed: int) -> None:
    rng = np.random.default_rng(seed)
    along = rng.normal(size=3)
    rod = Cylinder(
        frame=axis_frame(point(rng.uniform(-20, 20, 3)), point(along)),
        diameter=0.0,
        height=30.0,
        rounding=6.0,
    )
    placed = fcl.Transform(rod.frame.rotation, np.array(rod.frame.origin))
    capsule = fcl.CollisionObject(fcl.Capsule(6.0, 30.0), placed)
    for probe in rng.uniform(-60, 60, (10, 3)):
        # A small ball in place of the point, which fcl does not measure from.
        small = fcl.CollisionObject(fcl.Sphere(0.5), fcl.Transform(probe))
        request, result = fcl.DistanceRequest(), fcl.DistanceResult()
        apart = fcl.distance(capsule, small, request, result)
        found = float(signed_distance(rod, probe[None, :])[0])
        if apart > 0.0:
            assert found - 0.5 == pytest.approx(apart, abs=1e-5)
        else:
            assert found <= 0.5 + 1e-5


@pytest.mark.parametrize("seed", range(30))
def test_growing_takes_as_much_from_every_distance(seed: int) -> None:
    rng, core = random_core(seed)
    points, by = rng.uniform(-60, 60, (60, 3)), float(rng.uniform(0.5, 12.0))
    wanted = signed_distance(core, points) - by
    np.testing.assert_allclose(
        signed_distance(grown(core, by), points), wanted, atol=1e-12
    )
    together = stack([core, grown(core, by)]).signed_distance(points)
    np.testing.assert_allclose(together[:, 1], wanted, atol=1e-10)
    low, high = bounds(core)
    np.testing.assert_allclose(bounds(grown(core, by)), [low - by, high + by])


@pytest.mark.parametrize("seed", range(30))
def test_the_gap_to_a_rod_is_that_to_a_straight_tube(seed: int) -> None:
    rng = np.random.default_rng(seed)
    start, end = rng.uniform(-40, 40, (2, 3))
    straight = Centreline(vertices=(point(start), point(end)), radius=1.0)
    rod = Cylinder(
        frame=axis_frame((start + end) / 2.0, end - start),
        diameter=0.0,
        height=float(np.linalg.norm(end - start)),
        rounding=5.0,
    )
    bent = Centreline(
        vertices=((0, 0, 0), (60, 0, 0), (60, 55, 0), (60, 55, 70)), radius=20.0
    )
    wanted, _, _ = tube_gap(bent, straight, first_radius=7.0, second_radius=5.0)
    found = least_gap(bent, [Obstacle(name="rod", solid=rod)], tube_radius=7.0)
    assert found.distance == pytest.approx(wanted, abs=3e-4)
