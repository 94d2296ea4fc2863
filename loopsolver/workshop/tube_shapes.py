"""The shapes of one plane of a tube at true size: edges, arcs, former, ends."""

from __future__ import annotations

import math
from collections.abc import Iterator
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
from loopsolver.drafting.symbols import cross, spoke
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
    ends = (
        (plane.turn_before_deg, plane.points[:2], job.first, "first end"),
        (plane.turn_after_deg, plane.points[:-3:-1], job.last, "last end"),
    )
    return tuple(
        Outlet(seat=seat, out_deg=direction_deg(inner, seat), end=end, name=name)
        for turn_deg, (seat, inner), end, name in ends
        if turn_deg is None
    )


def bend_arc(
    bend: FlatBend, radius: float, layer: Layer, *, beyond_deg: float = 0.0
) -> Arc:
    """Return a bend's arc at a radius from its centre, and so far beyond its ends."""
    begin = bend.start if bend.side > 0 else bend.end
    start_deg = direction_deg(bend.centre, begin)
    return Arc(
        centre=bend.centre,
        radius=radius,
        start_deg=start_deg - beyond_deg,
        end_deg=start_deg + bend.angle_deg + beyond_deg,
        layer=layer,
    )


def moved_left(start: Place, end: Place, by: float) -> tuple[Place, Place]:
    """Return a line moved to its left by so much [mm]."""
    turn_deg = direction_deg(start, end) + 90.0
    return polar(start, by, turn_deg), polar(end, by, turn_deg)


def edges(plane: FlatPlane, job: Job) -> tuple[Entity, ...]:
    """Return both edges of the tube, its end faces left open."""
    half, radius = job.tube.radius, job.table.radius
    lines = (
        moved_left(start, end, by)
        for start, end in plane.straights
        for by in (half, -half)
    )
    return (
        *(Line(start=start, end=end, layer=Layers.TUBE) for start, end in lines),
        *(
            bend_arc(bend, radius + by, Layers.TUBE)
            for bend in plane.bends
            for by in (-half, half)
        ),
    )


def body(plane: FlatPlane, job: Job) -> tuple[Entity, ...]:
    """Return the white areas under the tube, so that no grid shows through it."""
    half, radius = job.tube.radius, job.table.radius
    sides: list[list[tuple[Place, ...]]] = [
        [moved_left(start, end, by) for by in (half, -half)]
        for start, end in plane.straights
    ]
    sides += [
        [_beads(bend_arc(bend, radius + by, Layers.SOLID)) for by in (-half, half)]
        for bend in plane.bends
    ]
    return tuple(
        Polygon(points=(*side, *other[::-1]), layer=Layers.SOLID, fill=1.0)
        for side, other in sides
    )


def _beads(arc: Arc) -> tuple[Place, ...]:
    """Return points along an arc, no more than 3 degrees apart."""
    count = max(2, math.ceil((arc.end_deg - arc.start_deg) / 3.0) + 1)
    step_deg = (arc.end_deg - arc.start_deg) / (count - 1)
    return tuple(
        polar(arc.centre, arc.radius, arc.start_deg + step_deg * i)
        for i in range(count)
    )


def centre_path(plane: FlatPlane, job: Job) -> tuple[Place, ...]:
    """Return points along the centre line from the plane's first point to its last."""
    path = [plane.tube_start]
    for bend in plane.bends:
        beads = _beads(bend_arc(bend, job.table.radius, Layers.SOLID))
        path += beads if bend.side > 0 else beads[::-1]
    return (*path, plane.tube_end)


def centre_line(plane: FlatPlane, job: Job) -> Iterator[Line | Arc]:
    """Yield the centre line from the plane's first tangent point to its last."""
    for start, end in plane.straights:
        yield Line(start=start, end=end, layer=Layers.CENTRE)
    for bend in plane.bends:
        yield bend_arc(bend, job.table.radius, Layers.CENTRE)


def leg_shapes(plane: FlatPlane) -> Iterator[Entity]:
    """Yield the thin legs from the centre line to the vertices, ringed."""
    for bend in plane.bends:
        yield Polyline(points=(bend.start, bend.vertex, bend.end), layer=Layers.LEG)
        yield Circle(centre=bend.vertex, radius=0.8, layer=Layers.LEG, fill=1.0)
    for point, tube, lead in (
        (plane.points[0], plane.tube_start, plane.lead_in),
        (plane.points[-1], plane.tube_end, plane.lead_out),
    ):
        if lead > 0.0:
            yield Line(start=point, end=tube, layer=Layers.LEG)
            yield Circle(centre=point, radius=0.8, layer=Layers.LEG, fill=1.0)


def bend_mark_shapes(plane: FlatPlane, job: Job) -> Iterator[Entity]:
    """Yield tangent lines, bend-centre marks and the arcs of the former."""
    radius, half = job.table.radius, job.tube.radius
    for bend in plane.bends:
        yield bend_arc(bend, radius - half, Layers.FORMER, beyond_deg=FORMER_BEYOND_DEG)
        outside = bend_arc(bend, radius + half + TANGENT_BEYOND, Layers.TANGENT)
        for angle_deg in (outside.start_deg, outside.end_deg):
            reach = (0.0, outside.radius)
            yield spoke(bend.centre, reach, angle_deg, Layers.TANGENT)
        yield from cross(bend.centre, _CROSS, Layers.BEND_CENTRE)
        yield Circle(centre=bend.centre, radius=1.2, layer=Layers.BEND_CENTRE)


def line_across(place: Place, along_deg: float, half: float, layer: Layer) -> Line:
    """Return a line of half length `half` across a direction at a place."""
    return Line(
        start=polar(place, half, along_deg + 90.0),
        end=polar(place, half, along_deg - 90.0),
        layer=layer,
    )


def end_shapes(outlet: Outlet, job: Job) -> Iterator[Entity]:
    """Yield what lies at a tube end: trim allowance, port axis, fitting, seat, mouth."""
    half, trim, out_deg = job.tube.radius, job.trim_allowance, outlet.out_deg
    tip = polar(outlet.seat, trim, out_deg)
    if trim > 0.0:
        yield from _open_end(outlet.seat, tip, half, Layers.TRIM)
    reach = (0.0, trim + _PORT_AXIS_BEYOND)
    yield spoke(outlet.seat, reach, out_deg, Layers.PORT_AXIS)
    fitting = outlet.end.fitting
    if fitting is not None:
        wide = fitting.diameter / 2.0
        mouth = polar(outlet.seat, -fitting.depth, out_deg)
        length = fitting.height if fitting.turn_deg == 0.0 else fitting.reach
        back = polar(mouth, length, out_deg)
        yield from _open_end(mouth, back, wide, Layers.FITTING)
        yield line_across(mouth, out_deg, wide + 4.0, Layers.FITTING)
    yield line_across(outlet.seat, out_deg, end_half_width(outlet.end, job), Layers.CUT)


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
