"""Pairs of triangles that cross, against every pair looked at, and closed forms."""

import numpy as np
import pytest
import trimesh

from loopsolver.geometry import mesh_patches
from loopsolver.geometry.frames import rotation_matrix
from loopsolver.geometry.mesh_shape import MeshShape
from loopsolver.geometry.triangles import crossing
from loopsolver.geometry.vectors import point
from tests.builders.meshes import even_box, shape_of, together

BALL = trimesh.creation.icosphere(3, 30.0)
RIBBON = 0.5
"""Half of how thick the ribbon below is [mm]."""


def every_pair(shape: MeshShape) -> int:
    """Count by brute force: each triangle against all that come after it."""
    low, high = shape.corners.min(axis=1), shape.corners.max(axis=1)
    count = 0
    for one in range(len(shape.faces) - 1):
        meets = (low[one + 1 :] < high[one]) & (high[one + 1 :] > low[one])
        others = one + 1 + np.flatnonzero(meets.all(axis=1))
        shared = np.isin(shape.faces[others], shape.faces[one]).any(axis=1)
        others = others[~shared]
        alike = np.repeat(shape.corners[one : one + 1], len(others), axis=0)
        count += int(crossing(alike, shape.corners[others]).sum())
    return count


def moved(mesh: trimesh.Trimesh, by: tuple[float, float, float]) -> trimesh.Trimesh:
    copy = mesh.copy()
    copy.apply_translation(by)
    return copy


def with_places(mesh: trimesh.Trimesh, vertices: np.ndarray) -> trimesh.Trimesh:
    return trimesh.Trimesh(vertices, mesh.faces, process=False)


def shaken(mesh: trimesh.Trimesh, by: float) -> trimesh.Trimesh:
    rng = np.random.default_rng(5)
    return with_places(mesh, mesh.vertices + by * rng.normal(size=mesh.vertices.shape))


def spiked() -> trimesh.Trimesh:
    """One corner of a ball drawn through it and out on the other side."""
    vertices = BALL.vertices.copy()
    vertices[7] *= -1.2
    return with_places(BALL, vertices)


def wound(times: int) -> trimesh.Trimesh:
    """A closed band that goes round so often, rising and falling, and so meets itself."""
    along, around = np.meshgrid(
        np.linspace(0.0, 2.0 * np.pi, 120, endpoint=False),
        np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False),
        indexing="ij",
    )
    far = 30.0 + 6.0 * np.cos(around)
    high = 6.0 * np.sin(along) + RIBBON * np.sin(around)
    turned = times * along
    places = np.stack([far * np.cos(turned), far * np.sin(turned), high], axis=2)
    one = np.arange(along.size).reshape(along.shape)
    next_along, next_around = np.roll(one, -1, axis=0), np.roll(one, -1, axis=1)
    both = np.roll(next_along, -1, axis=1)
    faces = [
        np.stack([corner.ravel() for corner in corners], axis=1)
        for corners in ((one, next_along, both), (one, both, next_around))
    ]
    return trimesh.Trimesh(places.reshape(-1, 3), np.concatenate(faces), process=False)


CROSSED = {
    "a spike": spiked(),
    "a ball shaken": shaken(BALL, 1.5),
    "balls that overlap": together(BALL, moved(BALL, (50.0, 3.0, 1.0))),
    "balls that just meet": together(BALL, moved(BALL, (59.9, 0.3, 0.1))),
    "boxes": together(
        even_box((60.0, 20.0, 40.0), triangles=1500),
        moved(even_box((20.0, 20.0, 20.0), triangles=1000), (1.3, 18.7, 0.9)),
    ),
    "a band round twice": wound(2),
}
UNCROSSED = {
    "a ball": BALL,
    "a ball shaken a little": shaken(BALL, 0.1),
    "balls apart": together(BALL, moved(BALL, (60.1, 0.0, 0.0))),
    "a ball in a ball": together(BALL, with_places(BALL, 0.95 * BALL.vertices)),
    "a box": even_box((60.0, 20.0, 40.0), triangles=6000),
    "a thin sheet": even_box((60.0, 0.3, 40.0), triangles=1500),
    "a band round once": wound(1),
}


@pytest.mark.parametrize("name", CROSSED)
def test_as_many_cross_as_when_every_pair_is_looked_at(name) -> None:
    shape = shape_of(CROSSED[name])
    assert shape.flaws.open_sides == 0
    assert shape.flaws.crossings == every_pair(shape) > 0


@pytest.mark.parametrize("name", UNCROSSED)
def test_what_stands_apart_by_its_closed_form_has_an_inside(name) -> None:
    assert shape_of(UNCROSSED[name]).has_inside


@pytest.mark.parametrize("name", CROSSED)
@pytest.mark.parametrize("patch", [8, 40])
def test_no_triangle_that_crosses_is_held_to_lie_flat(name, patch, monkeypatch) -> None:
    """With patches that are small beside the mesh, and turned against their cells."""
    monkeypatch.setattr("loopsolver.geometry.mesh_patches.TRIANGLES_A_PATCH", patch)
    mesh = CROSSED[name].copy()
    turned = np.eye(4)
    turned[:3, :3] = rotation_matrix(point((20.0, 50.0, 70.0)))
    mesh.apply_transform(turned)
    shape = shape_of(mesh)
    assert shape.flaws.crossings == every_pair(shape) > 0


@pytest.mark.parametrize(("name", "most"), [("a ball", 0.5), ("a box", 0.7)])
def test_most_of_a_smooth_mesh_need_not_be_looked_at(name, most, monkeypatch) -> None:
    """Else reading is no faster for it: the share comes from what lies flat at all."""
    monkeypatch.setattr("loopsolver.geometry.mesh_patches.TRIANGLES_A_PATCH", 16)
    shares, plain = [], mesh_patches.may_cross

    def noted(*arguments):
        may = plain(*arguments)
        shares.append(may.mean())
        return may

    monkeypatch.setattr("loopsolver.geometry.mesh_shape.may_cross", noted)
    assert shape_of(UNCROSSED[name]).has_inside
    (share,) = shares
    assert share < most
