"""Circular rims of a mesh, to take as ports: rows, sentences and plain values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

from loopsolver.geometry.mesh_shape import MeshShape
from loopsolver.geometry.rims import Rim, RimKind
from loopsolver.geometry.vectors import Point, axis_name
from loopsolver.lengths import MILLIMETRES, fixed
from loopsolver.report.text_table import TextTable
from loopsolver.scene.body_doubts import no_inside_words
from loopsolver.tolerances import WRITTEN_DECIMALS
from loopsolver.words import counted

_DECIMALS: Final = 2
"""Of lengths [mm]: a mesh was drawn, not measured with a rule."""

_KINDS: Final[dict[RimKind, str]] = {
    "hole": "mouth of a hole",
    "stub": "end of a stub",
    "open": "where the surface ends",
    "bottom": "bottom of a hole",
    "foot": "foot of a stub",
}


def mesh_words(shape: MeshShape) -> str:
    """Return how large a mesh is, and of how many triangles."""
    sizes = shape.box[1] - shape.box[0]
    size = " x ".join(fixed(one, _DECIMALS) for one in sizes.tolist())
    return f"{counted(len(shape.faces), 'triangle')}, {size} mm"


def rim_table(rims: Sequence[Rim]) -> TextTable:
    """Return a row a rim: what it is, how wide, where, and where it points."""
    return TextTable(
        headings=("", "rim", "diameter", "x", "y", "z", "direction", "off round"),
        rows=[
            [
                str(number),
                _KINDS[rim.kind],
                fixed(rim.diameter, _DECIMALS),
                *(fixed(one, _DECIMALS) for one in rim.centre),
                direction_text(rim.axis),
                fixed(rim.off, _DECIMALS),
            ]
            for number, rim in enumerate(rims, start=1)
        ],
        words=frozenset({1}),
    )


def direction_text(axis: Point) -> str:
    """Return a direction as a scene file takes it.

    >>> direction_text((0.0, 0.0, -1.0)), direction_text((0.6, 0.0, 0.8))
    ('"-z"', '[0.6000, 0.0000, 0.8000]')
    """
    name = axis_name(axis)
    return f'"{name}"' if name else f"[{', '.join(fixed(one, 4) for one in axis)}]"


def rim_remarks(shape: MeshShape, rims: Sequence[Rim]) -> Iterator[str]:
    """Yield how rims become ports, and what is doubtful about the mesh."""
    if rims:
        yield (
            "Lengths in mm, from the file's own origin. Where the mesh is a body with "
            "neither corner nor centre, x, y, z are a port's position and the direction "
            "is its direction, which points out of the part."
        )
        yield (
            "Not every rim is a port: choose by the diameter, and look at it with "
            "`loopsolver view`. The circle runs through the corners of the mesh."
        )
    else:
        yield (
            "No circular rim: no edge of the mesh, and no end of its surface, is a "
            "circle of 8 corners or more. A rim that is rounded off has no edge: take "
            "the port's position and direction from the drawing, or measure them."
        )
    if not shape.has_inside:
        yield f"{no_inside_words(shape.flaws).capitalize()}."


def rims_document(shape: MeshShape, rims: Sequence[Rim]) -> dict[str, Any]:
    """Return the rims as plain JSON values, lengths in mm."""
    low, high = shape.box
    return {
        "units": MILLIMETRES.unit,
        "triangles": len(shape.faces),
        "low": _rounded(low.tolist()),
        "high": _rounded(high.tolist()),
        "has_inside": shape.has_inside,
        "rims": [
            {
                "kind": rim.kind,
                "centre": _rounded(rim.centre),
                "axis": _rounded(rim.axis),
                "diameter": round(rim.diameter, WRITTEN_DECIMALS),
                "off_round": round(rim.off, WRITTEN_DECIMALS),
                "corners": rim.corners,
            }
            for rim in rims
        ],
    }


def _rounded(values: Sequence[float]) -> list[float]:
    return [round(one, WRITTEN_DECIMALS) + 0.0 for one in values]
