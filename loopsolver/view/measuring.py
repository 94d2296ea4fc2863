"""Measuring in the window: what a click means, and how far it is from one to another.

What is round is measured from its axis, centre to centre, as a port is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise, product
from typing import Final

import numpy as np
import pyvista as pv

from loopsolver.geometry.solids import Box, Cylinder, Mesh, Solid, placed_vertices
from loopsolver.geometry.vectors import (
    Array,
    Point,
    difference,
    dot,
    offset,
    point,
    unit,
)
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.report.sides import offset_words
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import case_walls
from loopsolver.tolerances import MET, TOUCH
from loopsolver.tube.centreline import (
    Centreline,
    Straight,
    piece_length,
    pieces,
    points_along,
)
from loopsolver.view import palette
from loopsolver.view.actors import Look, StyledMesh
from loopsolver.view.contents import CLOSE_SPACING
from loopsolver.view.labels import WantedLabel
from loopsolver.view.marks import ClickedMark, MeasuredSpan, span
from loopsolver.view.panel_lines import PanelLine, Section, figure, wrapped
from loopsolver.view.selection import ViewSelection
from loopsolver.view.sight import RayMeeting, Sight, depth_of, meeting
from loopsolver.view.surfaces import ball, merged, separate_lines

SEEN_ROUND: Final = 1.25
"""Radius of a ball that is to be seen round a tube, in radii of the tube."""


def with_mark(selection: ViewSelection, mark: ClickedMark) -> ViewSelection:
    """Return the selection with one more mark; after two it begins anew."""
    marks = selection.marks or ()
    return replace(selection, marks=(mark,) if len(marks) == 2 else (*marks, mark))


# --- what a click means ---


def mark_at(
    sight: Sight,
    *,
    scene: Scene,
    tubes: Sequence[tuple[str, Centreline]],
    layers: Sequence[Sequence[tuple[str, Solid]]],
) -> ClickedMark | None:
    """Return what a ray means: a port, else a tube, else what it meets first of solids.

    Solids are seen through: ports and tubes behind them can be clicked.

    Parameters
    ----------
    sight : Sight
    scene : Scene
    tubes : sequence of (str, Centreline)
        Those that are shown, with the names of their runs.
    layers : sequence of sequences of (str, Solid)
        Those that are shown, by name. One of a later layer is meant only where none of
        an earlier one is met: keep-outs are in front of everything. Walls come last.
    """
    ports = [port for part in scene.components for port in part.ports]
    places = np.array([port.position for port in ports]).reshape(-1, 3)
    met = meeting(sight, places, radius=scene.tube.radius / 2.0)
    if met is not None:
        port = ports[met.place]
        return ClickedMark(name=port.name, at=port.position)
    found: list[tuple[RayMeeting, ClickedMark]] = []
    for name, line in tubes:
        found += _on_tube(sight, name, line, radius=scene.tube.radius)
    if found:
        return min(found, key=lambda one: one[0])[1]
    marks = (_on_solid(sight, one) for one in (*layers, _far_walls(sight, scene)))
    return next((mark for mark in marks if mark is not None), None)


def _on_tube(
    sight: Sight, name: str, line: Centreline, *, radius: float
) -> Iterator[tuple[RayMeeting, ClickedMark]]:
    """Yield the pieces of a tube that a ray meets: a straight as its axis."""
    for place, piece in enumerate(pieces(line)):
        steps = max(2, math.ceil(piece_length(piece) / CLOSE_SPACING))
        points = points_along(piece, np.linspace(0.0, 1.0, steps))
        met = meeting(sight, points, radius=radius)
        if met is None:
            continue
        at, number = point(points[met.place]), place // 2 + 1
        if isinstance(piece, Straight) and piece_length(piece) > TOUCH:
            along = unit(difference(piece.end, piece.start))
            told = f"axis of straight {number} of {name}"
            yield met, ClickedMark(name=told, at=at, along=along, within=radius)
        else:
            told = f"centre line of bend {number} of {name}"
            yield met, ClickedMark(name=told, at=at, within=radius)


def _far_walls(sight: Sight, scene: Scene) -> list[tuple[str, Solid]]:
    """Return the walls on the far side of the case: the near ones hide nothing."""
    return [
        (name, wall)
        for name, wall in case_walls(scene)
        if dot(wall.normal, sight.along) < 0.0
    ]


def _on_solid(sight: Sight, solids: Sequence[tuple[str, Solid]]) -> ClickedMark | None:
    """Return a place on the solid that a ray meets first, or its axis if it is round."""
    depths = [
        (depth_of(sight, solid), place) for place, (_, solid) in enumerate(solids)
    ]
    met = min(((depth, at) for depth, at in depths if depth is not None), default=None)
    if met is None:
        return None
    name, solid = solids[met[1]]
    at = sight.at(met[0])
    if isinstance(solid, Cylinder):
        return _on_cylinder(name, solid, at)
    corners, reach = _corners(solid), float(sight.reach(np.array(met[0])))
    corner = meeting(sight, corners, radius=0.0)
    if corner is not None and corner.depth - met[0] <= 2.0 * reach:
        return ClickedMark(name=f"corner of {name}", at=point(corners[corner.place]))
    return ClickedMark(name=name, at=at)


def _corners(solid: Solid) -> Array:
    if isinstance(solid, Box):
        signs = np.array(list(product((-0.5, 0.5), repeat=3))) * np.asarray(solid.size)
        corners: Array = np.asarray(solid.frame.origin) + signs @ solid.frame.rotation.T
        return corners
    if isinstance(solid, Mesh):
        return placed_vertices(solid)
    return np.empty((0, 3))


def _on_cylinder(name: str, solid: Cylinder, at: Point) -> ClickedMark:
    """Return the middle of an end of a cylinder, or its axis where its side was met."""
    axis, origin = solid.frame.axes[2], solid.frame.origin
    height = dot(difference(at, origin), axis)
    half = solid.height / 2.0
    on_axis = offset(origin, axis, min(max(height, -half), half))
    if half - abs(height) <= MET:
        return ClickedMark(name=f"middle of the end of {name}", at=on_axis)
    return ClickedMark(name=f"axis of {name}", at=on_axis, along=axis)


# --- what is shown of it ---


def measure_drawings(
    marks: Sequence[ClickedMark], *, size: float
) -> tuple[StyledMesh, ...]:
    """Return a ball at each end, the straight line, and the way along the axes.

    Parameters
    ----------
    marks : sequence of ClickedMark
    size : float
        Of a ball [mm].
    """
    if not marks:
        return ()
    solid = Look(colour=palette.MEASURE)
    of = span(*marks) if len(marks) == 2 else None
    places = [marks[0].at] if of is None else [of.start, of.end]
    balls = merged(
        [
            ball(at, radius=max(size / 2.0, SEEN_ROUND * mark.within))
            for at, mark in zip(places, marks, strict=True)
        ]
    )
    if of is None:
        return (StyledMesh(mesh=balls, look=solid),)
    straight = Look(kind="lines", colour=palette.MEASURE, line_width=3.0)
    thin = Look(kind="lines", colour=palette.MEASURE, line_width=1.4)
    stops = _stops(of)
    return (
        StyledMesh(mesh=balls, look=solid),
        StyledMesh(mesh=lines(of.start, of.end), look=straight),
        StyledMesh(mesh=lines(*stops), look=thin),
    )


def lines(*stops: Point) -> pv.PolyData:
    """Return the lines from each place to the next."""
    places = np.array(stops)
    return separate_lines(places[:-1], places[1:])


def _stops(of: MeasuredSpan) -> list[Point]:
    """Return the ends of the ways along x, then y, then z."""
    here = np.array(of.start)
    stops = [of.start]
    for axis in range(3):
        here[axis] = of.end[axis]
        stops.append(point(here))
    return stops


def measure_names(
    marks: Sequence[ClickedMark], *, lengths: Lengths
) -> tuple[WantedLabel, ...]:
    """Return the distance in figures, straight and along each axis, as labels.

    Of a first mark its name: what is clicked may lie within something that hides it.
    """
    if len(marks) < 2:
        return tuple(
            WantedLabel(text=mark.name, kind="measure", at=mark.at) for mark in marks
        )
    of = span(*marks)
    ways = [(of.start, of.end), *pairwise(_stops(of))]
    lone = sum(abs(part) > lengths.visible for part in of.way) < 2
    names = []
    for start, end in ways[:1] if lone else ways:
        if math.dist(start, end) > lengths.visible:
            middle = point(np.add(start, end) / 2.0)
            text = lengths.plain(math.dist(start, end))
            names.append(WantedLabel(text=text, kind="measure", at=middle))
    return tuple(names)


def measure_section(marks: Sequence[ClickedMark], scene: Scene) -> Section:
    """Return what is measured, and how far it is."""
    lengths = lengths_for(scene.units)
    rows = [PanelLine(text="measuring", style="heading")]
    for head, mark in zip(("from", "to"), marks, strict=False):
        rows += figure(head, mark.name)
    if len(marks) < 2:
        which = "second" if marks else "first"
        rows += wrapped(f"click the {which} of two places or axes", style="faint")
        return Section(lines=tuple(rows))
    of = span(*marks)
    rows += figure("distance", lengths.text(of.length))
    for name, part in zip("xyz", of.way, strict=True):
        rows += figure(f"along {name}", lengths.text(part))
    way = offset_words(of.way, scene.sides, text=lengths.plain)
    rows += wrapped(f"that is {way}", style="faint")
    rows += wrapped("m ends measuring; a click begins anew", style="faint")
    return Section(lines=tuple(rows))
