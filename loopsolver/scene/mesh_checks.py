"""What a mesh file holds, by its own headers, before a library reads it.

So a wrong one is told for what it is, and a small one cannot ask for all memory.
"""

from __future__ import annotations

import io
import json
import re
import struct
import zipfile
import zlib
from collections.abc import Callable
from typing import Final, NoReturn

from loopsolver.errors import LoopsolverError
from loopsolver.scene import limits

STEP_KINDS: Final = ("step", "stp")
KINDS: Final = ("stl", "obj", "ply", "glb", "3mf", *STEP_KINDS)
"""The endings of the files that are read."""

_INCH: Final = re.compile(rb"CONVERSION_BASED_UNIT\s*\(\s*'INCH'", re.IGNORECASE)
_LENGTH_UNIT: Final = re.compile(
    rb"SI_UNIT\s*\(\s*(\.\w+\.|\$)\s*,\s*\.METRE\.\s*\)", re.IGNORECASE
)
_SI_PREFIXES: Final = {b"$": "m", b".CENTI.": "cm", b".MILLI.": "mm"}
"""Units of length in a STEP file, as scenes name them."""

_COUNTED: Final = ("object", "component", "item", "vertices", "triangles")
"""What of a 3MF model tells how many triangles it holds."""


class MeshFileError(LoopsolverError):
    """A mesh file that cannot be read: `found` and `wanted` as in a Finding."""

    def __init__(self, found: str, wanted: str) -> None:
        super().__init__(f"found {found}, wanted {wanted}")
        self.found, self.wanted = found, wanted


def wrong(found: str, wanted: str) -> NoReturn:
    """Raise a MeshFileError."""
    raise MeshFileError(found, wanted)


def _check_stl(data: bytes) -> None:
    if len(data) >= 84:
        (count,) = struct.unpack_from("<I", data, 80)
        if len(data) == 84 + 50 * count:
            if not count:
                wrong("an STL file without triangles", FORMAT_WANTED["stl"])
            return
    if data.lstrip()[:5].lower() != b"solid":
        if len(data) >= 84 and 84 <= len(data) < 84 + 50 * count <= 50e9:
            wrong(
                f"{len(data)} bytes where an STL file of {count} triangles has "
                f"{84 + 50 * count}: cut off, or no STL",
                "the whole file",
            )
        wrong("a file that does not begin as STL does", FORMAT_WANTED["stl"])
    if b"endsolid" not in data[-4096:].lower():
        wrong("a text STL file without its endsolid: cut off", "all of it")
    if b"vertex" not in data:
        wrong("an STL file without triangles", FORMAT_WANTED["stl"])


def _check_obj(data: bytes) -> None:
    lines = b"\n" + data
    if b"\0" in data or b"\nv" not in lines:
        wrong("a file that is no OBJ text with vertices", FORMAT_WANTED["obj"])
    if b"\nf" not in lines:
        wrong("an OBJ file without faces", FORMAT_WANTED["obj"])


def ply_counts(data: bytes) -> dict[str, int]:
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
        wrong("a file that does not begin as PLY does", FORMAT_WANTED["ply"])
    counts = ply_counts(data)
    if not counts.get("vertex") or not counts.get("face"):
        wrong("a PLY file without vertices or faces", FORMAT_WANTED["ply"])
    for name, count in counts.items():
        if count > len(data):  # an element takes a byte at least
            wrong(
                f"a header that announces {count} of {name} in {len(data)} bytes",
                "a file that is whole",
            )


def _check_glb(data: bytes) -> None:
    if data[:4] != b"glTF" or len(data) < 20:
        wrong("a file that does not begin as GLB does", FORMAT_WANTED["glb"])
    (said,) = struct.unpack_from("<I", data, 8)
    if said != len(data):
        wrong(f"{len(data)} bytes where the header says {said}: cut off", "all of it")
    (length,) = struct.unpack_from("<I", data, 12)
    try:
        tree = json.loads(data[20 : 20 + length])
        counts = [each["count"] for each in tree.get("accessors", ())]
        children = [c for node in tree["nodes"] for c in node.get("children", ())]
        outside = [each for each in tree.get("buffers", ()) if "uri" in each]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        wrong("a GLB file without a readable table", FORMAT_WANTED["glb"])
    if outside:
        wrong("a GLB file that points to other files", "one file with all")
    if (
        any(
            not isinstance(count, int) or not 0 <= count <= limits.MESH_BYTES // 4
            for count in counts
        )
        or sum(counts) > limits.MESH_BYTES
    ):
        wrong("a table that announces too many values", "a coarser mesh")
    if len(children) != len(set(children)) or len(children) > limits.MESH_PARTS:
        wrong("parts that hold each other", "a tree of parts")


def _check_3mf(data: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            sizes = [info.file_size for info in archive.infolist()]
            if sum(sizes) > limits.MESH_BYTES or len(sizes) > limits.MESH_PARTS:
                wrong(
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
        wrong(
            "a file that is no whole 3MF archive: cut off, or something else",
            FORMAT_WANTED["3mf"],
        )
    except zlib.error:
        wrong("an archive with damaged contents", FORMAT_WANTED["3mf"])
    if not models:
        wrong("an archive without a model", FORMAT_WANTED["3mf"])
    for model in models:
        _check_model(model)


def _check_model(model: bytes) -> None:
    """Raise where a 3MF model defines entities, or holds or uses too much."""
    if b"<!DOCTYPE" in model or b"<!ENTITY" in model:
        wrong("a model that defines entities", "a plain model")
    elements = model.count(b"<") - model.count(b"</") - model.count(b"<?")
    if elements > limits.MESH_ELEMENTS:
        wrong(f"{elements} elements", f"{limits.MESH_ELEMENTS} at most")
    from lxml import etree

    sizes: dict[str, float] = {}
    name, total = "", 0.0
    try:
        stream = etree.iterparse(
            io.BytesIO(model),
            events=("start", "end"),
            tag=[f"{{*}}{tag}" for tag in _COUNTED],
            resolve_entities=False,
        )
        for event, node in stream:
            tag = etree.QName(node).localname
            if event == "end" and tag in ("vertices", "triangles"):
                found = sum(1 for _ in node.iter("{*}triangle"))
                sizes[name] = sizes.get(name, 0.0) + found
                node.clear()
            elif event == "start" and tag == "object":
                name = node.get("id", "")
                sizes[name] = 0.0
            elif event == "start" and tag in ("component", "item"):
                used = sizes.get(node.get("objectid", ""), 0.0)
                total += used if tag == "item" else 0.0
                sizes[name] = sizes.get(name, 0.0) + (used if tag == "component" else 0)
    except etree.XMLSyntaxError:
        wrong("a model that is no whole XML", "a file that is whole")
    if max(total, *sizes.values(), 0.0) > limits.MESH_TRIANGLES:
        wrong(
            "objects used so often that there are too many triangles",
            f"a coarser mesh: {limits.MESH_TRIANGLES} triangles at most",
        )


def _check_step(data: bytes) -> None:
    if not data.lstrip().startswith(b"ISO-10303-21"):
        wrong("a file that does not begin as STEP does", FORMAT_WANTED["step"])
    if b"END-ISO-10303-21" not in data[-4096:]:
        wrong("a STEP file without its end: cut off", "all of it")


def check_step_unit(data: bytes, unit: str) -> None:
    """Raise where a STEP file says itself that it was drawn in another unit.

    Its reader goes by what the file says.
    """
    said = set(_LENGTH_UNIT.findall(data))
    found = {_SI_PREFIXES.get(prefix.strip().upper()) for prefix in said}
    if _INCH.search(data):
        found = {"in"}
    if len(found) == 1 and None not in found and unit not in found:
        (own,) = found
        wrong(
            f'a STEP file that was drawn in {own}, and unit = "{unit}"',
            f'unit = "{own}", as the file says',
        )


def need_step_reader() -> None:
    """Raise where what reads STEP files is not installed."""
    from importlib.util import find_spec

    if find_spec("cascadio") is None:
        wrong(
            "a STEP file, and nothing installed that reads it",
            "pip install 'loopsolver[step]', or the part written as STL",
        )


CHECKS: Final[dict[str, Callable[[bytes], None]]] = {
    "stl": _check_stl,
    "obj": _check_obj,
    "ply": _check_ply,
    "glb": _check_glb,
    "3mf": _check_3mf,
    "step": _check_step,
    "stp": _check_step,
}

FORMAT_WANTED: Final = {
    kind: f"a mesh of triangles in {'STEP' if kind in STEP_KINDS else kind.upper()}"
    for kind in KINDS
}
