"""Mesh files beside a scene file: found, held to limits, read, and what is wrong with them.

A file is only given to the reading library when its own headers hold what it says: so
that a wrong one is told for what it is, and a small one cannot ask for all memory.
"""

from __future__ import annotations

import hashlib
import io
import warnings
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from loopsolver.geometry.mesh_shape import MeshShape, mesh_shape
from loopsolver.geometry.vectors import Array, Indices, lowest_and_highest
from loopsolver.lengths import MILLIMETRES
from loopsolver.scene import limits
from loopsolver.scene.mesh_checks import (
    CHECKS,
    FORMAT_WANTED,
    KINDS,
    STEP_KINDS,
    MeshFileError,
    check_step_unit,
    need_step_reader,
    ply_counts,
    wrong,
)
from loopsolver.scene.step_files import step_as_glb
from loopsolver.words import in_commas

MESH_UNITS: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Millimetres in one of each unit that a mesh may be drawn in."""

Soup = tuple[Array, Indices]
"""Vertices (v, 3) in the file's unit, and faces (t, 3)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshFile:
    """A mesh file as it was read; `name` is as a scene writes it."""

    name: str
    kind: str
    sha256: str
    data: bytes

    def __repr__(self) -> str:
        """Return the name and the hash; the bytes are many."""
        return f"MeshFile({self.name!r}, {self.sha256[:8]})"


def mesh_file(name: str, folder: Path) -> MeshFile:
    """Return the mesh file of a name within a folder.

    Raises
    ------
    MeshFileError
        If it is none that can be read, lies outside the folder, or is too large.
    """
    path = folder / name
    kind = path.suffix[1:].lower()
    if kind not in KINDS:
        wrong(
            f"a file whose name does not end in {in_commas('.' + k for k in KINDS)}",
            "a mesh file whose name says what it holds",
        )
    try:
        home, real = folder.resolve(), path.resolve()
        if Path(name).is_absolute() or not real.is_relative_to(home):
            wrong(
                "a path that leads out of the scene's folder",
                "a file in that folder or below it, so that both can be moved together",
            )
        if not real.is_file():
            wrong("no such file", "a mesh file in the scene's folder")
        with real.open("rb") as stream:
            data = stream.read(limits.MESH_BYTES + 1)
    except (OSError, ValueError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or error
        wrong(f"a path that cannot be read ({reason})", "a file")
    if len(data) > limits.MESH_BYTES:
        wrong(
            f"a file of more than {limits.MESH_BYTES / 1e6:g} MB",
            "a coarser mesh: a tube does not need to know every thread",
        )
    sha256 = hashlib.sha256(data).hexdigest()
    return MeshFile(name=name, kind=kind, sha256=sha256, data=data)


def mesh_names(data: Any) -> tuple[str, ...]:
    """Return the mesh files that the TOML values of a scene name, each once."""
    children: Iterable[Any] = ()
    if isinstance(data, Mapping):
        name = data.get("mesh")
        if isinstance(name, str):
            return (name,)
        children = data.values()
    elif isinstance(data, list):
        children = data
    return tuple(dict.fromkeys(name for one in children for name in mesh_names(one)))


def shape_in(file: MeshFile, *, unit: str) -> MeshShape:
    """Return the shape that a mesh file holds, drawn in a unit.

    Raises
    ------
    MeshFileError
        If it is empty, cut off, another format, not a mesh, or no size for a case.
    """
    found = _read(file, unit)
    if isinstance(found, MeshFileError):
        raise found
    return found


@lru_cache(maxsize=32)
def _read(file: MeshFile, unit: str) -> MeshShape | MeshFileError:
    """Return the shape in a file or what is wrong: a scene asks more than once."""
    try:
        if file.kind in STEP_KINDS:
            check_step_unit(file.data, unit)
        vertices, faces = _soup(file)
        # What reads STEP files knows their unit, and answers in metres.
        drawn = "m" if file.kind in STEP_KINDS else unit
        vertices = vertices * MESH_UNITS[drawn]
        _check_values(vertices, faces)
    except MeshFileError as fault:
        return fault
    digest = f"{file.sha256} {unit}"
    shape = mesh_shape(vertices, faces, digest=digest)
    if not len(shape.faces):
        return MeshFileError("no triangle with an area", "a mesh of triangles")
    return shape


def _soup(file: MeshFile) -> Soup:
    """Return what the file holds, once its headers were held to it."""
    if not file.data.strip():
        wrong("an empty file", FORMAT_WANTED[file.kind])
    CHECKS[file.kind](file.data)
    data, kind = file.data, file.kind
    if kind in STEP_KINDS:
        need_step_reader()
        data, kind = step_as_glb(data), "glb"
        CHECKS[kind](data)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _loaded(data, kind)
    except MeshFileError:
        raise
    except Exception as error:  # whatever the library says of a broken file
        wrong(
            f"a file that cannot be read as {kind.upper()} ({type(error).__name__})",
            FORMAT_WANTED[file.kind],
        )


def _loaded(data: bytes, kind: str) -> Soup:
    """Return the triangles of a file, all its parts together where they are placed."""
    import trimesh

    loaded: Any = trimesh.load(
        io.BytesIO(data), file_type=kind, process=False, resolver=None
    )
    if isinstance(loaded, trimesh.Scene):
        loaded = loaded.to_geometry()
    if not isinstance(loaded, trimesh.Trimesh) or not len(loaded.faces):
        wrong("a file without triangles", FORMAT_WANTED[kind])
    if kind == "ply" and len(loaded.faces) < ply_counts(data)["face"]:
        wrong("fewer faces than its header says", "a file that is whole")
    vertices = np.asarray(loaded.vertices, dtype=np.float64)
    return vertices, np.asarray(loaded.faces, dtype=np.intp)


def _check_values(vertices: Array, faces: Indices) -> None:
    """Raise where vertices are no numbers, or of no size that a case can hold."""
    if len(faces) > limits.MESH_TRIANGLES:
        wrong(
            f"{len(faces)} triangles",
            f"a coarser mesh: {limits.MESH_TRIANGLES} at most",
        )
    if faces.min() < 0 or faces.max() >= len(vertices):
        wrong("faces with vertices that are not there", "a file that is whole")
    is_used = np.zeros(len(vertices), dtype=np.bool_)
    is_used[faces] = True
    used = vertices if is_used.all() else vertices[is_used]
    if not np.isfinite(used).all():
        wrong("vertices that are not numbers", "a mesh without them")
    low, high = lowest_and_highest(used)
    size, farthest = float((high - low).max()), float(np.abs([low, high]).max())
    if size > limits.BODY_MOST or farthest > limits.COORDINATE:
        wrong(
            f"a mesh {MILLIMETRES.exact(round(size, 1))} long that reaches "
            f"{MILLIMETRES.exact(round(farthest, 1))} from its origin",
            f"at most {MILLIMETRES.exact(limits.BODY_MOST)}, and "
            f"{MILLIMETRES.exact(limits.COORDINATE)} from the origin: "
            "is it drawn in another unit?",
        )
    if size < limits.MESH_LEAST:
        wrong(
            f"a mesh {MILLIMETRES.exact(float(f'{size:.2g}'))} long",
            f"at least {MILLIMETRES.exact(limits.MESH_LEAST)}: is it drawn in another "
            "unit?",
        )
