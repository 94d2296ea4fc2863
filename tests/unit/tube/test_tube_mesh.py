"""The surface of a tube: closed, at its radius from the centre line, and of its volume."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from loopsolver.tube.centreline import Centreline
from loopsolver.tube.tube_mesh import RING_CORNERS, tube_mesh, wall_mesh

RADIUS = 7.0
BEND = 28.0
CORNER = Centreline(vertices=((0, 0, 0), (100, 0, 0), (100, 80, 0)), radius=BEND)
"""72 mm along x, a quarter turn about (72, 28), 52 mm along y."""

SKEW = Centreline(
    vertices=((0, 0, 0), (90, 0, 0), (90, 90, 0), (90, 130, 90), (10, 130, 90)),
    radius=BEND,
)


def solid(line: Centreline) -> trimesh.Trimesh:
    mesh = tube_mesh(line, radius=RADIUS)
    return trimesh.Trimesh(vertices=mesh.vertices, faces=mesh.faces, process=False)


def from_corner_line(at: np.ndarray) -> float:
    """The distance from the centre line of `CORNER`, piece by piece in closed form."""
    x, y, z = at
    first = math.dist(at, (min(max(x, 0.0), 72.0), 0.0, 0.0))
    last = math.dist(at, (100.0, min(max(y, 28.0), 80.0), 0.0))
    across = math.hypot(x - 72.0, y - 28.0) - BEND
    bend = math.hypot(across, z) if x > 72.0 and y < 28.0 else math.inf
    return min(first, last, bend)


def test_every_corner_lies_at_the_radius_but_for_the_middles_of_both_ends():
    vertices = tube_mesh(CORNER, radius=RADIUS).vertices
    away = [from_corner_line(at) for at in vertices[:-2]]
    assert away == pytest.approx([RADIUS] * len(away), abs=1e-9)
    assert vertices[-2:] == pytest.approx(np.array([(0, 0, 0), (100, 80, 0)]))


@pytest.mark.parametrize("line", [CORNER, SKEW])
def test_the_surface_is_closed_and_looks_outwards(line):
    one = solid(line)
    assert one.is_watertight
    assert one.is_winding_consistent
    assert one.body_count == 1
    assert one.volume > 0.0


@pytest.mark.parametrize("line", [CORNER, SKEW])
def test_the_wall_is_the_tube_less_its_bore(line):
    """Closed, of the volume between two tubes of the same rings."""
    mesh = wall_mesh(line, radius=RADIUS, bore=5.0)
    wall = trimesh.Trimesh(vertices=mesh.vertices, faces=mesh.faces, process=False)
    assert wall.is_watertight
    assert wall.is_winding_consistent
    within = tube_mesh(line, radius=5.0)
    bore = trimesh.Trimesh(vertices=within.vertices, faces=within.faces, process=False)
    assert wall.volume == pytest.approx(solid(line).volume - bore.volume)


def test_a_straight_rod_has_the_volume_of_its_prism():
    """A regular polygon of n corners on a circle has n/2 r^2 sin(2 pi / n) of area."""
    one = solid(Centreline(vertices=((1, 2, 3), (31, 42, 3)), radius=BEND))
    n = RING_CORNERS
    area = 0.5 * n * RADIUS**2 * math.sin(2.0 * math.pi / n)
    assert one.volume == pytest.approx(50.0 * area, rel=1e-9)


def test_a_bent_tube_has_the_volume_that_pappus_says_less_its_flat_sides():
    """Area times the way of its middle: pi r^2 L, the arcs with their own length.

    A ring of 48 corners has 0.29 % less area than the circle, and rings 4 degrees apart
    cut off at most 1 - cos 2 degrees, 0.06 %.
    """
    whole = math.pi * RADIUS**2 * (72.0 + math.pi / 2.0 * BEND + 52.0)
    assert 0.9965 * whole < solid(CORNER).volume < 0.9972 * whole


def test_no_strip_of_it_twists():
    """Each ring is the one before, moved: like corners stay a pitch apart in bends."""
    rings = tube_mesh(SKEW, radius=RADIUS).vertices[:-2].reshape(-1, RING_CORNERS, 3)
    steps = np.linalg.norm(np.diff(rings, axis=0), axis=2)
    middles = np.linalg.norm(np.diff(rings.mean(axis=1), axis=0), axis=1)
    least, most = (BEND - RADIUS) / BEND, (BEND + RADIUS) / BEND
    assert (steps >= least * middles[:, None] - 1e-6).all()
    assert (steps <= most * middles[:, None] + 1e-6).all()


def test_bends_without_a_straight_between_them_share_a_ring():
    line = Centreline(
        vertices=((0, 0, 0), (28, 0, 0), (28, 56, 0), (0, 56, 0)), radius=BEND
    )
    one = solid(line)
    assert one.is_watertight
    assert one.area_faces.min() > 0.0
