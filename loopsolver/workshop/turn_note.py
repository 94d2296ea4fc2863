"""How the tube is turned between two planes: a small picture and what it says."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from loopsolver.workshop.drawing import (
    Arc,
    Circle,
    Entity,
    Face,
    Layer,
    Line,
    Place,
    Polygon,
    Text,
    polar,
    rectangle,
)
from loopsolver.workshop.flat import FlatPlane
from loopsolver.workshop.lettering import broken

_PICTURE: Final = 13.0  # radius of the picture of the turn [mm]
_TEXT_WIDTH: Final = 64.0
_SIZE: Final = 2.5
_LEADING: Final = 4.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A box of lettering and pictures, its lower left corner at (0, 0) [mm]."""

    width: float
    height: float
    entities: tuple[Entity, ...]


def clock(rotation_deg: float) -> str:
    """Return a rotation in words, seen along the tube from its first end.

    A rotation is right-handed about the direction of travel, and a right-handed turn
    about a direction that points away from the eye is clockwise.
    """
    amount = f"{abs(rotation_deg):.1f}".removesuffix(".0")
    way = "clockwise" if rotation_deg > 0.0 else "anticlockwise"
    return f"{amount}° {way}"


def turn_words(plane: FlatPlane) -> tuple[str, ...]:
    """Return what is to be done after a plane, in sentences; empty after the last."""
    turn = plane.turn_after_deg
    if turn is None:
        return ()
    here, following = plane.bends[-1].number, plane.bends[-1].number + 1
    return (
        f"Bend {following} points {clock(turn)} of bend {here}, "
        "seen along the tube from its first end.",
        f"To lay it flat on sheet {plane.number + 1}, turn the tube {clock(-turn)}.",
    )


def turn_picture(centre: Place, plane: FlatPlane) -> tuple[Entity, ...]:
    """Return the tube's end view from its first end: where two bends point, and how.

    The sheet lies level; a bend to the left on it points to the left here.
    """
    turn = plane.turn_after_deg
    if turn is None:
        return ()
    bend = plane.bends[-1]
    here = 180.0 if bend.side > 0 else 0.0
    there = here - turn  # clockwise as seen
    shapes: list[Entity] = [
        Line(
            start=(centre[0] - _PICTURE, centre[1]),
            end=(centre[0] + _PICTURE, centre[1]),
            layer=Layer.LEG,
        )
    ]
    shapes += _pointer(centre, here, str(bend.number), fill=1.0)
    shapes += _pointer(centre, there, str(bend.number + 1), fill=0.0)
    shapes += (
        Circle(centre=centre, radius=3.2, layer=Layer.INSIDE, fill=1.0),
        Circle(centre=centre, radius=2.0, layer=Layer.LEG),
    )
    shapes += _turn_arrow(centre, here, there)
    return tuple(shapes)


def _pointer(
    centre: Place, angle_deg: float, number: str, *, fill: float
) -> tuple[Entity, ...]:
    """Return a bar from the tube to a bend's number, the way the bend points."""
    tip = polar(centre, _PICTURE - 3.4, angle_deg)
    disc = polar(centre, _PICTURE - 3.0, angle_deg)
    return (
        Line(start=centre, end=tip, layer=Layer.INSIDE),
        Circle(centre=disc, radius=3.0, layer=Layer.TURN, fill=fill),
        Text(
            position=(disc[0], disc[1] - 1.4),
            text=number,
            size=2.8,
            anchor="middle",
            face=Face.STRONG,
            grey=1.0 - fill,
        ),
    )


def _turn_arrow(centre: Place, here: float, there: float) -> tuple[Entity, ...]:
    """Return an arc with an arrow head from one direction to another."""
    radius = _PICTURE - 7.6
    way = math.copysign(1.0, there - here)
    begin, end = here + 10.0 * way, there - 10.0 * way
    tip = polar(centre, radius, end)
    heading = end + 90.0 * way
    back = polar(tip, -2.2, heading - 10.0 * way)
    head = Polygon(
        points=(
            tip,
            polar(back, 0.9, heading + 90.0),
            polar(back, 0.9, heading - 90.0),
        ),
        layer=Layer.TURN,
        fill=0.0,
    )
    stop = end - 12.0 * way
    low, high = min(begin, stop), max(begin, stop)
    arc = Arc(
        centre=centre, radius=radius, start_deg=low, end_deg=high, layer=Layer.TURN
    )
    return (arc, head)


def note_panel(plane: FlatPlane, *, before: tuple[str, ...]) -> Panel | None:
    """Return a plane's note on turning the tube, or None if there is nothing to say.

    Parameters
    ----------
    before : tuple of str
        What is to be said of the bends that are done already.
    """
    words = turn_words(plane)
    if not words and not before:
        return None
    has_picture = bool(words)
    left = 2.0 * _PICTURE + 5.0 if has_picture else 3.0
    lines: list[tuple[str, Face]] = []
    if has_picture:
        lines.append((f"Next: sheet {plane.number + 1}", Face.STRONG))
    for sentence in (*words, *before):
        lines += [
            (line, Face.REGULAR)
            for line in broken(sentence, width=_TEXT_WIDTH, size=_SIZE)
        ]
    least = 2.0 * _PICTURE + 7.0 if has_picture else 0.0
    height = max(least, _LEADING * len(lines) + 4.0)
    width = left + _TEXT_WIDTH + 3.0
    shapes: list[Entity] = [
        rectangle((0.0, 0.0), (width, height), layer=Layer.FRAME, fill=1.0)
    ]
    if has_picture:
        shapes += turn_picture((_PICTURE + 2.5, height / 2.0 + 1.6), plane)
        shapes.append(
            Text(
                position=(_PICTURE + 2.5, 1.6),
                text="from the first end",
                size=1.8,
                anchor="middle",
            )
        )
    top = (height + _LEADING * len(lines)) / 2.0
    shapes += [
        Text(
            position=(left, top - _LEADING * index - 3.2),
            text=line,
            size=_SIZE,
            face=face,
        )
        for index, (line, face) in enumerate(lines)
    ]
    return Panel(width=width, height=height, entities=tuple(shapes))
