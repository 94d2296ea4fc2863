"""Boxes, cylinders and meshes in a scene file: bodies of components, and keep-outs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Annotated, Any, ClassVar, Final

from pydantic import Field

from loopsolver.geometry.vectors import Point
from loopsolver.scene import limits
from loopsolver.scene.choices import DIRECTION, number, one_of, plain_text
from loopsolver.scene.findings import Finding, shown
from loopsolver.scene.mesh_checks import MeshFileError
from loopsolver.scene.mesh_files import (
    MESH_UNITS,
    MeshFile,
    mesh_file,
    shape_in,
)
from loopsolver.scene.quantities import (
    Kind,
    Measured,
    Reading,
    found,
    length,
    measured,
    positive_length,
    refuse,
)
from loopsolver.scene.toml_table import Table
from loopsolver.words import in_commas

THREE = Field(min_length=3, max_length=3)
_SIZE = measured(positive_length(most=limits.BODY_MOST))
SIGNED_LENGTH = length(least=-limits.COORDINATE, most=limits.COORDINATE)

Position = Annotated[list[Annotated[Measured, measured(SIGNED_LENGTH)]], THREE]
BoxSize = Annotated[list[Annotated[Measured, _SIZE]], THREE]
Rotation = Annotated[
    list[Annotated[float, number("degrees", least=-360.0, most=360.0)]], THREE
]
_STARTS: Final = (("box", "corner", "base"), ("cylinder", "base", "corner"))
"""Each shape with what it may start from, and what the other one starts from."""

Name = Annotated[str, plain_text(most=limits.NAME_MOST)]


class CylinderTable(Table):
    """A cylinder's measures."""

    written: ClassVar[str] = "cylinder = { diameter = ..., height = ... }"

    diameter: Annotated[Measured, _SIZE]
    """the cylinder's diameter"""

    height: Annotated[Measured, _SIZE]
    """the cylinder's height along its axis"""


class ShapeTable(Table):
    """A box or a cylinder, placed."""

    box: BoxSize | None = None
    """three lengths above 0: along x, y and z"""

    cylinder: CylinderTable | None = None
    """{ diameter = 60, height = 150 }"""

    corner: Position | None = None
    """of a box: the position of its least x, y and z: three lengths; where neither
    corner nor centre is written, the origin
    """

    base: Position | None = None
    """of a cylinder: the position where its axis starts: three lengths; where neither
    base nor centre is written, the origin
    """

    centre: Position | None = None
    """the position of the middle: three lengths"""

    rotation: Rotation | None = None
    """degrees about x, then y, then z, each -360 to 360; about that point"""

    axis: Annotated[Point, DIRECTION] | None = None
    """the direction of the cylinder's axis"""

    @classmethod
    def misfits(cls, data: dict[str, Any]) -> Iterable[Finding]:
        """Return what is wrong with the choice of keys."""
        shapes = [key for key in ("box", "cylinder", "mesh") if key in data]
        if len(shapes) != 1:
            yield Finding(
                found=" and ".join(shapes) or "no shape",
                wanted=f"exactly one of {' or '.join(cls._shapes())} in a "
                f"{cls.written} table",
            )
        for shape, own, other in _STARTS:
            if shapes == [shape] and other in data:
                yield Finding(
                    path=(other,),
                    found=f"a {other} of a {shape}",
                    wanted=f"{own} or centre: a {shape} has no {other}",
                )
        points = [key for key in ("corner", "base", "centre") if key in data]
        if len(points) > 1:
            yield Finding(
                path=(points[-1],),
                found=in_commas(points),
                wanted="one of them: each says where the body is",
            )
        if shapes == ["box"] and "axis" in data:
            yield Finding(
                path=("axis",),
                found="an axis of a box",
                wanted="rotation = [x, y, z] in degrees: only a cylinder has an axis",
            )

    @classmethod
    def _shapes(cls) -> tuple[str, ...]:
        return ("box = [x, y, z]", CylinderTable.written)


def _mesh_file(value: Any, reading: Reading) -> MeshFile:
    if not isinstance(value, str) or not value.strip():
        found(value, 'the path of a mesh file, such as "parts/card.stl"')
    try:
        return mesh_file(value, reading.folder)
    except MeshFileError as fault:
        refuse([Finding(found=f"{shown(value)}: {fault.found}", wanted=fault.wanted)])


MESH_FILE: Final = Kind(_mesh_file, {"type": "string"})


class BodyTable(ShapeTable):
    """One body of a component, in the component's frame."""

    written: ClassVar[str] = "[[components.NAME.bodies]]"

    mesh: Annotated[MeshFile, MESH_FILE] | None = None
    """a mesh file in the scene's folder or below it: STL, OBJ, PLY, GLB, 3MF or STEP"""

    unit: Annotated[str, one_of([*MESH_UNITS])] | None = None
    """the unit that a mesh is drawn in: "mm", "cm", "m" or "in\""""

    @classmethod
    def misfits(cls, data: dict[str, Any]) -> Iterator[Finding]:
        """Return what is wrong with the choice of keys, meshes among it."""
        yield from super().misfits(data)
        if "mesh" in data:
            if "unit" not in data:
                yield Finding(
                    path=("mesh",),
                    found="a mesh without its unit",
                    wanted=f"unit = {' or '.join(shown(unit) for unit in MESH_UNITS)} "
                    "beside it: mesh files do not say what they are drawn in",
                )
            for key in ("base", "axis"):
                if key in data:
                    yield Finding(
                        path=(key,),
                        found=f"{'an' if key == 'axis' else 'a'} {key} of a mesh",
                        wanted="corner, centre or neither to place it, rotation to turn it",
                    )
        elif "unit" in data:
            yield Finding(
                path=("unit",),
                found=shown(data["unit"]),
                wanted='no unit here: a length carries its own, such as "2 in"',
            )

    def contradictions(self, _reading: Reading) -> Iterator[Finding]:
        """Return what is wrong with the contents of a mesh file."""
        if self.mesh is None or self.unit is None:
            return
        try:
            shape_in(self.mesh, unit=self.unit)
        except MeshFileError as fault:
            told = f"{shown(self.mesh.name)}: {fault.found}"
            yield Finding(path=("mesh",), found=told, wanted=fault.wanted)

    @classmethod
    def _shapes(cls) -> tuple[str, ...]:
        return (*super()._shapes(), 'mesh = "FILE"')


class KeepOutTable(ShapeTable):
    """Space that must stay free, though nothing is there."""

    written: ClassVar[str] = "[[keep_outs]]"

    name: Name
    """a name for the space, for messages"""
