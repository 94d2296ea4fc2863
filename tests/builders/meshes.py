"""Meshes for tests, made with trimesh, and as a general collision library has them."""

from __future__ import annotations

import hashlib
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


def shape_of(mesh: trimesh.Trimesh) -> MeshShape:
    vertices, faces = np.array(mesh.vertices), np.array(mesh.faces)
    digest = hashlib.sha256(vertices.tobytes() + faces.tobytes()).hexdigest()
    return mesh_shape(vertices, faces, digest=digest)


def placed(mesh: trimesh.Trimesh, frame: Frame) -> Mesh:
    return Mesh(frame=frame, shape=shape_of(mesh))


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


def even_box(size: tuple[float, float, float], *, triangles: int) -> trimesh.Trimesh:
    """A box in square steps, each cut in two: about so many triangles altogether."""
    area = 2.0 * sum(size[k] * size[k - 1] for k in range(3))
    counts = [max(round(one / (2.0 * area / triangles) ** 0.5), 1) for one in size]
    sheets = []
    for axis in range(3):
        wide, high = counts[(axis + 1) % 3], counts[(axis + 2) % 3]
        at = np.indices((wide + 1, high + 1)).reshape(2, -1) / [[wide], [high]] - 0.5
        one = np.arange((wide + 1) * (high + 1)).reshape(wide + 1, high + 1)
        a, b, c, d = (
            one[i : i + wide, j : j + high].ravel()
            for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))
        )
        faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
        for side in (-1.0, 1.0):
            sheet = np.empty((one.size, 3))
            sheet[:, axis] = 0.5 * side
            sheet[:, (axis + 1) % 3] = at[0] * side
            sheet[:, (axis + 2) % 3] = at[1]
            sheets.append(trimesh.Trimesh(sheet * size, faces, process=False))
    whole = together(*sheets)
    whole.merge_vertices()
    return whole


HERON_BOXES = {
    "card": "{ box = [107, 240, 34] },",
    "roof": "{ box = [120, 240, 30], corner = [0, 24, 0] },",
    "front": "{ box = [120, 30, 360], corner = [0, 0, 20] },",
}
"""The largest bodies among the six runs of the demo, as its file has them."""


def heron_in_meshes(folder: Path, *, triangles: int) -> Path:
    """The demo with six runs, three of its boxes as files of so many triangles each."""
    text = (Path(__file__).parents[2] / "scenes" / "heron.toml").read_text("utf-8")
    for name, box in HERON_BOXES.items():
        assert text.count(box) == 1
        sizes = [float(one) for one in box.split("[")[1].split("]")[0].split(",")]
        size = (sizes[0], sizes[1], sizes[2])
        even_box(size, triangles=triangles).export(folder / f"{name}.stl")
        corner = (
            box.split("corner = ")[-1].split(" }")[0]
            if "corner" in box
            else "[0, 0, 0]"
        )
        mesh = f'{{ mesh = "{name}.stl", unit = "mm", corner = {corner} }},'
        text = text.replace(box, mesh)
    path = folder / "heron.toml"
    path.write_text(text, encoding="utf-8")
    return path
