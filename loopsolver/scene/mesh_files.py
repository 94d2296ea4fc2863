"""Mesh files beside a scene file: found, held to limits, read, and what is wrong with them.

A file is only given to the reading library when its own headers hold what it says: so
that a wrong one is told for what it is, and a small one cannot ask for all memory.
"""

from __future__ import annotations

import hashlib
import io
import json
import struct
import warnings
import zipfile
import zlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, NoReturn

import numpy as np

from loopsolver.errors import LoopsolverError
from loopsolver.geometry.mesh_shape import MeshShape, mesh_shape
from loopsolver.geometry.vectors import Array, Indices
from loopsolver.lengths import MILLIMETRES
from loopsolver.scene import limits
from loopsolver.words import in_commas

MESH_UNITS: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Millimetres in one of each unit that a mesh may be drawn in."""

_STEP_KINDS: Final = ("step", "stp")
KINDS: Final = ("stl", "obj", "ply", "glb", "3mf", *_STEP_KINDS)
"""The endings of the files that are read."""

Soup = tuple[Array, Indices]
"""Vertices (v, 3) in the file's unit, and faces (t, 3)."""


class MeshFileError(LoopsolverError):
    """A mesh file that cannot be read: `found` and `wanted` as in a Finding."""

    def __init__(self, found: str, wanted: str) -> None:
        super().__init__(f"found {found}, wanted {wanted}")
        self.found, self.wanted = found, wanted


def _wrong(found: str, wanted: str) -> NoReturn:
    raise MeshFileError(found, wanted)


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
        _wrong(
            f"a file whose name does not end in {in_commas('.' + k for k in KINDS)}",
            "a mesh file whose name says what it holds",
        )
    try:
        home, real = folder.resolve(), path.resolve()
        if Path(name).is_absolute() or not real.is_relative_to(home):
            _wrong(
                "a path that leads out of the scene's folder",
                "a file in that folder or below it, so that both can be moved together",
            )
        if not real.is_file():
            _wrong("no such file", "a mesh file in the scene's folder")
        with real.open("rb") as stream:
            data = stream.read(limits.MESH_BYTES + 1)
    except (OSError, ValueError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or error
        _wrong(f"a path that cannot be read ({reason})", "a file")
    if len(data) > limits.MESH_BYTES:
        _wrong(
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
        vertices, faces = _soup(file)
        vertices = vertices * MESH_UNITS[unit]
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
        _wrong("an empty file", _WANTED[file.kind])
    _CHECKS[file.kind](file.data)
    kind = "step" if file.kind in _STEP_KINDS else file.kind
    if kind == "step":
        _need_step_reader()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _loaded(file.data, kind)
    except MeshFileError:
        raise
    except Exception as error:  # whatever the library says of a broken file
        _wrong(
            f"a file that cannot be read as {kind.upper()} ({type(error).__name__})",
            _WANTED[file.kind],
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
        _wrong("a file without triangles", _WANTED[kind])
    if kind == "ply" and len(loaded.faces) < _ply_counts(data)["face"]:
        _wrong("fewer faces than its header says", "a file that is whole")
    scale = 1000.0 if kind == "step" else 1.0  # its reader answers in metres
    vertices = np.asarray(loaded.vertices, dtype=np.float64) * scale
    return vertices, np.asarray(loaded.faces, dtype=np.intp)


def _check_values(vertices: Array, faces: Indices) -> None:
    """Raise where vertices are no numbers, or of no size that a case can hold."""
    if len(faces) > limits.MESH_TRIANGLES:
        _wrong(
            f"{len(faces)} triangles",
            f"a coarser mesh: {limits.MESH_TRIANGLES} at most",
        )
    if faces.min() < 0 or faces.max() >= len(vertices):
        _wrong("faces with vertices that are not there", "a file that is whole")
    is_used = np.zeros(len(vertices), dtype=np.bool_)
    is_used[faces] = True
    used = vertices[is_used]
    if not np.isfinite(used).all():
        _wrong("vertices that are not numbers", "a mesh without them")
    low, high = used.min(axis=0), used.max(axis=0)
    size, farthest = float((high - low).max()), float(np.abs([low, high]).max())
    if size > limits.BODY_MOST or farthest > limits.COORDINATE:
        _wrong(
            f"a mesh {MILLIMETRES.exact(round(size, 1))} long that reaches "
            f"{MILLIMETRES.exact(round(farthest, 1))} from its origin",
            f"at most {MILLIMETRES.exact(limits.BODY_MOST)}, and "
            f"{MILLIMETRES.exact(limits.COORDINATE)} from the origin: "
            "is it drawn in another unit?",
        )
    if size < limits.MESH_LEAST:
        _wrong(
            f"a mesh {MILLIMETRES.exact(float(f'{size:.2g}'))} long",
            f"at least {MILLIMETRES.exact(limits.MESH_LEAST)}: is it drawn in another "
            "unit?",
        )


def _check_stl(data: bytes) -> None:
    if len(data) >= 84:
        (count,) = struct.unpack_from("<I", data, 80)
        if len(data) == 84 + 50 * count:
            if not count:
                _wrong("an STL file without triangles", _WANTED["stl"])
            return
    if data.lstrip()[:5].lower() != b"solid":
        if len(data) >= 84 and 84 <= len(data) < 84 + 50 * count <= 50e9:
            _wrong(
                f"{len(data)} bytes where an STL file of {count} triangles has "
                f"{84 + 50 * count}: cut off, or no STL",
                "the whole file",
            )
        _wrong("a file that does not begin as STL does", _WANTED["stl"])
    if b"endsolid" not in data[-4096:].lower():
        _wrong("a text STL file without its endsolid: cut off", "all of it")
    if b"vertex" not in data:
        _wrong("an STL file without triangles", _WANTED["stl"])


def _check_obj(data: bytes) -> None:
    lines = b"\n" + data
    if b"\0" in data or b"\nv" not in lines:
        _wrong("a file that is no OBJ text with vertices", _WANTED["obj"])
    if b"\nf" not in lines:
        _wrong("an OBJ file without faces", _WANTED["obj"])


def _ply_counts(data: bytes) -> dict[str, int]:
    """Return how many of each element the header of a PLY file announces."""
    head = data[: data.find(b"end_header")].split(b"\n")
    words = [line.split() for line in head if line.startswith(b"element")]
    return {
        word[1].decode("ascii", "replace"): int(word[2])
        for word in words
        if len(word) == 3 and word[2].isdigit()
    }


def _check_ply(data: bytes) -> None:
    if not data.startswith(b"ply") or b"end_header" not in data[:100_000]:
        _wrong("a file that does not begin as PLY does", _WANTED["ply"])
    counts = _ply_counts(data)
    if not counts.get("vertex") or not counts.get("face"):
        _wrong("a PLY file without vertices or faces", _WANTED["ply"])
    for name, count in counts.items():
        if count > len(data):  # an element takes a byte at least
            _wrong(
                f"a header that announces {count} of {name} in {len(data)} bytes",
                "a file that is whole",
            )


def _check_glb(data: bytes) -> None:
    if data[:4] != b"glTF" or len(data) < 20:
        _wrong("a file that does not begin as GLB does", _WANTED["glb"])
    (said,) = struct.unpack_from("<I", data, 8)
    if said != len(data):
        _wrong(f"{len(data)} bytes where the header says {said}: cut off", "all of it")
    (length,) = struct.unpack_from("<I", data, 12)
    try:
        tree = json.loads(data[20 : 20 + length])
        counts = [each["count"] for each in tree.get("accessors", ())]
        children = [c for node in tree["nodes"] for c in node.get("children", ())]
        outside = [each for each in tree.get("buffers", ()) if "uri" in each]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        _wrong("a GLB file without a readable table", _WANTED["glb"])
    if outside:
        _wrong("a GLB file that points to other files", "one file with all")
    if (
        any(
            not isinstance(count, int) or not 0 <= count <= limits.MESH_BYTES // 4
            for count in counts
        )
        or sum(counts) > limits.MESH_BYTES
    ):
        _wrong("a table that announces too many values", "a coarser mesh")
    if len(children) != len(set(children)) or len(children) > limits.MESH_PARTS:
        _wrong("parts that hold each other", "a tree of parts")


def _check_3mf(data: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            sizes = [info.file_size for info in archive.infolist()]
            if sum(sizes) > limits.MESH_BYTES or len(sizes) > limits.MESH_PARTS:
                _wrong(
                    f"an archive that unpacks to {sum(sizes) / 1e6:.0f} MB in "
                    f"{len(sizes)} files",
                    f"at most {limits.MESH_BYTES / 1e6:g} MB",
                )
            models = [
                archive.read(name)
                for name in archive.namelist()
                if name.lower().endswith(".model")
            ]
    except (zipfile.BadZipFile, OSError, RuntimeError, EOFError, NotImplementedError):
        _wrong(
            "a file that is no whole 3MF archive: cut off, or something else",
            _WANTED["3mf"],
        )
    except zlib.error:
        _wrong("an archive with damaged contents", _WANTED["3mf"])
    if not models:
        _wrong("an archive without a model", _WANTED["3mf"])
    for model in models:
        _check_model(model)


def _check_model(model: bytes) -> None:
    """Raise where a 3MF model defines entities, or uses its objects too often."""
    if b"<!DOCTYPE" in model or b"<!ENTITY" in model:
        _wrong("a model that defines entities", "a plain model")
    from lxml import etree

    sizes: dict[str, float] = {}
    name, total = "", 0.0
    try:
        stream = etree.iterparse(
            io.BytesIO(model), events=("start", "end"), resolve_entities=False
        )
        for event, node in stream:
            tag = etree.QName(node).localname
            if event == "start" and tag == "object":
                name = node.get("id", "")
                sizes[name] = 0.0
            elif event == "start" and tag in ("component", "item"):
                used = sizes.get(node.get("objectid", ""), 0.0)
                total += used if tag == "item" else 0.0
                sizes[name] = sizes.get(name, 0.0) + (used if tag == "component" else 0)
            elif event == "start" and tag == "triangle":
                sizes[name] = sizes.get(name, 0.0) + 1.0
            elif event == "end" and tag in ("vertex", "triangle"):
                node.clear()
    except etree.XMLSyntaxError:
        _wrong("a model that is no whole XML", "a file that is whole")
    if max(total, *sizes.values(), 0.0) > limits.MESH_TRIANGLES:
        _wrong(
            "objects used so often that there are too many triangles",
            f"a coarser mesh: {limits.MESH_TRIANGLES} triangles at most",
        )


def _check_step(data: bytes) -> None:
    if not data.lstrip().startswith(b"ISO-10303-21"):
        _wrong("a file that does not begin as STEP does", _WANTED["step"])
    if b"END-ISO-10303-21" not in data[-4096:]:
        _wrong("a STEP file without its end: cut off", "all of it")


def _need_step_reader() -> None:
    from importlib.util import find_spec

    if find_spec("cascadio") is None:
        _wrong(
            "a STEP file, and nothing installed that reads it",
            "pip install 'loopsolver[step]', or the part written as STL",
        )


_CHECKS: Final[dict[str, Callable[[bytes], None]]] = {
    "stl": _check_stl,
    "obj": _check_obj,
    "ply": _check_ply,
    "glb": _check_glb,
    "3mf": _check_3mf,
    "step": _check_step,
    "stp": _check_step,
}

_WANTED: Final = {
    kind: f"a mesh of triangles in {'STEP' if kind in _STEP_KINDS else kind.upper()}"
    for kind in KINDS
}
