"""The turn card: a ring scale that slides on the tube, the run's turns marked on it."""

from __future__ import annotations

from typing import Final

from loopsolver.workshop.drawing import (
    Circle,
    Drawing,
    Entity,
    Face,
    Layer,
    Line,
    Place,
    Text,
    polar,
)
from loopsolver.workshop.job import Job
from loopsolver.workshop.turn_note import clock
from loopsolver.workshop.wrap import TurnLine, seam_deg, turn_lines

SCALE: Final = 19.0
"""From the hole's edge to the degree marks [mm]; a degree is then 0.4 mm or more."""

_RIM: Final = 12.0  # from the degree marks to the card's edge [mm]
_DISC: Final = 3.0
_LIST: Final = 78.0  # room for the list of turns [mm]


def card_deg(turned_deg: float) -> float:
    """Return the direction of a mark on the card, counter-clockwise from +x.

    The card is looked at from the first end: 0 is up, and rotations go clockwise.
    """
    return 90.0 - turned_deg


def turn_card(job: Job) -> Drawing:
    """Return the card of a run, its hole as wide as the tube, and the list of turns."""
    hole = job.tube.radius
    scale = hole + SCALE
    rim = scale + _RIM
    centre = (rim, rim)
    lines = turn_lines(job.table)
    shapes: list[Entity] = [
        Circle(centre=centre, radius=rim, layer=Layer.CUT),
        Circle(centre=centre, radius=hole, layer=Layer.CUT),
        Circle(centre=centre, radius=scale, layer=Layer.DIMENSION),
        *_degrees(centre, scale),
        *_slit(centre, hole, rim, seam_deg(lines)),
    ]
    for turned in sorted({line.turned_deg for line in lines}):
        shapes += _mark(centre, hole, scale, lines, turned)
    shapes += _list(job, (2.0 * rim + 8.0, 2.0 * rim - 4.0))
    return Drawing(
        entities=tuple(shapes),
        low=(-1.0, -1.0),
        high=(2.0 * rim + 8.0 + _LIST, 2.0 * rim + 1.0),
    )


def _degrees(centre: Place, scale: float) -> list[Entity]:
    """Return the degree marks, longer at every fifth and tenth, numbered at every 30th."""
    shapes: list[Entity] = []
    for degree in range(360):
        tall = 3.4 if degree % 10 == 0 else 2.4 if degree % 5 == 0 else 1.4
        at = card_deg(degree)
        shapes.append(
            Line(
                start=polar(centre, scale - tall, at),
                end=polar(centre, scale, at),
                layer=Layer.DIMENSION,
            )
        )
        if degree % 30 == 0:
            shapes.append(
                Text(
                    position=polar(centre, scale - 6.6, at),
                    text=f"{degree}",
                    size=1.9,
                    anchor="middle",
                    angle_deg=at - 90.0,
                    layer=Layer.DIMENSION,
                )
            )
    return shapes


def _slit(centre: Place, hole: float, rim: float, turned_deg: float) -> list[Entity]:
    """Return the line along which the card is slit, to slip it over the tube."""
    at = card_deg(turned_deg)
    words = polar(centre, rim - 2.0, at)
    is_left = 90.0 < at % 360.0 < 270.0
    reads = at - 180.0 if is_left else at
    return [
        Line(
            start=polar(centre, hole, at),
            end=polar(centre, rim, at),
            layer=Layer.TRIM,
        ),
        Text(
            position=polar(words, 0.8, reads + 90.0),
            text="slit",
            size=1.9,
            anchor="start" if is_left else "end",
            angle_deg=reads,
        ),
    ]


def _mark(
    centre: Place,
    hole: float,
    scale: float,
    lines: tuple[TurnLine, ...],
    turned_deg: float,
) -> list[Entity]:
    """Return the mark of the bends that point one way, their numbers outside it."""
    at = card_deg(turned_deg)
    shapes: list[Entity] = [
        Line(
            start=polar(centre, start, at), end=polar(centre, end, at), layer=Layer.INSIDE
        )
        for start, end in ((hole, scale - 8.6), (scale, scale + 4.0))
    ]
    numbers = [line.number for line in lines if line.turned_deg == turned_deg]
    for index, number in enumerate(numbers):
        # Side by side along the rim, so that they do not run over its edge.
        aside = (index - (len(numbers) - 1) / 2.0) * 2.2 * _DISC
        disc = polar(polar(centre, scale + 4.0 + _DISC, at), aside, at - 90.0)
        shapes += [
            Circle(centre=disc, radius=_DISC, layer=Layer.NOTE, fill=0.0),
            Text(
                position=(disc[0], disc[1] - 1.4),
                text=str(number),
                size=2.8,
                anchor="middle",
                face=Face.STRONG,
                grey=1.0,
            ),
        ]
    return shapes


def _list(job: Job, corner: Place) -> list[Entity]:
    """Return the turns in words, hung from an upper left corner."""
    x, y = corner
    says = [
        ("Turn card", Face.STRONG, 3.2),
        (f"hole {job.size(job.tube.outer_diameter)}: the tube", Face.REGULAR, 2.3),
        ("This face towards the first end, mark", Face.REGULAR, 2.3),
        ("of bend 1 over the inside of bend 1.", Face.REGULAR, 2.3),
    ]
    bends = job.table.bends
    for number, bend in enumerate(bends[1:], start=2):
        words = f"{number - 1} to {number}: {clock(bend.rotation_deg)}"
        if round(bend.rotation_deg, 1) == 0.0:
            words = f"{number - 1} to {number}: no turn"
        if round(abs(bend.rotation_deg), 1) == 180.0:
            words = f"{number - 1} to {number}: 180°, half a turn"
        says.append((words, Face.STRONG, 2.6))
    says.append(("Clockwise as seen from the first end.", Face.REGULAR, 2.3))
    shapes: list[Entity] = []
    for text, face, size in says:
        shapes.append(Text(position=(x, y), text=text, size=size, face=face))
        y -= 5.2
    return shapes
