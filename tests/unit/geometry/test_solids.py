"""Signed distance and bounds of solids against python-fcl and brute force."""

from __future__ import annotations

import math

import fcl
import numpy as np
import pytest
from scipy.spatial import cKDTree

from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.solid_set import Extents, distance_and_gradient, stack
from loopsolver.geometry.solids import (
    Box,
    Cylinder,
    HalfSpace,
    Solid,
    bounds,
    signed_distance,
)
from loopsolver.geometry.vectors import Array, point, unit
from tests.builders.fcl_bodies import in_fcl

PROBE = 1e-3
"""Radius of the sphere that stands for a point in fcl [mm]."""

GRID = 0.4
"""Spacing of the points on a solid's surface [mm]."""


def _solid(rng: np.random.Generator) -> Box | Cylinder:
    """Return a box or a cylinder of random size, turned at random in two of three."""
    angles = (
        point(rng.uniform(0.0, 360.0, 3)) if rng.random() < 0.67 else (90.0, 0.0, 180.0)
    )
    frame = Frame.from_rotation(
        point(rng.uniform(-40.0, 40.0, 3)), rotation_matrix(angles)
    )
    if rng.random() < 0.5:
        return Box(frame=frame, size=point(rng.uniform(2.0, 40.0, 3)))
    diameter, height = rng.uniform(2.0, 40.0, 2)
    return Cylinder(frame=frame, diameter=float(diameter), height=float(height))


def _fcl_distance(solid: Box | Cylinder, position: Array) -> float:
    """Return fcl's distance from a point; 0 or less where it is inside [mm]."""
    distance = fcl.distance(
        in_fcl(solid),
        fcl.CollisionObject(fcl.Sphere(PROBE), fcl.Transform(position)),
        fcl.DistanceRequest(),
        fcl.DistanceResult(),
    )
    return float(distance)


def _inside(solid: Box | Cylinder, rng: np.random.Generator, count: int) -> Array:
    """Return points inside a solid, by its own coordinates."""
    if isinstance(solid, Box):
        own = rng.uniform(-0.5, 0.5, (count, 3)) * solid.size
    else:
        radius = 0.5 * solid.diameter * np.sqrt(rng.random(count))
        turn = rng.uniform(0.0, math.tau, count)
        along = solid.height * rng.uniform(-0.5, 0.5, count)
        own = np.column_stack([radius * np.cos(turn), radius * np.sin(turn), along])
    return own @ solid.frame.rotation.T + solid.frame.origin


def _surface(solid: Box | Cylinder) -> Array:
    """Return points all over the surface: none of it is further than GRID from one."""
    if isinstance(solid, Box):
        faces = []
        for axis in range(3):
            across = [
                np.linspace(-w / 2, w / 2, math.ceil(w / GRID) + 1)
                for index, w in enumerate(solid.size)
                if index != axis
            ]
            flat = np.stack(np.meshgrid(*across), axis=-1).reshape(-1, 2)
            for side in (-0.5, 0.5):
                level = np.full(len(flat), side * solid.size[axis])
                faces.append(np.insert(flat, axis, level, axis=1))
        own = np.concatenate(faces)
    else:
        radius, half = solid.diameter / 2, solid.height / 2
        turns = np.linspace(0.0, math.tau, math.ceil(math.tau * radius / GRID) + 1)
        rings = [
            (r, z)
            for z in (-half, half)
            for r in np.linspace(0.0, radius, math.ceil(radius / GRID) + 1)
        ]
        levels = np.linspace(-half, half, math.ceil(solid.height / GRID) + 1)
        rings += [(radius, z) for z in levels]
        own = np.concatenate(
            [
                np.column_stack(
                    [r * np.cos(turns), r * np.sin(turns), np.full(len(turns), z)]
                )
                for r, z in rings
            ]
        )
    return own @ solid.frame.rotation.T + solid.frame.origin


@pytest.mark.parametrize("seed", range(40))
def test_outside_distance_is_that_of_fcl(seed: int) -> None:
    rng = np.random.default_rng(seed)
    solid = _solid(rng)
    points = rng.uniform(-90.0, 90.0, (60, 3))
    found = signed_distance(solid, points)
    reference = np.array([_fcl_distance(solid, p) for p in points]) + PROBE
    outside = found > 2 * PROBE
    assert np.count_nonzero(outside) > 20
    np.testing.assert_allclose(found[outside], reference[outside], rtol=0, atol=1e-9)
    assert np.all(reference[~outside] <= 3 * PROBE)


@pytest.mark.parametrize("seed", range(20))
def test_inside_distance_is_that_of_the_nearest_surface_point(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    solid = _solid(rng)
    points = _inside(solid, rng, 200)
    found = signed_distance(solid, points)
    sampled = cKDTree(_surface(solid)).query(points)[0]
    assert np.all(found <= 1e-9)
    # A sampled surface point is no nearer than the nearest; a nearest point that is
    # square across has a sample within GRID of it along the surface.
    assert np.all(sampled >= -found - 1e-9)
    assert np.all(sampled <= np.sqrt(found**2 + GRID**2) + 1e-9)


def test_square_box_by_hand() -> None:
    box = Box(frame=Frame(origin=(10.0, 0.0, 0.0)), size=(4.0, 6.0, 8.0))
    points = np.array(
        [
            [10.0, 0.0, 0.0],  # the middle: 2 to the nearest faces, at x 8 and 12
            [15.0, 0.0, 0.0],  # 3 off the face at x = 12
            [15.0, 7.0, 0.0],  # 3 and 4 off an edge
            [14.0, 6.0, 10.0],  # 2, 3 and 6 off a corner
            [12.0, 3.0, 4.0],  # the corner itself
            [10.0, 2.5, 0.0],  # 0.5 under the face at y = 3
        ]
    )
    by_hand = [-2.0, 3.0, 5.0, 7.0, 0.0, -0.5]
    np.testing.assert_allclose(signed_distance(box, points), by_hand, atol=1e-12)


def test_cylinder_by_hand() -> None:
    cylinder = Cylinder(
        frame=axis_frame((0.0, 0.0, 5.0), (1.0, 0.0, 0.0)), diameter=6.0, height=20.0
    )
    points = np.array(
        [
            [0.0, 0.0, 5.0],  # on the axis: 3 to the wall
            [9.5, 0.0, 5.0],  # on the axis: 0.5 to the end
            [0.0, 3.0, 9.0],  # 5 from the axis
            [14.0, 6.0, 5.0],  # 4 beyond the end, 3 beyond the wall
            [13.0, 0.0, 5.0],  # 3 beyond the end
        ]
    )
    by_hand = [-3.0, -0.5, 2.0, 5.0, 3.0]
    np.testing.assert_allclose(signed_distance(cylinder, points), by_hand, atol=1e-12)


def test_half_space_by_hand() -> None:
    wall = HalfSpace(point=(0.0, 5.0, 0.0), normal=unit((0.0, 3.0, 4.0)))
    points = np.array([[7.0, 5.0, 0.0], [0.0, 8.0, 4.0], [0.0, 2.0, -4.0]])
    np.testing.assert_allclose(
        signed_distance(wall, points), [0.0, 5.0, -5.0], atol=1e-12
    )


@pytest.mark.parametrize("seed", range(20))
def test_bounds_are_those_of_the_surface_points(seed: int) -> None:
    solid = _solid(np.random.default_rng(200 + seed))
    surface = _surface(solid)
    low, high = bounds(solid)
    assert np.all(surface.min(axis=0) >= low - 1e-9)
    assert np.all(surface.max(axis=0) <= high + 1e-9)
    # The corners of a box are among the points; a rim is missed by half a chord's rise.
    rise = 0.0 if isinstance(solid, Box) else GRID**2 / (4.0 * solid.diameter)
    assert np.all(surface.min(axis=0) <= low + rise + 1e-9)
    assert np.all(surface.max(axis=0) >= high - rise - 1e-9)


def test_bounds_of_walls_are_open() -> None:
    inf = math.inf
    wall = HalfSpace(point=(0.0, 0.0, 410.0), normal=(0.0, 0.0, -1.0))
    assert bounds(wall).tolist() == [[-inf, -inf, 410.0], [inf, inf, inf]]
    wall = HalfSpace(point=(3.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0))
    assert bounds(wall).tolist() == [[-inf] * 3, [3.0, inf, inf]]
    slanting = HalfSpace(point=(3.0, 0.0, 0.0), normal=unit((1.0, 1.0, 0.0)))
    assert bounds(slanting).tolist() == [[-inf] * 3, [inf] * 3]


def _mixed(seed: int) -> list[Solid]:
    """Return boxes, cylinders and half-spaces in mixed order."""
    rng = np.random.default_rng(seed)
    solids: list[Solid] = [_solid(rng) for _ in range(9)]
    for index in (0, 4, 8):
        normal = unit(point(rng.normal(size=3)))
        place = point(rng.uniform(-30.0, 30.0, 3))
        solids.insert(index, HalfSpace(point=place, normal=normal))
    return solids


@pytest.mark.parametrize("seed", range(5))
def test_a_set_measures_as_its_solids_do(seed: int) -> None:
    solids = _mixed(seed)
    points = np.random.default_rng(seed).uniform(-60.0, 60.0, (50, 3))
    together = stack(solids)
    assert len(together) == len(solids)
    one_by_one = np.column_stack([signed_distance(s, points) for s in solids])
    np.testing.assert_allclose(
        together.signed_distance(points), one_by_one, rtol=0, atol=1e-10
    )
    np.testing.assert_array_equal(together.bounds, [bounds(s) for s in solids])


@pytest.mark.parametrize("seed", range(5))
def test_tangent_planes_lie_nowhere_above_the_distance(seed: int) -> None:
    """f(q) >= f(p) + g (q - p): the definition of a subgradient of a convex f."""
    rng = np.random.default_rng(seed)
    together = stack(_mixed(seed))
    own = rng.uniform(-50.0, 50.0, (3, len(together), 80))
    # Points on axes, in middle planes and on faces, where the gradient jumps.
    own[:, :, 60:65] = 0.0
    own[:2, :, 65:70] = 0.0
    own[0, :, 70:75] = together.extents.half[0, :, None].clip(max=100.0)
    extents = Extents(
        half=together.extents.half[:, :, None],
        is_round=together.extents.is_round[:, None],
        is_open=together.extents.is_open[:, None],
        rounding=together.extents.rounding[:, None],
    )
    distance, gradient = distance_and_gradient(own, extents)
    assert np.all((gradient**2).sum(axis=0) <= 1.0 + 1e-12)
    for other in range(80):
        step = own[:, :, other, None] - own
        plane = distance + (gradient * step).sum(axis=0)
        assert np.all(distance[:, other, None] >= plane - 1e-9)
