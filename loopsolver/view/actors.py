"""What is drawn, and how strong or faint: meshes with their look, not yet on screen."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import pyvista as pv

from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import (
    Array,
    Point,
    difference,
    offset,
    point,
    points_array,
)
from loopsolver.scene.model import Port, Scene
from loopsolver.scene.walls import PICTURED, room
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import BendArc, Centreline, Straight, pieces
from loopsolver.view import palette
from loopsolver.view.ends import RunEnd
from loopsolver.view.palette import Colour
from loopsolver.view.surfaces import (
    arc_surface,
    arrow,
    merged,
    separate_lines,
    solid_edges,
    solid_surface,
    straight_surface,
    surface,
    tube_end,
    wire_ring,
)

FLOOR_SPACING: Final = 50.0
"""Distance between the lines on the floor of the case [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How a mesh is drawn.

    Attributes
    ----------
    kind : "surface" or "lines"
    colour : Colour
    opacity : float
        1 for solid things.
    line_width : float
        Of lines [pixels at the usual screen].
    shine : float
        Share of light that is mirrored, 0 to 1.
    """

    kind: Literal["surface", "lines"] = "surface"
    colour: Colour
    opacity: float = 1.0
    line_width: float = 1.0
    shine: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StyledMesh:
    """A mesh [mm, case frame] and its look."""

    mesh: pv.PolyData
    look: Look


def joined(drawings: Iterable[StyledMesh]) -> tuple[StyledMesh, ...]:
    """Return drawings with those of one look joined into one: fewer are drawn faster."""
    by_look: dict[Look, list[pv.PolyData]] = {}
    for drawing in drawings:
        if drawing.mesh.n_points:
            by_look.setdefault(drawing.look, []).append(drawing.mesh)
    return tuple(
        StyledMesh(mesh=merged(meshes), look=look) for look, meshes in by_look.items()
    )


# --- the case ---------------------------------------------------------------------


def case_outline(scene: Scene) -> StyledMesh:
    """Return the twelve edges of the case's inside."""
    _, inner = room(scene)
    centre = point(length / 2.0 for length in inner)
    return StyledMesh(
        mesh=solid_edges(Box(frame=Frame(origin=centre), size=inner)),
        look=Look(kind="lines", colour=palette.CASE, line_width=1.6),
    )


def floor_axis(up: Point) -> tuple[int, int]:
    """Return the axis nearest to up (0, 1, 2), and 1 or -1: which way along it is up."""
    axis = int(np.argmax(np.abs(up)))
    return axis, 1 if up[axis] > 0 else -1


def floor(scene: Scene) -> tuple[StyledMesh, StyledMesh]:
    """Return the lowest wall of the case as a face, and the lines drawn on it."""
    axis, sign = floor_axis(scene.up)
    first, second = (axis + 1) % 3, (axis + 2) % 3
    _, inner = room(scene)
    level = 0.0 if sign > 0 else inner[axis]
    width, depth = inner[first], inner[second]

    def place(along: Array, across: Array) -> Array:
        spots = np.full((len(along), 3), level)
        spots[:, first], spots[:, second] = along, across
        return spots

    corners = place(np.array([0.0, width, width, 0.0]), np.array([0, 0, depth, depth]))
    normal = np.zeros((4, 3))
    normal[:, axis] = sign
    face = surface(corners, np.array([[0, 1, 2, 3]]), normal)
    columns = np.arange(FLOOR_SPACING, width, FLOOR_SPACING)
    rows = np.arange(FLOOR_SPACING, depth, FLOOR_SPACING)
    starts = [place(columns, 0 * columns), place(0 * rows, rows)]
    ends = [place(columns, 0 * columns + depth), place(0 * rows + width, rows)]
    lines = separate_lines(np.vstack(starts), np.vstack(ends))
    return (
        StyledMesh(mesh=face, look=Look(colour=palette.FLOOR, opacity=0.55)),
        StyledMesh(mesh=lines, look=Look(kind="lines", colour=palette.FLOOR_GRID)),
    )


def datum_arrows(scene: Scene) -> StyledMesh:
    """Return three arrows from the datum corner along x, y and z."""
    length = datum_arrow_length(scene)
    arrows = [arrow((0.0, 0.0, 0.0), axis, length=length, thick=2.2) for axis in _UNITS]
    return StyledMesh(mesh=merged(arrows), look=Look(colour=palette.DATUM))


def datum_points(scene: Scene) -> Array:
    """Return spots along the datum arrows that no label should hide, (n, 3) [mm]."""
    shares = np.linspace(0.2, 1.0, 6)[:, None] * datum_arrow_length(scene)
    return np.vstack([shares * np.asarray(axis) for axis in _UNITS])


DATUM_NAME_AT: Final = 1.2
"""Where a datum arrow's name goes, in lengths of the arrow from the datum."""


def datum_arrow_length(scene: Scene) -> float:
    """Return the length of the datum arrows [mm]."""
    low, high = room(scene, beyond=PICTURED)
    return min(difference(high, low)) * 0.16


_UNITS: Final[tuple[Point, ...]] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


PORT_LOOK: Final = Look(colour=palette.PORT, shine=0.1)

# --- ports, fittings, what is wanted ----------------------------------------------


def port_rim(port: Port, *, tube_diameter: float) -> StyledMesh:
    """Return the rim of a port, a little off the face so that a fitting can hide it."""
    rim = Cylinder(
        frame=axis_frame(offset(port.position, port.direction, 1.0), port.direction),
        diameter=tube_diameter * 1.25,
        height=1.2,
    )
    return StyledMesh(mesh=solid_surface(rim), look=PORT_LOOK)


def port_arrow(direction: Point, start: Point, *, tube_diameter: float) -> StyledMesh:
    """Return the arrow of a port, out of it from a place on its axis [mm]."""
    mesh = arrow(
        start, direction, length=tube_diameter * 2.2, thick=tube_diameter * 0.36
    )
    return StyledMesh(mesh=mesh, look=PORT_LOOK)


def fitting_drawings(end: RunEnd) -> tuple[StyledMesh, ...]:
    """Return the fitting of a run's end as cylinders, with a lip round its mouth."""
    look = Look(colour=palette.FITTING, shine=0.35)
    meshes = [solid_surface(solid) for solid in end.fitting]
    if end.fitting and isinstance(last := end.fitting[-1], Cylinder):
        radius = last.diameter / 2.0 - 0.8
        meshes.append(wire_ring(end.mouth, end.outlet, radius=radius, thick=1.6))
    return tuple(StyledMesh(mesh=mesh, look=look) for mesh in meshes)


def wanted_line(first: Point, second: Point) -> StyledMesh:
    """Return a dashed line between two places that no tube joins yet."""
    start, end = np.asarray(first), np.asarray(second)
    length = float(np.linalg.norm(end - start))
    dashes = max(1, round(length / 12.0))
    shares = (np.arange(dashes) / dashes)[:, None]
    starts = start + shares * (end - start)
    ends = starts + (end - start) * 0.55 / dashes
    return StyledMesh(
        mesh=separate_lines(starts, ends),
        look=Look(kind="lines", colour=palette.WANTED, line_width=2.4),
    )


# --- tubes ------------------------------------------------------------------------


SHOWN_TUBE: Final = (palette.STRAIGHT, palette.BEND)
"""Colours of straights and bends of the tube that is looked at."""

OTHER_TUBE: Final = (palette.OTHER_STRAIGHT, palette.OTHER_BEND)
OLD_TUBE: Final = (palette.OLD_STRAIGHT, palette.OLD_BEND)


def tube_drawings(
    centreline: Centreline, *, radius: float, colours: tuple[Colour, Colour]
) -> tuple[StyledMesh, ...]:
    """Return a tube at its true diameter: straights, bends, and both ends.

    Parameters
    ----------
    centreline : Centreline
    radius : float
        Outer radius of the tube [mm].
    colours : pair of Colour
        Of straights, and of bends.

    Returns
    -------
    tuple of StyledMesh
        The drawing of the bends is left out where there are none.
    """
    whole = pieces(centreline)
    straights = [
        straight_surface(piece, radius=radius)
        for piece in whole
        if isinstance(piece, Straight) and math.dist(piece.start, piece.end) > TOUCH
    ]
    bends = [
        arc_surface(arc, radius=radius) for arc in whole if isinstance(arc, BendArc)
    ]
    line = points_array(centreline.vertices)
    ends = [
        tube_end(point(line[end]), line[end] - line[inner], radius=radius)
        for end, inner in ((0, 1), (-1, -2))
    ]
    colouring = zip((straights, bends, ends), (*colours, palette.TUBE_END), strict=True)
    return joined(
        StyledMesh(mesh=mesh, look=Look(colour=colour, shine=0.4))
        for meshes, colour in colouring
        for mesh in meshes
    )
