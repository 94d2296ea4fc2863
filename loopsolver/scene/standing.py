"""Where components, their bodies and their points stand, as a scene file has them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.mesh_shape import MeshShape
from loopsolver.geometry.solids import Box, Cylinder, Mesh, bounds
from loopsolver.geometry.vectors import AXES, Array, Point, point
from loopsolver.scene.mesh_files import shape_in
from loopsolver.scene.point_names import DATUM_POINT, ORIGIN
from loopsolver.scene.quantities import Measured
from loopsolver.scene.schema import ComponentTable, SceneFile
from loopsolver.scene.shapes import BodyTable, ShapeTable
from loopsolver.shelf.parts import ShelfPart, part_of
from loopsolver.tolerances import TOUCH

_ZERO: Final = (0.0, 0.0, 0.0)


def written_frames(data: SceneFile) -> dict[str, Frame]:
    """Return where every component stands, by its name, as position or place has it.

    A coordinate that is left to the readings is not a number, as is what hangs on it.
    """
    frames: dict[str, Frame] = {}

    def settle(name: str) -> Frame:
        if name not in frames:
            part = data.components[name]
            origin = np.full(3, math.nan)
            if part.position is not None:
                origin = _counted(part, data.case.inner)
            elif part.place is not None:
                start, _, own = part.place.start.partition(".")
                from_point = np.zeros(3)
                if start != DATUM_POINT:
                    from_point = settle(start).origin + own_point(
                        data.components[start], own
                    )
                origin = (
                    from_point
                    + [one.mean for one in part.place.offset]
                    - own_point(part, part.place.point)
                )
            frames[name] = plain_frame(replace(turned(part), origin=point(origin)))
        return frames[name]

    return {name: settle(name) for name in data.components}


def turned(part: ComponentTable) -> Frame:
    """Return a component's frame as it is turned, at the datum."""
    return _frame(None, part.rotation)


def own_point(part: ComponentTable, name: str) -> Array:
    """Return a point of a component from its origin, along the case's axes, (3,) [mm].

    Parameters
    ----------
    part : ComponentTable
    name : str
        "origin", a port's or point's name, a corner such as "+x-y+z"; or a face such as
        "+x", of which the coordinate along its axis counts.
    """
    if name == ORIGIN:
        return np.zeros(3)
    if name in part.ports or name in part.points:
        own = part.points.get(name) or part.ports[name].position
        return turned(part).rotation @ means(own)
    low, high = _extent(part)
    chosen = [high if f"+{letter}" in name else low for letter in "xyz"]
    return np.array([side[axis] for axis, side in enumerate(chosen)])


def _extent(part: ComponentTable) -> Array:
    """Return the lowest and highest x, y, z of a component's bodies, as they stand."""
    corners = np.array([bounds(solid_in(turned(part), body)) for body in part.bodies])
    return np.array([corners[:, 0].min(axis=0), corners[:, 1].max(axis=0)])


def _counted(part: ComponentTable, inner: Sequence[Measured] | None) -> Array:
    """Return the origin of a component with a position, walls counted from (3,) [mm]."""
    origin = np.array(means(part.position or ()))
    for axis, one in enumerate(part.position or ()):
        if one.wall is not None:
            face = float(own_point(part, one.wall)[axis])
            at = inner[axis].mean if inner and one.wall[0] == "+" else 0.0
            origin[axis] = at + inward(one.wall) * one.mean - face
    return origin


def ports_of_shelf(part: ComponentTable) -> Iterator[tuple[str, ShelfPart]]:
    """Yield the ports that stand where the shelf has them, each with its part there."""
    if part.part is None:
        return
    shelf = part_of(part.part.order)
    for name, port in shelf.layout.ports.items():
        if math.dist(means(part.ports[name].position), port.position) <= TOUCH:
            yield name, shelf


def inward(wall: str) -> int:
    """Return 1 where a coordinate grows from a wall inwards, else -1."""
    return 1 if wall[0] == "-" else -1


def solid_in(outside: Frame, table: ShapeTable) -> Box | Cylinder | Mesh:
    """Return a body or keep-out in the case frame; `outside` is what it is given in."""
    if isinstance(table, BodyTable) and table.mesh is not None:
        return _mesh_in(outside, table, shape_in(table.mesh, unit=table.unit or "mm"))
    return convex_in(outside, table)


def _mesh_in(outside: Frame, table: BodyTable, shape: MeshShape) -> Mesh:
    """Return a mesh with its least corner, its middle or its origin where it is to be."""
    low, high = shape.box
    held = np.zeros(3)
    if table.corner is not None:
        held = low
    elif table.centre is not None:
        held = (low + high) / 2.0
    at = Frame(origin=point(-held)).inside(
        _frame(table.corner or table.centre, table.rotation)
    )
    return Mesh(frame=plain_frame(at.inside(outside)), shape=shape)


def convex_in(outside: Frame, table: ShapeTable) -> Box | Cylinder:
    """Return a box or cylinder in the case frame; `outside` is what it is given in."""
    own = _frame(table.corner or table.base or table.centre, table.rotation)
    is_centred = table.centre is not None
    if table.cylinder is None:
        size = means(table.box or ())
        middle = _ZERO if is_centred else point(0.5 * length for length in size)
        box = Frame(origin=middle).inside(own).inside(outside)
        return Box(frame=plain_frame(box), size=size)
    axis, height = table.axis or AXES["+z"], table.cylinder.height.mean
    middle = _ZERO if is_centred else point(0.5 * height * part for part in axis)
    along = axis_frame(middle, axis).inside(own).inside(outside)
    return Cylinder(
        frame=plain_frame(along), diameter=table.cylinder.diameter.mean, height=height
    )


def _frame(
    position: Sequence[Measured] | None, rotation_deg: Sequence[float] | None
) -> Frame:
    matrix = rotation_matrix(rotation_deg or _ZERO)
    return Frame.from_rotation(_ZERO if position is None else means(position), matrix)


def plain_frame(frame: Frame) -> Frame:
    """Return the frame without negative zeros, so that equal scenes print equally."""
    x, y, z = (plain(axis) for axis in frame.axes)
    return Frame(origin=plain(frame.origin), axes=(x, y, z))


def plain(values: Point) -> Point:
    """Return three numbers without negative zeros."""
    return point(value + 0.0 for value in values)


def means(values: Sequence[Measured]) -> Point:
    """Return the means of three lengths that were measured [mm]."""
    return point(value.mean for value in values)
