"""Meshes against closed forms and against trimesh, a general mesh library."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.geometry.frames import Frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace
from loopsolver.tube.centreline import BendArc, Straight
from loopsolver.view import surfaces

TURNED = Frame.from_rotation((10.0, -20.0, 30.0), rotation_matrix((20.0, 35.0, -50.0)))
BOX = Box(frame=TURNED, size=(40.0, 25.0, 60.0))
CYLINDER = Cylinder(frame=TURNED, diameter=30.0, height=50.0)
BEND = BendArc(
    centre=(5.0, 6.0, 7.0),
    u=(0.0, 1.0, 0.0),
    v=(0.0, 0.0, 1.0),
    radius=28.0,
    angle=math.pi / 2,
)
STRAIGHT = Straight(start=(1.0, 2.0, 3.0), end=(31.0, 42.0, 3.0))


def as_trimesh(mesh):
    flat = mesh.triangulate()
    faces = flat.faces.reshape(-1, 4)[:, 1:]
    return trimesh.Trimesh(np.asarray(flat.points, float), faces, process=True)


def least_agreement(mesh):
    """Least cosine between a face's winding and the normals given at its corners."""
    flat = mesh.triangulate()
    faces = flat.faces.reshape(-1, 4)[:, 1:]
    a, b, c = (np.asarray(flat.points, float)[faces[:, n]] for n in range(3))
    winding = np.cross(b - a, c - a)
    winding /= np.linalg.norm(winding, axis=1, keepdims=True)
    given_normals = np.asarray(flat.point_data.active_normals, float)[faces]
    return float((given_normals * winding[:, None, :]).sum(axis=2).min())


def test_box_is_closed_and_has_the_volume_of_its_sides():
    mesh = as_trimesh(surfaces.solid_surface(BOX))
    assert mesh.is_watertight
    # Positive only where every face looks out.
    assert mesh.volume == pytest.approx(40.0 * 25.0 * 60.0, rel=1e-5)
    assert mesh.center_mass == pytest.approx(TURNED.origin, abs=1e-3)


def test_cylinder_is_closed_and_has_the_volume_of_its_prism():
    mesh = as_trimesh(surfaces.solid_surface(CYLINDER))
    sides = surfaces.ROUND_SIDES
    # Area of a regular n-gon in a circle of radius r: n / 2 r^2 sin(2 pi / n).
    area = sides / 2.0 * 15.0**2 * math.sin(2.0 * math.pi / sides)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(area * 50.0, rel=1e-5)


@pytest.mark.parametrize(
    "mesh",
    [
        surfaces.solid_surface(BOX),
        surfaces.solid_surface(CYLINDER),
        surfaces.straight_surface(STRAIGHT, radius=7.0),
        surfaces.arc_surface(BEND, radius=7.0),
        surfaces.wire_ring((1.0, 2.0, 3.0), (0.0, 0.6, 0.8), radius=8.0, thick=2.0),
        surfaces.tube_end((0.0, 0.0, 0.0), np.array([0.0, 3.0, 4.0]), radius=7.0),
        surfaces.arrow((1.0, 2.0, 3.0), (0.0, -1.0, 0.0), length=30.0, thick=5.0),
    ],
    ids=["box", "cylinder", "straight", "bend", "ring", "end", "arrow"],
)
def test_faces_look_the_way_their_normals_point(mesh):
    # Light on a face whose winding contradicts its normal comes out dark.
    assert least_agreement(mesh) > 0.3


def test_bend_lies_on_the_torus_and_its_normals_are_the_torus_normals():
    mesh = surfaces.arc_surface(BEND, radius=7.0)
    own = np.asarray(mesh.points, float) - BEND.centre
    along = np.column_stack([own @ BEND.u, own @ BEND.v])
    away = np.linalg.norm(along, axis=1)
    height = own @ np.cross(BEND.u, BEND.v)
    # (sqrt(x^2 + y^2) - R)^2 + z^2 = r^2
    assert np.hypot(away - 28.0, height) == pytest.approx(7.0, abs=1e-4)
    middle = along / away[:, None] * 28.0
    centre = np.asarray(BEND.centre) + middle @ np.array([BEND.u, BEND.v])
    outwards = (np.asarray(mesh.points, float) - centre) / 7.0
    normals = np.asarray(mesh.point_data.active_normals, float)
    assert normals == pytest.approx(outwards, abs=1e-5)


def test_bend_starts_and_ends_where_the_arc_does():
    points = np.asarray(surfaces.arc_surface(BEND, radius=7.0).points, float)
    first, last = points[: surfaces.ROUND_SIDES], points[-surfaces.ROUND_SIDES :]
    assert first.mean(axis=0) == pytest.approx((5.0, 34.0, 7.0), abs=1e-4)
    assert last.mean(axis=0) == pytest.approx((5.0, 6.0, 35.0), abs=1e-4)
    # The last ring stands square to the travel, which is against u there.
    assert np.ptp(last @ np.asarray(BEND.u)) == pytest.approx(0.0, abs=1e-4)


def test_straight_has_its_length_and_radius():
    points = np.asarray(surfaces.straight_surface(STRAIGHT, radius=7.0).points, float)
    along = np.array([0.6, 0.8, 0.0])
    place = (points - STRAIGHT.start) @ along
    assert set(np.round(place, 3)) == {0.0, 50.0}
    off_axis = points - STRAIGHT.start - np.outer(place, along)
    assert np.linalg.norm(off_axis, axis=1) == pytest.approx(7.0, abs=1e-4)


def test_edges_of_a_box_are_its_twelve():
    edges = surfaces.solid_edges(BOX)
    ends = np.asarray(edges.points, float).reshape(-1, 2, 3)
    lengths = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    assert sorted(np.round(lengths, 3)) == [25.0] * 4 + [40.0] * 4 + [60.0] * 4


@settings(derandomize=True, deadline=None, max_examples=25)
@given(
    size=st.tuples(*[st.floats(2.0, 400.0)] * 3),
    centre=st.tuples(*[st.floats(-200.0, 200.0)] * 3),
)
def test_hatch_lies_on_the_faces_and_in_evenly_spaced_planes(size, centre):
    lines = surfaces.hatch(Box(frame=Frame(origin=centre), size=size))
    points = np.asarray(lines.points, float)
    over = np.abs(points - centre) - np.asarray(size) / 2.0
    assert np.abs(over.max(axis=1)).max() < 1e-3
    planes = np.unique(np.round(points.sum(axis=1) / math.sqrt(3.0), 2))
    steps = np.diff(planes[np.r_[True, np.diff(planes) > 0.1]])
    # A box of these sides is this wide from corner to corner, seen along (1, 1, 1).
    across = sum(size) / math.sqrt(3.0)
    spacing = min(surfaces.HATCH_SPACING, across / surfaces.HATCH_LINES)
    assert steps == pytest.approx(spacing, abs=0.05)
    assert len(steps) + 1 >= surfaces.HATCH_LINES - 1


def test_half_space_has_nothing_to_draw():
    wall = HalfSpace(point=(0.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0))
    for mesh in (surfaces.solid_surface(wall), surfaces.solid_edges(wall)):
        assert mesh.n_points == 0
    assert surfaces.hatch(wall).n_points == 0


def test_arrow_points_out_of_where_it_starts():
    mesh = surfaces.arrow((1.0, 2.0, 3.0), (0.0, -1.0, 0.0), length=30.0, thick=5.0)
    low, high = np.asarray(mesh.points, float).min(0), np.asarray(mesh.points).max(0)
    assert (low[1], high[1]) == pytest.approx((-28.0, 2.0), abs=1e-4)
