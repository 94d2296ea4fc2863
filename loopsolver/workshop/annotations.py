"""Lettering on a template: dimensions, bend numbers, names of ends. Placed where free."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Final

from loopsolver.workshop.drawing import (
    Anchor,
    Circle,
    Entity,
    Face,
    Layer,
    Line,
    Place,
    Polygon,
    Text,
    polar,
)
from loopsolver.workshop.extent import Box
from loopsolver.workshop.flat import FlatBend, FlatPlane
from loopsolver.workshop.job import Job
from loopsolver.workshop.lettering import shortened, text_width
from loopsolver.workshop.placing import Ground
from loopsolver.workshop.tube_shapes import (
    TANGENT_BEYOND,
    Outlet,
    across,
    direction_deg,
    end_half_width,
)

FIGURES: Final = 2.8
"""Height of the capitals of dimensions [mm]; readable at arm's length."""

WORDS: Final = 2.4
"""Height of the capitals of notes [mm]."""

_BALLOON: Final = 4.2  # radius of the disc with a bend's number [mm]
_ARROW: Final = (2.4, 0.45)  # length and half width of an arrow head [mm]
_ANCHOR: Final = {"start": 0.0, "middle": 0.5, "end": 1.0}


def lettered(
    text: str,
    position: Place,
    *,
    size: float,
    anchor: Anchor = "start",
    angle_deg: float = 0.0,
    face: Face = Face.REGULAR,
) -> tuple[Entity, ...]:
    """Return a line of lettering on ground that is cleared of the grid."""
    width = text_width(text, size, face)
    left = -width * _ANCHOR[anchor] - 0.5
    corners = (
        (left, -0.4 * size),
        (left + width + 1.0, -0.4 * size),
        (left + width + 1.0, 1.3 * size),
        (left, 1.3 * size),
    )
    turn = math.radians(angle_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    x, y = position
    return (
        Polygon(
            points=tuple(
                (x + a * cos - u * sin, y + a * sin + u * cos) for a, u in corners
            ),
            layer=Layer.SOLID,
            fill=1.0,
        ),
        Text(
            position=position,
            text=text,
            size=size,
            anchor=anchor,
            angle_deg=angle_deg,
            face=face,
        ),
    )


def _readable(angle_deg: float) -> float:
    """Return a direction or its opposite, so that lettering along it is not on its head.

    Upright lettering reads from the right.
    """
    turned = angle_deg % 360.0
    return turned - 180.0 if 95.0 < turned <= 275.0 else turned


def _arrow(tip: Place, heading_deg: float) -> Polygon:
    """Return a filled arrow head that points along a direction."""
    length, half = _ARROW
    back = polar(tip, -length, heading_deg)
    return Polygon(
        points=(
            tip,
            polar(back, half, heading_deg + 90.0),
            polar(back, half, heading_deg - 90.0),
        ),
        layer=Layer.DIMENSION,
        fill=0.0,
    )


def dimension(
    start: Place, end: Place, *, by: float, keep: float, says: str
) -> tuple[Entity, ...]:
    """Return the dimension of a distance, its line moved to the left by `by` [mm].

    Parameters
    ----------
    by : float
        To the right where negative.
    keep : float
        How far from the points the extension lines begin [mm].
    """
    along = direction_deg(start, end)
    out = along + math.copysign(90.0, by)
    far = abs(by)
    first, second = polar(start, far, out), polar(end, far, out)
    shapes: list[Entity] = [
        Line(
            start=polar(point, min(keep, far), out),
            end=polar(point, far + 1.5, out),
            layer=Layer.DIMENSION,
        )
        for point in (start, end)
    ]
    shapes.append(Line(start=first, end=second, layer=Layer.DIMENSION))
    shapes += [_arrow(first, along + 180.0), _arrow(second, along)]
    middle = ((first[0] + second[0]) / 2.0, (first[1] + second[1]) / 2.0)
    angle = _readable(along)
    shapes += lettered(
        says,
        polar(middle, 0.9, angle + 90.0),
        size=FIGURES,
        anchor="middle",
        angle_deg=angle,
    )
    return tuple(shapes)


def dimensions(plane: FlatPlane, job: Job, ground: Ground) -> tuple[Entity, ...]:
    """Return the centre-to-centre distances of a plane, each where it is free."""
    shapes: list[Entity] = []
    legs = list(pairwise(plane.points))
    for index, (start, end) in enumerate(legs):
        near = plane.bends[max(0, index - 1) : index + 1]
        outside = -1.0 if sum(bend.side for bend in near) >= 0 else 1.0
        is_end = (index == 0 and plane.turn_before_deg is None) or (
            index == len(legs) - 1 and plane.turn_after_deg is None
        )
        least = job.tube.radius + 6.0
        if is_end:
            least = max(least, end_half_width(job.first, job) + 4.0)
        by = _free_side(ground, start, end, least=least, outside=outside)
        for point in (start, end):
            out = direction_deg(start, end) + math.copysign(90.0, by)
            ground.take_line(polar(point, 2.0, out), polar(point, abs(by), out))
        along = direction_deg(start, end) + 90.0
        ground.take_line(
            polar(start, by + 1.4, along), polar(end, by + 1.4, along), half_width=2.2
        )
        shapes += dimension(
            start, end, by=by, keep=2.0, says=job.length(math.dist(start, end))
        )
    return tuple(shapes)


def _free_side(
    ground: Ground, start: Place, end: Place, *, least: float, outside: float
) -> float:
    """Return how far to the left a dimension line lies free, negative for right [mm]."""
    along = direction_deg(start, end)
    for step in range(8):
        for side in (outside, -outside):
            by = side * (least + 5.0 * step)
            first = polar(polar(start, by + 1.4, along + 90.0), 3.0, along)
            second = polar(polar(end, by + 1.4, along + 90.0), -3.0, along)
            if ground.is_strip_free(first, second, half_width=2.2):
                return by
    return outside * least


def bend_labels(plane: FlatPlane, job: Job, ground: Ground) -> tuple[Entity, ...]:
    """Return number, angle and radius of each bend, near its outside where free."""
    shapes: list[Entity] = []
    radius = f"R {job.length(job.table.radius)}"
    for bend in plane.bends:
        angle = f"{_degrees(bend.angle_deg)}"
        width = (
            2.0 * _BALLOON
            + 2.0
            + max(text_width(angle, 3.4, Face.STRONG), text_width(radius, WORDS))
        )
        middle = _free_middle(
            _round_bend(bend, job), (width, 2.0 * _BALLOON), ground, spare=0.8
        )
        left = middle[0] - width / 2.0
        disc = (left + _BALLOON, middle[1])
        shapes += (
            Circle(centre=disc, radius=_BALLOON, layer=Layer.NOTE, fill=0.0),
            Text(
                position=(disc[0], disc[1] - 2.1),
                text=str(bend.number),
                size=4.2,
                anchor="middle",
                face=Face.STRONG,
                grey=1.0,
            ),
        )
        text = left + 2.0 * _BALLOON + 2.0
        shapes += lettered(angle, (text, middle[1] + 0.5), size=3.4, face=Face.STRONG)
        shapes += lettered(radius, (text, middle[1] - 3.4), size=WORDS)
        ground.take_box(_box(middle, (width, 2.0 * _BALLOON)))
    return tuple(shapes)


def _degrees(angle_deg: float) -> str:
    """Return an angle to a tenth of a degree."""
    return f"{angle_deg:.1f}".removesuffix(".0") + "°"


def _box(middle: Place, size: Place) -> Box:
    """Return a box by its middle, its width and its height."""
    (x, y), (width, height) = middle, size
    return (x - width / 2.0, y - height / 2.0, x + width / 2.0, y + height / 2.0)


def _free_middle(
    wanted: Iterable[Place], size: Place, ground: Ground, *, spare: float
) -> Place:
    """Return the first of the wanted middles at which a box is free, else the last."""
    middle = (0.0, 0.0)
    for middle in wanted:
        if ground.is_free(_box(middle, size), spare=spare):
            break
    return middle


def _round_bend(bend: FlatBend, job: Job) -> Iterator[Place]:
    """Return places near a bend, those on its outside and nearest to it first."""
    outward = direction_deg(bend.centre, bend.vertex)
    reach = job.table.radius + job.tube.radius
    for step in range(14):
        for aside in (0.0, 15.0, -15.0, 35.0, -35.0):
            yield polar(bend.centre, reach + 6.0 + 4.0 * step, outward + aside)
        yield polar(bend.centre, -10.0 - 4.0 * step, outward)


def end_labels(
    plane: FlatPlane, ends: tuple[Outlet, ...], job: Job, ground: Ground
) -> tuple[Entity, ...]:
    """Return the lettering at the tube ends and where the tube leaves the plane."""
    shapes: list[Entity] = []
    for outlet in ends:
        shapes += _trim_label(outlet, job)
        fitting = outlet.end.fitting
        half = end_half_width(outlet.end, job)
        shapes += _across_label(
            "seat: cut here", outlet.seat, outlet.out_deg, half, ground
        )
        if fitting is not None:
            mouth = polar(outlet.seat, -fitting.depth, outlet.out_deg)
            half = fitting.diameter / 2.0 + 4.0
            shapes += _across_label("mouth", mouth, outlet.out_deg, half, ground)
        shapes += _end_name(outlet, job, ground)
    for place, other, says in _leaves(plane):
        along = direction_deg(other, place)
        half = job.tube.radius + TANGENT_BEYOND
        shapes.append(across(place, along, half, Layer.TANGENT))
        shapes += _break_line(place, along, job.tube.radius)
        shapes += _across_label(says, place, along, half, ground)
    return tuple(shapes)


def _leaves(plane: FlatPlane) -> Iterator[tuple[Place, Place, str]]:
    """Return where the tube leaves the plane, a place before that, and what is there."""
    if plane.turn_before_deg is not None:
        yield (
            plane.tube_start,
            plane.points[1],
            f"bend {plane.bends[0].number - 1}, sheet {plane.number - 1}",
        )
    if plane.turn_after_deg is not None:
        yield (
            plane.tube_end,
            plane.points[-2],
            f"bend {plane.bends[-1].number + 1}, sheet {plane.number + 1}",
        )


def _break_line(place: Place, along_deg: float, radius: float) -> list[Entity]:
    """Return the arrow by which a tube goes on out of the plane."""
    return [
        Line(
            start=place, end=polar(place, radius + 3.0, along_deg), layer=Layer.TANGENT
        ),
        _arrow(polar(place, radius + 4.0, along_deg), along_deg),
    ]


def _trim_label(outlet: Outlet, job: Job) -> tuple[Entity, ...]:
    """Return what is trimmed off, written between the tube's edges if it fits there."""
    says = f"trim {job.length(job.trim_allowance)}"
    size = min(WORDS, 0.5 * job.tube.radius)
    if text_width(says, size) > job.trim_allowance - 3.0:
        return ()
    middle = polar(outlet.seat, job.trim_allowance / 2.0, outlet.out_deg)
    angle = _readable(outlet.out_deg)
    return lettered(
        says,
        polar(middle, -size / 2.0, angle + 90.0),
        size=size,
        anchor="middle",
        angle_deg=angle,
    )


def _across_label(
    says: str, place: Place, along_deg: float, half: float, ground: Ground
) -> tuple[Entity, ...]:
    """Return lettering that carries a line across the tube on, on its freer side."""
    width = text_width(says, WORDS) + 1.0
    chosen = along_deg + 90.0
    for side in (90.0, -90.0):
        start = polar(place, half + 1.5, along_deg + side)
        end = polar(place, half + 1.5 + width, along_deg + side)
        if ground.is_strip_free(start, end, half_width=WORDS):
            chosen = along_deg + side
            break
    start = polar(place, half + 1.5, chosen)
    ground.take_line(start, polar(start, width, chosen), half_width=WORDS)
    angle = _readable(chosen)
    anchor: Anchor = "start" if math.isclose(angle % 360, chosen % 360) else "end"
    return lettered(
        says,
        polar(start, -WORDS / 2.0, angle + 90.0),
        size=WORDS,
        anchor=anchor,
        angle_deg=angle,
    )


def _end_name(outlet: Outlet, job: Job, ground: Ground) -> tuple[Entity, ...]:
    """Return which end of the tube this is, and the port that it goes to."""
    port = shortened(outlet.end.port, width=46.0, size=WORDS)
    width = max(text_width(outlet.name, 3.4, Face.STRONG), text_width(port, WORDS))
    size = (width + 1.0, 9.0)
    middle = _free_middle(_round_end(outlet, job, size), size, ground, spare=0.8)
    ground.take_box(_box(middle, size))
    return (
        *lettered(
            outlet.name,
            (middle[0], middle[1] + 0.6),
            size=3.4,
            anchor="middle",
            face=Face.STRONG,
        ),
        *lettered(port, (middle[0], middle[1] - 3.6), size=WORDS, anchor="middle"),
    )


def _round_end(outlet: Outlet, job: Job, size: Place) -> Iterator[Place]:
    """Return places near a trimmed-off end: beside it first, then beyond it."""
    turn = math.radians(outlet.out_deg)
    wide = abs(size[0] * math.sin(turn)) + abs(size[1] * math.cos(turn))
    half = end_half_width(outlet.end, job)
    for step in range(12):
        by = half + wide / 2.0 + 1.0 + 3.0 * step
        for along in (1.0, 0.5, 0.0):
            base = polar(outlet.seat, along * job.trim_allowance, outlet.out_deg)
            for side in (90.0, -90.0):
                yield polar(base, by, outlet.out_deg + side)
