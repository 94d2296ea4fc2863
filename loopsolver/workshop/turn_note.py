"""What a template says beside its plane: the turn to the next, what is out of plane."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from loopsolver.drafting.drawing import (
    Arc,
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Place,
    Polygon,
    Text,
    polar,
    rectangle,
)
from loopsolver.drafting.lettering import broken
from loopsolver.drafting.symbols import numbered_disc
from loopsolver.geometry.vectors import Point, cross, difference, dot, offset, unit
from loopsolver.report.angles import clock
from loopsolver.tube.centreline import BendArc, Straight, heights_along, pieces
from loopsolver.workshop.flat import FlatPlane
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers

_PICTURE: Final = 13.0  # radius of the picture of the turn [mm]
_NEAR_DEG: Final = 40.0  # two numbers nearer than this would meet
_HEAD_DEG: Final = 12.0  # how much of the arrow its head takes
WIDTHS: Final = (64.0, 42.0)
"""Widths of a note's lettering, the better readable first [mm]."""

_SIZE: Final = 2.5
_LEADING: Final = 4.3


Reach = tuple[float, float]
"""How far something reaches below a sheet and above it: lowest and highest [mm]."""


def turn_words(plane: FlatPlane) -> tuple[str, ...]:
    """Return what is to be done after a plane, in sentences; empty after the last."""
    turn_deg = plane.turn_after_deg
    if turn_deg is None:
        return ()
    here, following = plane.bends[-1].number, plane.bends[-1].number + 1
    return (
        f"Bend {following} points {clock(turn_deg)} of bend {here}, "
        "seen along the tube from its first end.",
        f"To lay it flat on {plane.sheet_name(plane.number + 1)}, turn the tube "
        f"{clock(-turn_deg)}.",
    )


def turn_picture(centre: Place, plane: FlatPlane) -> tuple[Entity, ...]:
    """Return the tube's end view from its first end: where two bends point, and how.

    The sheet lies level; a bend to the left on it points to the left here.
    """
    turn_deg = plane.turn_after_deg
    if turn_deg is None:
        return ()
    bend = plane.bends[-1]
    here_deg = 180.0 if bend.side > 0 else 0.0
    there_deg = here_deg - turn_deg  # clockwise as seen
    way = math.copysign(1.0, there_deg - here_deg)
    # Numbers that would meet stand apart, each at the end of a thin line.
    apart_deg = way * max(0.0, _NEAR_DEG - abs(turn_deg)) / 2.0
    return (
        Line(
            start=(centre[0] - _PICTURE, centre[1]),
            end=(centre[0] + _PICTURE, centre[1]),
            layer=Layers.LEG,
        ),
        *_pointer(centre, here_deg, here_deg - apart_deg, bend.number, fill=1.0),
        *_pointer(centre, there_deg, there_deg + apart_deg, bend.number + 1, fill=0.0),
        Circle(centre=centre, radius=3.2, layer=Layers.INSIDE, fill=1.0),
        Circle(centre=centre, radius=2.0, layer=Layers.LEG),
        *_turn_arrow(centre, here_deg, there_deg),
    )


def _pointer(
    centre: Place, angle_deg: float, disc_deg: float, number: int, *, fill: float
) -> tuple[Entity, ...]:
    """Return a bar the way a bend points, from the tube to the bend's number."""
    reach = _PICTURE - 3.0
    tip = polar(centre, reach if angle_deg == disc_deg else 6.6, angle_deg)
    disc = polar(centre, reach, disc_deg)
    return (
        Line(start=centre, end=tip, layer=Layers.INSIDE),
        Line(start=tip, end=disc, layer=Layers.LEADER),
        *numbered_disc(disc, number, radius=3.0, fill=fill, layer=Layers.TURN),
    )


def _turn_arrow(centre: Place, here_deg: float, there_deg: float) -> tuple[Entity, ...]:
    """Return an arc with an arrow head from one direction to another, if there is room."""
    if abs(there_deg - here_deg) < _HEAD_DEG + 10.0:
        return ()
    radius = _PICTURE - 7.6
    way = math.copysign(1.0, there_deg - here_deg)
    margin_deg = min(10.0, (abs(there_deg - here_deg) - _HEAD_DEG - 5.0) / 2.0)
    begin_deg, end_deg = here_deg + margin_deg * way, there_deg - margin_deg * way
    tip = polar(centre, radius, end_deg)
    heading_deg = end_deg + 90.0 * way
    back = polar(tip, -2.2, heading_deg - 10.0 * way)
    head = Polygon(
        points=(
            tip,
            polar(back, 0.9, heading_deg + 90.0),
            polar(back, 0.9, heading_deg - 90.0),
        ),
        layer=Layers.TURN,
        fill=0.0,
    )
    stop_deg = end_deg - _HEAD_DEG * way
    low_deg, high_deg = min(begin_deg, stop_deg), max(begin_deg, stop_deg)
    arc = Arc(
        centre=centre,
        radius=radius,
        start_deg=low_deg,
        end_deg=high_deg,
        layer=Layers.TURN,
    )
    return (arc, head)


def note_panel(
    plane: FlatPlane, *, beside: tuple[str, ...], width: float = WIDTHS[0]
) -> Drawing | None:
    """Return a plane's note on turning the tube, or None if there is nothing to say.

    Parameters
    ----------
    beside : tuple of str
        What is to be said of the tube beside the plane's own bends.
    width : float
        Of the lettering [mm].
    """
    words = turn_words(plane)
    if not words and not beside:
        return None
    lines = [
        (line, Face.REGULAR)
        for sentence in (*words, *beside)
        for line in broken(sentence, width=width, size=_SIZE)
    ]
    picture: tuple[Entity, ...] = ()
    left, height = 3.0, _LEADING * len(lines) + 4.0
    if words:
        lines.insert(0, (f"Next: {plane.sheet_name(plane.number + 1)}", Face.STRONG))
        left = 2.0 * _PICTURE + 5.0
        height = max(2.0 * _PICTURE + 7.0, height + _LEADING)
        x = _PICTURE + 2.5
        says = "from the first end"
        picture = (
            *turn_picture((x, height / 2.0 + 1.6), plane),
            Text(position=(x, 1.6), text=says, size=1.8, anchor="middle"),
        )
    wide = left + width + 3.0
    frame = rectangle((0.0, 0.0), (wide, height), layer=Layers.FRAME, fill=1.0)
    top = (height + _LEADING * len(lines)) / 2.0
    lettering = (
        Text(
            position=(left, top - _LEADING * index - 3.2),
            text=line,
            size=_SIZE,
            face=face,
        )
        for index, (line, face) in enumerate(lines)
    )
    return Drawing(
        entities=(frame, *picture, *lettering), low=(0.0, 0.0), high=(wide, height)
    )


def words_out_of_plane(job: Job, plane: FlatPlane) -> tuple[str, ...]:
    """Return how the rest of the tube stands to a sheet, in sentences.

    Tube that hangs below the sheet keeps the rest from lying flat on it. Neither is
    said of what stays within the tube's radius of the plane.
    """
    says: list[str] = []
    line = job.centreline
    parts, points = pieces(line), line.vertices
    other = (
        "plain set, printed without"
        if plane.is_mirrored
        else "mirrored set, printed with"
    )
    if plane.turn_before_deg is not None:
        says += _sentence(
            f"The tube before bend {plane.bends[0].number}",
            _reach(job, plane, parts[: 2 * plane.bends[0].number - 1], points[:2]),
            job,
            instead=f", or bend by the {other} --mirror",
        )
    if plane.turn_after_deg is not None:
        says += _sentence(
            f"With all bends made, the tube after bend {plane.bends[-1].number}",
            _reach(job, plane, parts[2 * plane.bends[-1].number :], points[:-3:-1]),
            job,
        )
    return tuple(says)


def _sentence(what: str, reach: Reach, job: Job, *, instead: str = "") -> list[str]:
    """Return whether a part of the tube stands up or hangs below, if it does either.

    `instead` is what would help where it only hangs below.
    """
    lowest, highest = reach
    stands, hangs = highest > job.tube.radius, lowest < -job.tube.radius
    if not hangs:
        return [f"{what} stands up from this sheet."] if stands else []
    says = "stands up from this sheet and " if stands else ""
    return [
        f"{what} {says}hangs below {'it' if stands else 'this sheet'} by up to "
        f"{job.length(-lowest)}: let it hang over the table's edge"
        f"{'' if stands else instead}."
    ]


def _reach(
    job: Job,
    plane: FlatPlane,
    parts: Iterable[Straight | BendArc],
    end: Sequence[Point],
) -> Reach:
    """Return lowest and highest height of pieces over a plane's sheet [mm].

    Parameters
    ----------
    end : sequence of Point
        The tube's end that they lead to, where it is trimmed, and the vertex next to it.
    """
    first = plane.bends[0]
    before, at, after = job.centreline.vertices[first.number - 1 : first.number + 2]
    arriving, leaving = difference(at, before), difference(after, at)
    sides = (arriving, leaving) if first.side > 0 else (leaving, arriving)
    up = unit(cross(*sides))
    level = dot(up, at)
    out = unit(difference(end[0], end[1]))
    trim = Straight(start=end[0], end=offset(end[0], out, job.trim_allowance))
    heights = [h - level for part in (*parts, trim) for h in heights_along(part, up)]
    return min(heights), max(heights)
