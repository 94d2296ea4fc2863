"""The shapes of one plane of a tube at true size: edges, arcs, former, ends."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopsolver.drafting.drawing import (
    Arc,
    Circle,
    Entity,
    Line,
    Place,
    Polygon,
    Polyline,
    direction_deg,
    polar,
)
from loopsolver.drafting.layers import Layer
from loopsolver.workshop.flat import FlatBend, FlatPlane
from loopsolver.workshop.job import Job, SheetEnd
from loopsolver.workshop.layers import Layers

TANGENT_BEYOND = 5.0
"""How far tangent lines run on beyond the tube's outer edge [mm]."""

FORMER_BEYOND_DEG = 35.0
"""How far the arc of the former runs on beyond its bend, to set the former by."""

_CROSS = 3.0  # half the arm of a bend-centre mark [mm]
_PORT_AXIS_BEYOND = 8.0  # beyond the trimmed-off part [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlet:
    """One tube end as it lies on the sheet.

    Attributes
    ----------
    seat : Place
        Where the finished tube ends [mm].
    out_deg : float
        Direction out of the tube, into the fitting, from +x.
    name : str
        Which end of the tube it is.
    """

    seat: Place
    out_deg: float
    end: SheetEnd
    name: str


def outlets_in_plane(plane: FlatPlane, job: Job) -> tuple[Outlet, ...]:
    """Return the tube ends that lie in a plane, the first end first."""
    found: list[Outlet] = []
    if plane.turn_before_deg is None:
        out_deg = direction_deg(plane.points[1], plane.points[0])
        found.append(
            Outlet(
                seat=plane.points[0], out_deg=out_deg, end=job.first, name="first end"
            )
        )
    if plane.turn_after_deg is None:
        out_deg = direction_deg(plane.points[-2], plane.points[-1])
        found.append(
            Outlet(
                seat=plane.points[-1], out_deg=out_deg, end=job.last, name="last end"
            )
        )
    return tuple(found)


def _start_deg(bend: FlatBend) -> float:
    """Return where on its circle a bend's arc begins, counter-clockwise [degrees]."""
    begin = bend.start if bend.side > 0 else bend.end
    return direction_deg(bend.centre, begin)


def bend_arc(bend: FlatBend, radius: float, layer: Layer) -> Arc:
    """Return a bend's arc at a radius from its centre."""
    start_deg = _start_deg(bend)
    return Arc(
        centre=bend.centre,
        radius=radius,
        start_deg=start_deg,
        end_deg=start_deg + bend.angle_deg,
        layer=layer,
    )


def moved_left(start: Place, end: Place, by: float) -> tuple[Place, Place]:
    """Return a line moved to its left by so much [mm]."""
    turn_deg = direction_deg(start, end) + 90.0
    return polar(start, by, turn_deg), polar(end, by, turn_deg)


def edges(plane: FlatPlane, *, outer: float, bend_radius: float) -> tuple[Entity, ...]:
    """Return both edges of the tube, its end faces left open.

    Parameters
    ----------
    outer : float
        Outer diameter [mm].
    bend_radius : float
        Of the centre line [mm].
    """
    half = outer / 2.0
    shapes: list[Entity] = []
    for start, end in plane.straights:
        for by in (half, -half):
            left, right = moved_left(start, end, by)
            shapes.append(Line(start=left, end=right, layer=Layers.TUBE))
    for bend in plane.bends:
        shapes.append(bend_arc(bend, bend_radius - half, Layers.TUBE))
        shapes.append(bend_arc(bend, bend_radius + half, Layers.TUBE))
    return tuple(shapes)


def body(plane: FlatPlane, *, outer: float, bend_radius: float) -> tuple[Entity, ...]:
    """Return the white areas under the tube, so that no grid shows through it."""
    half = outer / 2.0
    shapes: list[Entity] = []
    for start, end in plane.straights:
        left = moved_left(start, end, half)
        right = moved_left(start, end, -half)
        shapes.append(_white((*left, *right[::-1])))
    for bend in plane.bends:
        inside = _beads(bend_arc(bend, bend_radius - half, Layers.SOLID))
        outside = _beads(bend_arc(bend, bend_radius + half, Layers.SOLID))
        shapes.append(_white((*inside, *outside[::-1])))
    return tuple(shapes)


def _white(points: tuple[Place, ...]) -> Polygon:
    """Return a white area."""
    return Polygon(points=points, layer=Layers.SOLID, fill=1.0)


def _beads(arc: Arc) -> tuple[Place, ...]:
    """Return points along an arc, no more than 3 degrees apart."""
    count = max(2, math.ceil((arc.end_deg - arc.start_deg) / 3.0) + 1)
    step_deg = (arc.end_deg - arc.start_deg) / (count - 1)
    return tuple(
        polar(arc.centre, arc.radius, arc.start_deg + step_deg * i)
        for i in range(count)
    )


def centre_path(plane: FlatPlane, *, bend_radius: float) -> tuple[Place, ...]:
    """Return points along the centre line from the plane's first point to its last."""
    path = [plane.tube_start]
    for bend in plane.bends:
        beads = _beads(bend_arc(bend, bend_radius, Layers.SOLID))
        path += beads if bend.side > 0 else beads[::-1]
    return (*path, plane.tube_end)


def centre_line(plane: FlatPlane, *, bend_radius: float) -> tuple[Entity, ...]:
    """Return the centre line, and the thin legs that carry it on to the vertices."""
    lines = tuple(
        Line(start=start, end=end, layer=Layers.CENTRE)
        for start, end in plane.straights
    )
    arcs = tuple(bend_arc(bend, bend_radius, Layers.CENTRE) for bend in plane.bends)
    legs: list[Entity] = []
    for bend in plane.bends:
        legs.append(
            Polyline(points=(bend.start, bend.vertex, bend.end), layer=Layers.LEG)
        )
        legs += _vertex_mark(bend.vertex)
    for point, tube, lead in (
        (plane.points[0], plane.tube_start, plane.lead_in),
        (plane.points[-1], plane.tube_end, plane.lead_out),
    ):
        if lead > 0.0:
            legs.append(Line(start=point, end=tube, layer=Layers.LEG))
            legs += _vertex_mark(point)
    return (*lines, *arcs, *legs)


def _vertex_mark(vertex: Place) -> list[Entity]:
    """Return the small ring round a vertex."""
    return [Circle(centre=vertex, radius=0.8, layer=Layers.LEG, fill=1.0)]


def bend_mark_shapes(
    plane: FlatPlane, *, outer: float, bend_radius: float
) -> tuple[Entity, ...]:
    """Return tangent lines, bend-centre marks and the arcs of the former."""
    half = outer / 2.0
    shapes: list[Entity] = []
    for bend in plane.bends:
        start_deg = _start_deg(bend)
        shapes.append(
            Arc(
                centre=bend.centre,
                radius=bend_radius - half,
                start_deg=start_deg - FORMER_BEYOND_DEG,
                end_deg=start_deg + bend.angle_deg + FORMER_BEYOND_DEG,
                layer=Layers.FORMER,
            )
        )
        reach = bend_radius + half + TANGENT_BEYOND
        shapes += [
            Line(start=bend.centre, end=far, layer=Layers.TANGENT)
            for far in (
                polar(bend.centre, reach, start_deg),
                polar(bend.centre, reach, start_deg + bend.angle_deg),
            )
        ]
        x, y = bend.centre
        shapes += [
            Line(start=(x - _CROSS, y), end=(x + _CROSS, y), layer=Layers.BEND_CENTRE),
            Line(start=(x, y - _CROSS), end=(x, y + _CROSS), layer=Layers.BEND_CENTRE),
            Circle(centre=bend.centre, radius=1.2, layer=Layers.BEND_CENTRE),
        ]
    return tuple(shapes)


def line_across(place: Place, along_deg: float, half: float, layer: Layer) -> Line:
    """Return a line of half length `half` across a direction at a place."""
    return Line(
        start=polar(place, half, along_deg + 90.0),
        end=polar(place, half, along_deg - 90.0),
        layer=layer,
    )


def end_shapes(outlet: Outlet, job: Job) -> tuple[Entity, ...]:
    """Return what lies at a tube end: trim allowance, port axis, fitting, seat, mouth."""
    half, trim, out_deg = job.tube.radius, job.trim_allowance, outlet.out_deg
    tip = polar(outlet.seat, trim, out_deg)
    shapes: list[Entity] = []
    if trim > 0.0:
        shapes += _open_end(outlet.seat, tip, half, Layers.TRIM)
    shapes.append(
        Line(
            start=outlet.seat,
            end=polar(outlet.seat, trim + _PORT_AXIS_BEYOND, out_deg),
            layer=Layers.PORT_AXIS,
        )
    )
    fitting = outlet.end.fitting
    if fitting is not None:
        wide = fitting.diameter / 2.0
        mouth = polar(outlet.seat, -fitting.depth, out_deg)
        length = fitting.height if fitting.turn_deg == 0.0 else fitting.reach
        back = polar(mouth, length, out_deg)
        shapes += _open_end(mouth, back, wide, Layers.FITTING)
        shapes.append(line_across(mouth, out_deg, wide + 4.0, Layers.FITTING))
    shapes.append(
        line_across(outlet.seat, out_deg, end_half_width(outlet.end, job), Layers.CUT)
    )
    return tuple(shapes)


def _open_end(start: Place, end: Place, half: float, layer: Layer) -> list[Entity]:
    """Return the two sides and the far end of a tube's or fitting's outline."""
    sides = [moved_left(start, end, by) for by in (half, -half)]
    return [
        *(Line(start=near, end=far, layer=layer) for near, far in sides),
        Line(start=sides[0][1], end=sides[1][1], layer=layer),
    ]


def end_half_width(end: SheetEnd, job: Job) -> float:
    """Return half the length of the line across a tube end's seat [mm]."""
    wide = 0.0 if end.fitting is None else end.fitting.diameter / 2.0
    return max(wide, job.tube.radius) + 4.0
