"""Meshes for tests, made with trimesh, and as a general collision library has them."""

from __future__ import annotations

from pathlib import Path

import fcl
import numpy as np
import pyvista.examples
import trimesh

from loopsolver.geometry.frames import Frame, rotation_matrix
from loopsolver.geometry.mesh_shape import MeshShape, mesh_shape
from loopsolver.geometry.solids import Mesh, placed_vertices
from loopsolver.geometry.vectors import point

PLY_FOLDER = Path(str(pyvista.examples.__file__)).parent
PLY_NAMES = ("airplane", "ant", "nut", "sphere")
"""The four PLY meshes in pyvista's wheel."""


def shape_of(mesh: trimesh.Trimesh, *, digest: str = "a mesh") -> MeshShape:
    return mesh_shape(np.array(mesh.vertices), np.array(mesh.faces), digest=digest)


def placed(mesh: trimesh.Trimesh, frame: Frame, *, digest: str = "a mesh") -> Mesh:
    return Mesh(frame=frame, shape=shape_of(mesh, digest=digest))


def any_frame(rng: np.random.Generator) -> Frame:
    return Frame.from_rotation(
        point(rng.uniform(-20.0, 20.0, 3)),
        rotation_matrix(point(rng.uniform(-180.0, 180.0, 3))),
    )


def cut_finely(mesh: trimesh.Trimesh, times: int) -> trimesh.Trimesh:
    """The same surface, every triangle cut into four as often as said."""
    for _ in range(times):
        mesh = mesh.subdivide()
    return mesh


def together(*parts: trimesh.Trimesh) -> trimesh.Trimesh:
    """Several meshes as one."""
    whole = trimesh.util.concatenate(list(parts))
    assert isinstance(whole, trimesh.Trimesh)
    return whole


def part_like(name: str, *, longest: float) -> trimesh.Trimesh:
    """One of pyvista's meshes, as large as a part of a case."""
    mesh = trimesh.load(PLY_FOLDER / f"{name}.ply", process=True)
    assert isinstance(mesh, trimesh.Trimesh)
    mesh.apply_scale(longest / float(mesh.extents.max()))
    return mesh


def in_fcl(mesh: Mesh) -> fcl.CollisionObject:
    model = fcl.BVHModel()
    vertices, faces = placed_vertices(mesh), mesh.shape.faces
    model.beginModel(len(vertices), len(faces))
    model.addSubModel(vertices, faces)
    model.endModel()
    return fcl.CollisionObject(model, fcl.Transform())


def fcl_distances(mesh: Mesh, points: np.ndarray) -> np.ndarray:
    """How far points are from a mesh, measured with small balls in their places."""
    body, radius = in_fcl(mesh), 1e-3
    ball = fcl.Sphere(radius)
    return np.array(
        [
            fcl.distance(
                body,
                fcl.CollisionObject(ball, fcl.Transform(at)),
                fcl.DistanceRequest(),
                fcl.DistanceResult(),
            )
            + radius
            for at in points
        ]
    )
