"""Distances to meshes against closed forms and python-fcl, a general collision library."""

import numpy as np
import pytest
import trimesh

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.mesh_grid import covered_nodes, mesh_grid, roughly
from loopsolver.geometry.mesh_shape import (
    bounds_below,
    mesh_shape,
    nearest_of,
    signed_distances,
    sought_further,
)
from loopsolver.geometry.separation import overlap, separation, stand_apart
from loopsolver.geometry.solid_set import joined, stack
from loopsolver.geometry.solids import Box, Cylinder, bounds, signed_distance
from tests.builders.meshes import (
    PLY_NAMES,
    any_frame,
    cut_finely,
    fcl_distances,
    part_like,
    placed,
    shape_of,
    together,
)

SIZE = (60.0, 20.0, 40.0)


@pytest.mark.parametrize("times", [0, 3])
def test_a_box_as_a_mesh_is_as_far_as_the_box(times) -> None:
    """Closed form of the box; the same surface in 12 and in 768 triangles."""
    rng = np.random.default_rng(times)
    frame = any_frame(rng)
    mesh = placed(cut_finely(trimesh.creation.box(SIZE), times), frame)
    box = Box(frame=frame, size=SIZE)
    points = rng.uniform(-90.0, 90.0, (500, 3))
    wanted = signed_distance(box, points)
    np.testing.assert_allclose(signed_distance(mesh, points), wanted, atol=1e-9)
    np.testing.assert_allclose(bounds(mesh), bounds(box), atol=1e-9)
    distance, away = stack([mesh]).slope_to(np.zeros(500, dtype=int), points)
    np.testing.assert_allclose(distance, wanted, atol=1e-9)
    further = signed_distance(box, points + 1e-4 * away)
    np.testing.assert_allclose(further - wanted, 1e-4, atol=1e-6)


@pytest.mark.parametrize("name", PLY_NAMES)
def test_points_are_as_far_as_fcl_finds_them(name) -> None:
    rng = np.random.default_rng(3)
    mesh = placed(part_like(name, longest=100.0), any_frame(rng))
    low, high = bounds(mesh)
    points = rng.uniform(low - 20.0, high + 20.0, (80, 3))
    found = np.abs(signed_distance(mesh, points))
    wanted = fcl_distances(mesh, points)
    met = wanted > 1e-2  # fcl tells no distance where bodies overlap
    np.testing.assert_allclose(found[met], wanted[met], atol=2e-4)


def test_what_is_not_nearer_than_asked_is_told_as_that() -> None:
    shape = shape_of(trimesh.creation.icosphere(3, 30.0))
    points = np.random.default_rng(0).uniform(-80.0, 80.0, (400, 3))
    whole = nearest_of(shape, points).distance
    near = nearest_of(shape, points, below=12)
    np.testing.assert_allclose(near.distance, np.minimum(whole, 12.0), atol=1e-12)
    assert ((near.triangle < 0) == (whole >= 12.0)).all()


@pytest.mark.parametrize("name", ["nut", "airplane"])
def test_the_grid_holds_every_distance_between_its_bounds(name) -> None:
    shape = shape_of(part_like(name, longest=90.0))
    low, high = shape.vertices.min(axis=0) - 45.0, shape.vertices.max(axis=0) + 45.0
    points = np.random.default_rng(1).uniform(low, high, (4000, 3))
    distance = nearest_of(shape, points).distance
    grid = mesh_grid(shape)
    least, most = grid.bounds(points)
    assert (least <= distance + 1e-9).all()
    assert (distance <= most + 1e-9).all()
    near = (distance > 8.0) & (distance < 20.0)  # and they are worth having
    assert np.median((most - least)[near]) < 0.5
    inside = signed_distances(shape, points) < 0.0
    assert (grid.insides(points) == inside).all()
    wanted = (distance < 10.0) | inside
    near = distance < 20.0
    covered = covered_nodes(shape, 10.0)[grid.nearest_nodes(points[near])]
    assert (covered <= wanted[near]).all()
    assert covered.sum() > 0.2 * wanted.sum()


@pytest.mark.parametrize("name", PLY_NAMES)
def test_what_a_search_is_told_is_never_too_far_and_hardly_too_near(name) -> None:
    """The exact distances are held to python-fcl above."""
    shape = shape_of(part_like(name, longest=90.0))
    low, high = shape.box[0] - 25.0, shape.box[1] + 25.0
    points = np.random.default_rng(7).uniform(low, high, (1500, 3))
    signed = signed_distances(shape, points)
    distance = np.abs(signed)
    found = bounds_below(shape, points, most=16.0)
    assert (found <= np.minimum(distance, 16.0) + 1e-9).all()
    slack = np.array([sought_further(shape, one) for one in found])
    assert (found + slack >= np.minimum(distance, 16.0) - 1e-9).all()
    told = roughly(shape, points, most=16.0)
    off = np.abs(told) < 16.0
    assert (np.sign(told[off]) == np.sign(signed[off]))[distance[off] > 1.0].all()
    assert (np.abs(told) <= np.minimum(distance, 16.0) + 1e-9).all()


def test_what_keeps_a_mesh_from_having_an_inside_is_counted() -> None:
    box = trimesh.creation.box(SIZE)
    assert shape_of(box).flaws.open_sides == 0
    inside_out = box.copy()
    inside_out.invert()
    assert signed_distances(shape_of(inside_out), np.zeros((1, 3)))[0] == -10.0
    opened = trimesh.Trimesh(box.vertices, box.faces[:-1], process=False)
    assert shape_of(opened).flaws.open_sides == 3
    assert signed_distances(shape_of(opened), np.zeros((1, 3)))[0] == 10.0
    other = trimesh.creation.box((10.0, 10.0, 10.0))
    other.apply_translation([30.0, 1.0, 2.0])
    crossed = shape_of(together(box, other))
    assert (crossed.flaws.open_sides, crossed.has_inside) == (0, False)
    assert crossed.flaws.crossings > 0
    other.apply_translation([20.0, 0.0, 0.0])
    assert shape_of(together(box, other)).flaws.crossings == 0


@pytest.mark.parametrize("seed", range(6))
def test_bodies_stand_from_a_box_of_triangles_as_from_the_box(seed) -> None:
    """The exact separation of convex solids, tested against fcl elsewhere."""
    rng = np.random.default_rng(seed)
    frame = any_frame(rng)
    box = Box(frame=frame, size=SIZE)
    mesh = placed(cut_finely(trimesh.creation.box(SIZE), 2), frame)
    for _ in range(4):
        at = any_frame(rng)
        at = Frame(origin=(at.origin[0] * 4.0, *at.origin[1:]), axes=at.axes)
        for other in (
            Box(frame=at, size=(20.0, 30.0, 10.0)),
            Cylinder(frame=at, diameter=15.0, height=30.0),
        ):
            wanted = separation(box, other)
            found, back = separation(mesh, other), separation(other, mesh)
            assert found.distance == back.distance
            if wanted.distance > 0.0:
                assert found.distance == pytest.approx(wanted.distance, abs=2e-4)
                assert np.dot(found.direction, wanted.direction) > 0.999
                assert np.dot(back.direction, wanted.direction) < -0.999
                assert stand_apart(mesh, other, by=wanted.distance - 1e-3)
                assert not stand_apart(mesh, other, by=wanted.distance + 1e-3)
            else:
                assert found.distance <= 0.0
                assert overlap(mesh, other, allowed=-1e-3) is not None


def test_a_body_all_inside_a_mesh_overlaps_it() -> None:
    mesh = placed(trimesh.creation.icosphere(3, 40.0), Frame())
    inside = Box(frame=Frame(), size=(4.0, 4.0, 4.0))
    found = overlap(mesh, inside, allowed=0.5)
    assert found is not None
    assert found.distance == pytest.approx(-40.0, abs=0.5)  # its middle, in the ball's
    shell = placed(trimesh.creation.icosphere(2, 10.0), Frame())
    assert overlap(mesh, shell, allowed=0.5) is not None


def test_a_part_of_a_set_and_a_moved_set_keep_their_meshes() -> None:
    rng = np.random.default_rng(4)
    mesh = placed(trimesh.creation.icosphere(2, 15.0), any_frame(rng))
    boxes = [Box(frame=any_frame(rng), size=SIZE) for _ in range(3)]
    points = rng.uniform(-50.0, 50.0, (30, 3))
    whole = stack([boxes[0], mesh, boxes[1]])
    distance = whole.signed_distance(points)
    some = whole.among(np.array([2, 1]))
    np.testing.assert_allclose(some.signed_distance(points), distance[:, [2, 1]])
    together = joined([stack(boxes[2:]), whole])
    np.testing.assert_allclose(together.signed_distance(points)[:, 1:], distance)
    by = (3.0, -4.0, 5.0)
    moved = whole.moved(by).signed_distance(points + np.array(by))
    np.testing.assert_allclose(moved, distance, atol=1e-9)


def test_places_that_no_triangle_has_are_no_part_of_a_mesh() -> None:
    """As OBJ files may hold: the box round it, and all distances, are as without them."""
    box = trimesh.creation.box(SIZE)
    strays = np.array([[50.0, 0.0, 0.0], [0.0, -90.0, 7.0]])
    vertices = np.concatenate([strays, box.vertices])
    shape = mesh_shape(vertices, box.faces + len(strays), digest="strays")
    np.testing.assert_array_equal(shape.box, [[-30, -10, -20], [30, 10, 20]])
    found = bounds_below(shape, strays, most=100.0)
    np.testing.assert_allclose(found, [20.0, 80.0], atol=1e-9)
