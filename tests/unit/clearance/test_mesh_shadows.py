"""Shadows and blocked bends of meshes against those of the same convex solids.

They may be larger by what a search keeps further off, and never smaller.
"""

import numpy as np
import pytest
import trimesh

from loopsolver.clearance.arcs import Arm, blocked_bends
from loopsolver.clearance.shadows import cast_shadows, cross_axes
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.mesh_shape import sought_further
from loopsolver.geometry.solids import Box, Cylinder, signed_distance
from tests.builders.meshes import any_frame, cut_finely, placed, together

SIZE = (60.0, 30.0, 40.0)
REACH = 10.0
CYLINDER_SIDES = 256
CHORD = 15.0 * (1.0 - np.cos(np.pi / CYLINDER_SIDES))
"""How far flat sides lie within a cylinder of diameter 30 [mm]."""


def lattice(seed: int):
    rng = np.random.default_rng(seed)
    return tuple(np.sort(rng.uniform(-60.0, 60.0, 14)) for _ in range(3))


def covered(shadows, nodes, axis, at):
    """Which places of every line are covered, (lines, lines, places)."""
    shape = [len(nodes[other]) for other in cross_axes(axis)]
    found = np.zeros((*shape, len(at)), dtype=bool)
    for shadow in shadows:
        rows, cols = shadow.low.shape
        part = found[
            shadow.first[0] : shadow.first[0] + rows,
            shadow.first[1] : shadow.first[1] + cols,
        ]
        part |= (at > shadow.low[..., None]) & (at < shadow.high[..., None])
    return found


def distances(solid, nodes, axis, at):
    grid = list(nodes)
    grid[axis] = at
    points = np.stack(np.meshgrid(*grid, indexing="ij"), axis=-1)
    found = signed_distance(solid, points.reshape(-1, 3)).reshape(points.shape[:3])
    return np.moveaxis(found, axis, 2)


def pairs(seed: int):
    """A box and a cylinder, each with its mesh, and by how much the mesh is smaller."""
    rng = np.random.default_rng(seed)
    frame = Frame(origin=(3.0, 2.0, 1.0)) if seed == 0 else any_frame(rng)
    box = cut_finely(trimesh.creation.box(SIZE), seed % 3)
    round_one = trimesh.creation.cylinder(15.0, 50.0, sections=CYLINDER_SIDES)
    yield Box(frame=frame, size=SIZE), placed(box, frame), 0.0
    yield (
        Cylinder(frame=frame, diameter=30.0, height=50.0),
        placed(round_one, frame),
        CHORD,
    )


@pytest.mark.parametrize("seed", range(3))
def test_lines_are_covered_where_the_same_solid_covers_them(seed) -> None:
    nodes, at = lattice(seed), np.linspace(-70.0, 70.0, 300)
    for solid, mesh, chord in pairs(seed):
        for axis in range(3):
            shadows = cast_shadows([mesh], nodes, axis=axis, reach=REACH)
            found = covered(shadows, nodes, axis, at)
            wanted = distances(solid, nodes, axis, at)
            further = sought_further(mesh.shape, REACH)
            assert found[wanted < REACH - chord - 2e-3].all()
            assert not found[wanted > REACH + further + 1e-5].any()
            assert found.any()
            assert further < 0.1


@pytest.mark.parametrize("seed", range(3))
def test_bends_are_blocked_where_the_same_solid_blocks_them(seed) -> None:
    """But for bends whose ends the solid covers: there the shadows end the legs."""
    nodes, radius = lattice(seed), 28.0
    corners = np.stack(np.meshgrid(*nodes, indexing="ij"), axis=-1)
    arms = [Arm(0, 1), Arm(1, -1)] if seed else [Arm(2, -1), Arm(1, 1)]
    for solid, mesh, chord in pairs(seed):
        blocked = []
        for one, reach in (
            (mesh, REACH),
            (solid, REACH - chord - 2e-3),
            (solid, REACH + sought_further(mesh.shape, REACH)),
        ):
            every = np.zeros(corners.shape[:3], dtype=bool)
            found = blocked_bends(
                one, nodes, arms=(arms[0], arms[1]), radius=radius, reach=reach
            )
            if found is not None:
                every[found[0]] = found[1]
            blocked.append(every)
        at_ends = np.zeros(corners.shape[:3], dtype=bool)
        for arm in arms:
            end = corners.copy()
            end[..., arm.axis] += arm.sign * radius
            apart = signed_distance(solid, end.reshape(-1, 3)).reshape(at_ends.shape)
            at_ends |= apart < REACH + sought_further(mesh.shape, REACH)
        by_mesh, surely, at_most = blocked
        assert by_mesh.any()
        assert not (by_mesh & ~at_most).any()
        assert not (surely & ~by_mesh & ~at_ends).any()


def test_a_line_through_two_plates_is_free_between_them() -> None:
    """Plates 4 mm thick at x = -30 and x = 30, as one mesh; reach 10."""
    plates = []
    for x in (-30.0, 30.0):
        plate = trimesh.creation.box((4.0, 80.0, 80.0))
        plate.apply_translation([x, 0.0, 0.0])
        plates.append(plate)
    mesh = placed(together(*plates), Frame())
    nodes = (np.array([0.0]), np.array([0.0, 5.0]), np.array([0.0, 7.0]))
    left, right = cast_shadows([mesh], nodes, axis=0, reach=REACH)
    further = sought_further(mesh.shape, REACH)
    for outer, inner, at in (
        (-left.low, left.high, -18.0),
        (right.high, -right.low, -18.0),
    ):
        np.testing.assert_allclose(outer, 42.0, atol=1e-5)  # where the box round it is
        assert (inner >= at - 1e-5).all()
        assert (inner <= at + further + 1e-5).all()


def test_the_inside_of_a_closed_mesh_is_covered_and_of_an_open_one_is_not() -> None:
    box = trimesh.creation.box((100.0, 100.0, 100.0))
    nodes = (np.array([0.0]), np.array([0.0]), np.array([0.0]))
    (whole,) = cast_shadows([placed(box, Frame())], nodes, axis=1, reach=REACH)
    np.testing.assert_allclose(
        [whole.low[0, 0], whole.high[0, 0]], [-60.0, 60.0], atol=1e-5
    )
    opened = trimesh.Trimesh(box.vertices, box.faces[1:], process=False)
    first, second = cast_shadows([placed(opened, Frame())], nodes, axis=1, reach=REACH)
    further = sought_further(placed(opened, Frame()).shape, REACH)
    np.testing.assert_allclose(
        [first.low[0, 0], second.high[0, 0]], [-60, 60], atol=1e-5
    )
    assert -40.0 - 1e-5 <= first.high[0, 0] <= -40.0 + further + 1e-5
    assert 40.0 - further - 1e-5 <= second.low[0, 0] <= 40.0 + 1e-5


def test_a_tube_may_lie_against_a_face_at_just_the_reach() -> None:
    box = placed(cut_finely(trimesh.creation.box(SIZE), 3), Frame())
    nodes = (np.array([0.0]), np.array([15.0 + REACH]), np.array([0.0, 3.0]))
    assert cast_shadows([box], nodes, axis=0, reach=REACH) == ()
    nodes = (np.array([0.0]), np.array([15.0 + REACH - 1e-4]), np.array([0.0]))
    assert len(cast_shadows([box], nodes, axis=0, reach=REACH)) == 1
