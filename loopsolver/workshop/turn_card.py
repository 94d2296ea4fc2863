"""The turn card: a ring scale that slides on the tube, the run's turns marked on it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from loopsolver.drafting.drawing import (
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Place,
    Text,
    polar,
)
from loopsolver.drafting.lettering import broken
from loopsolver.drafting.symbols import numbered_disc, spoke
from loopsolver.report.turns import turn_on_sheet, way_on_sheet
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.sleeve import seam_deg, turn_lines

SCALE: Final = 19.0
"""From the hole's edge to the degree marks [mm]; a degree is then 0.4 mm or more."""

_RIM: Final = 12.0  # from the degree marks to the card's edge [mm]
_DISC: Final = 3.0  # radius of the disc with a bend's number [mm]
_TO_DISC: Final = 7.6  # from the degree marks to its middle [mm]
_LIST: Final = 78.0  # room for the list of turns [mm]
_WORDS: Final = 2.2  # height of its capitals [mm]
_READ: Final = (
    "A bend points to its inside. Turns are for a former that stays where it is. "
    "Clockwise is as seen along the tube from its first end."
)


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
        Circle(centre=centre, radius=rim, layer=Layers.CUT),
        Circle(centre=centre, radius=hole, layer=Layers.CUT),
        Circle(centre=centre, radius=scale, layer=Layers.DIMENSION),
        *_degrees(centre, scale),
        *_slit(centre, hole, rim, seam_deg(lines)),
    ]
    for turned_deg in lines:
        for reach in ((hole, scale - 8.6), (scale, scale + 2.0)):
            shapes += [spoke(centre, reach, card_deg(turned_deg), Layers.INSIDE)]
    for number, disc_deg in _discs(lines, radius=scale + _TO_DISC):
        disc = polar(centre, scale + _TO_DISC, card_deg(disc_deg))
        mark = polar(centre, scale + 2.0, card_deg(lines[number - 1]))
        shapes.append(Line(start=mark, end=disc, layer=Layers.TURN))
        shapes += numbered_disc(disc, number, radius=_DISC)
    listed = _list(job, (2.0 * rim + 8.0, 2.0 * rim - 4.0))
    return Drawing(
        entities=(*shapes, *listed),
        low=(-1.0, min(-1.0, listed[-1].position[1] - 2.0)),
        high=(2.0 * rim + 8.0 + _LIST, 2.0 * rim + 1.0),
    )


def _degrees(centre: Place, scale: float) -> Iterator[Entity]:
    """Yield the degree marks, longer at every fifth and tenth, numbered at every 30th."""
    for degree in range(360):
        tall = 3.4 if degree % 10 == 0 else 2.4 if degree % 5 == 0 else 1.4
        at_deg = card_deg(degree)
        reach = (scale - tall, scale)
        yield spoke(centre, reach, at_deg, Layers.DIMENSION)
        if degree % 30 == 0:
            yield Text(
                position=polar(centre, scale - 6.6, at_deg),
                text=f"{degree}",
                size=1.9,
                anchor="middle",
                angle_deg=at_deg - 90.0,
                layer=Layers.DIMENSION,
            )


def _slit(centre: Place, hole: float, rim: float, turned_deg: float) -> list[Entity]:
    """Return the line along which the card is slit, to slip it over the tube."""
    at_deg = card_deg(turned_deg)
    words = polar(centre, rim - 2.0, at_deg)
    is_left = 90.0 < at_deg % 360.0 < 270.0
    reads_deg = at_deg - 180.0 if is_left else at_deg
    return [
        spoke(centre, (hole, rim), at_deg, Layers.TRIM),
        Text(
            position=polar(words, 0.8, reads_deg + 90.0),
            text="slit",
            size=1.9,
            anchor="start" if is_left else "end",
            angle_deg=reads_deg,
        ),
    ]


def _discs(lines: tuple[float, ...], *, radius: float) -> Iterator[tuple[int, float]]:
    """Yield each bend's number, and the direction of its disc [degrees turned].

    Numbers that would meet stand side by side along the rim, in the order of their
    marks, their middle where that of the marks is.
    """
    wide_deg = math.degrees(2.2 * _DISC / radius)
    at_seam_deg = seam_deg(lines)  # nothing is near it: there the round is opened
    marks = [((at_deg - at_seam_deg) % 360.0, n) for n, at_deg in enumerate(lines, 1)]
    groups: list[list[tuple[float, int]]] = []
    for mark in sorted(marks):
        groups.append([mark])
        while (
            len(groups) > 1
            and _places(groups[-2], wide_deg)[-1] + wide_deg
            > _places(groups[-1], wide_deg)[0]
        ):
            groups[-2:] = [groups[-2] + groups[-1]]
    for group in groups:
        for place_deg, (_, number) in zip(_places(group, wide_deg), group, strict=True):
            yield number, place_deg + at_seam_deg


def _places(group: list[tuple[float, int]], wide_deg: float) -> list[float]:
    """Return the directions of a group's discs, side by side [degrees from the seam]."""
    middle_deg = sum(at_deg for at_deg, _ in group) / len(group)
    return [
        middle_deg + wide_deg * (i - (len(group) - 1) / 2.0) for i in range(len(group))
    ]


def _list(job: Job, corner: Place) -> list[Text]:
    """Return the turns in words, hung from an upper left corner."""
    x, y = corner
    says = [
        ("Turn card", Face.STRONG, 3.2),
        (f"hole {job.size(job.tube.outer_diameter)}: the tube", Face.REGULAR, _WORDS),
        ("This face towards the first end, mark of bend 1", Face.REGULAR, _WORDS),
        ("over the inside of bend 1.", Face.REGULAR, _WORDS),
    ]
    for number, bend in enumerate(job.table.bends[1:], start=2):
        points = f"Bend {number}: {way_on_sheet(bend, number=number)}"
        turn = turn_on_sheet(bend, number=number) or "no turn"
        says += [(line, Face.STRONG, _WORDS) for line in _lines(points, Face.STRONG)]
        says.append((f"before it: {turn}", Face.REGULAR, _WORDS))
    says += [(line, Face.REGULAR, _WORDS) for line in _lines(_READ, Face.REGULAR)]
    shapes: list[Text] = []
    for text, face, size in says:
        shapes.append(Text(position=(x, y), text=text, size=size, face=face))
        y -= 2.0 * size
    return shapes


def _lines(text: str, face: Face) -> tuple[str, ...]:
    """Return a text in lines that the list of turns has room for."""
    return broken(text, width=_LIST, size=_WORDS, face=face)
