"""Forty mesh files that are broken, each in a way of its own, made anew in every test."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import trimesh

Write = Callable[[Path], None]


@dataclass(frozen=True, kw_only=True)
class BrokenMesh:
    """A file as it is written into a scene's folder, and words that its message has."""

    name: str
    write: Write
    words: str
    unit: str = "mm"


def box() -> trimesh.Trimesh:
    return trimesh.creation.box((60.0, 30.0, 40.0))


def exported(kind: str) -> bytes:
    data = box().export(file_type=kind)
    return data.encode() if isinstance(data, str) else bytes(data)


def holding(data: bytes) -> Write:
    def write(path: Path) -> None:
        path.write_bytes(data)

    return write


def cut(kind: str, share: float) -> Write:
    data = exported(kind)
    return holding(data[: int(len(data) * share)])


def stl_with(number: float) -> bytes:
    """A binary STL file, the first coordinate of its first corner overwritten."""
    data = bytearray(exported("stl"))
    struct.pack_into("<f", data, 84 + 12, number)
    return bytes(data)


def scaled(kind: str, by: float) -> bytes:
    mesh = box()
    mesh.apply_scale(by)
    data = mesh.export(file_type=kind)
    return data.encode() if isinstance(data, str) else bytes(data)


def glb(table: dict[str, object]) -> bytes:
    text = json.dumps(table).encode()
    text += b" " * (-len(text) % 4)
    head = struct.pack("<4sII", b"glTF", 2, 20 + len(text))
    return head + struct.pack("<I4s", len(text), b"JSON") + text


def zipped(files: dict[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return stream.getvalue()


def model(inside: str, before: str = "") -> bytes:
    space = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    return (
        f'<?xml version="1.0"?>{before}<model unit="millimeter" xmlns="{space}">'
        f"{inside}</model>"
    ).encode()


def _much_used() -> bytes:
    """Objects that hold the one before ten times each, eight deep."""
    triangle = (
        '<object id="0" type="model"><mesh><vertices><vertex x="0" y="0" z="0"/>'
        '<vertex x="9" y="0" z="0"/><vertex x="0" y="9" z="0"/></vertices><triangles>'
        '<triangle v1="0" v2="1" v3="2"/></triangles></mesh></object>'
    )
    nested = "".join(
        f'<object id="{n}" type="model"><components>'
        + f'<component objectid="{n - 1}"/>' * 10
        + "</components></object>"
        for n in range(1, 9)
    )
    build = '<build><item objectid="8"/></build>'
    return model(f"<resources>{triangle}{nested}</resources>{build}")


def _many_corners(path: Path) -> None:
    """A million corners and no triangle."""
    corners = '<vertex x="1" y="2" z="3"/>' * 1_000_000
    mesh = f"<mesh><vertices>{corners}</vertices><triangles/></mesh>"
    inside = f'<resources><object id="1">{mesh}</object></resources>'
    path.write_bytes(zipped({"3D/3dmodel.model": model(inside)}))


def _large(path: Path) -> None:
    """A file of 2 GB that takes no room on the disk."""
    with path.open("wb") as stream:
        stream.truncate(2_000_000_000)


def _outside(path: Path) -> None:
    (path.parent.parent / "elsewhere.stl").write_bytes(exported("stl"))


def _link_outside(path: Path) -> None:
    _outside(path)
    path.symlink_to(path.parent.parent / "elsewhere.stl")


_HTML = b"<!DOCTYPE html><html><body>404: no such part</body></html>" * 4
_PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 2
_PLY_HEAD = (
    b"ply\nformat binary_little_endian 1.0\nelement vertex %d\nproperty float x\n"
    b"property float y\nproperty float z\nelement face %d\n"
    b"property list uchar int vertex_indices\nend_header\n"
)
_NODES: Final[dict[str, object]] = {
    "asset": {"version": "2.0"},
    "scenes": [{"nodes": [0]}],
    "scene": 0,
}


def _broken() -> list[BrokenMesh]:
    one = BrokenMesh
    empties = [
        one(name=f"empty.{kind}", write=holding(b""), words="an empty file")
        for kind in ("stl", "obj", "ply", "glb", "3mf", "step")
    ]
    cut_off = [
        one(name="half.stl", write=cut("stl", 0.5), words="cut off"),
        one(name="text.stl", write=cut("stl_ascii", 0.5), words="cut off"),
        one(name="half.obj", write=cut("obj", 0.3), words="without faces"),
        one(name="half.ply", write=cut("ply", 0.7), words="found"),
        one(name="half.glb", write=cut("glb", 0.6), words="cut off"),
        one(name="half.3mf", write=cut("3mf", 0.6), words="cut off"),
        one(
            name="half.step",
            write=holding(b"ISO-10303-21;\nHEADER;\n"),
            words="cut off",
        ),
    ]
    mislabelled = [
        one(name="page.stl", write=holding(_HTML), words="begin as STL"),
        one(name="page.obj", write=holding(_HTML), words="no OBJ text"),
        one(name="page.ply", write=holding(_HTML), words="begin as PLY"),
        one(name="page.glb", write=holding(_HTML), words="begin as GLB"),
        one(name="page.3mf", write=holding(_HTML), words="3MF archive"),
        one(name="page.step", write=holding(_HTML), words="begin as STEP"),
        one(name="picture.stl", write=holding(_PNG), words="STL"),
        one(name="ply.stl", write=holding(exported("ply")), words="STL"),
        one(name="stl.glb", write=holding(exported("stl")), words="begin as GLB"),
        one(name="card.fbx", write=holding(exported("stl")), words="does not end in"),
        one(name="card", write=holding(exported("stl")), words="does not end in"),
    ]
    numbers = [
        one(
            name="nan.stl",
            write=holding(stl_with(np.nan)),
            words="not numbers",
        ),
        one(
            name="inf.stl",
            write=holding(stl_with(np.inf)),
            words="not numbers",
        ),
        one(
            name="nan.obj",
            write=holding(b"v nan 0 0\nv 9 0 0\nv 0 9 0\nf 1 2 3\n"),
            words="not numbers",
        ),
        one(name="far.obj", write=holding(scaled("obj", 1e6)), words="another unit"),
        one(
            name="inches.stl", write=holding(scaled("stl", 10.0)), words="600", unit="m"
        ),
        one(
            name="metres.stl", write=holding(scaled("stl", 1e-3)), words="another unit"
        ),
        one(
            name="flat.obj",
            write=holding(b"v 0 0 0\nv 9 0 0\nv 18 0 0\nf 1 2 3\n"),
            words="with an area",
        ),
        one(
            name="lost.obj",
            write=holding(b"v 0 0 0\nv 9 0 0\nf 1 2 7\n"),
            words="found",
        ),
    ]
    large = [
        one(name="huge.stl", write=_large, words="50 MB"),
        one(
            name="many.ply",
            write=holding(_PLY_HEAD % (8, 4_000_000_000)),
            words="announces",
        ),
        one(
            name="many.stl",
            write=holding(bytes(80) + struct.pack("<I", 40_000_000) + bytes(50)),
            words="cut off",
        ),
        one(
            name="many.glb",
            write=holding(
                glb({**_NODES, "nodes": [{}], "accessors": [{"count": 1e15}]})
            ),
            words="too many",
        ),
        one(
            name="bomb.3mf",
            write=holding(zipped({"3D/3dmodel.model": bytes(300_000_000)})),
            words="unpacks to 300 MB",
        ),
        one(
            name="nested.3mf",
            write=holding(zipped({"3D/3dmodel.model": _much_used()})),
            words="too many triangles",
        ),
        one(name="corners.3mf", write=_many_corners, words="1000006 elements"),
        one(
            name="entities.3mf",
            write=holding(
                zipped(
                    {"3D/3dmodel.model": model("", '<!DOCTYPE m [<!ENTITY a "a">]>')}
                )
            ),
            words="entities",
        ),
        one(
            name="ring.glb",
            write=holding(
                glb({**_NODES, "nodes": [{"children": [1, 1]}, {"children": [0]}]})
            ),
            words="hold each other",
        ),
    ]
    outside = [
        one(name="../elsewhere.stl", write=_outside, words="out of the scene's folder"),
        one(name="link.stl", write=_link_outside, words="out of the scene's folder"),
        one(name="missing.stl", write=lambda _: None, words="no such file"),
        one(name="folder.stl", write=lambda path: path.mkdir(), words="no such file"),
    ]
    return [*empties, *cut_off, *mislabelled, *numbers, *large, *outside]


BROKEN: Final = {broken.name: broken for broken in _broken()}
