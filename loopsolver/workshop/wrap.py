"""The wrap strip: a paper sleeve for the blank, with every bend and turn marked on it.

It is as wide as the tube's circumference, so that round the tube a degree is always
the same length, and as long as the blank. x runs along the blank from its first end,
y round it. Printed side out, with the first end on the left, y grows anticlockwise as
seen along the tube from its first end; a rotation of the bend table, which is
clockwise where positive, therefore goes towards smaller y.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.marks import BendMark, bend_marks, blank_length
from loopsolver.workshop.drawing import (
    Circle,
    Drawing,
    Entity,
    Face,
    Layer,
    Line,
    Place,
    Text,
    Window,
    rectangle,
)
from loopsolver.workshop.extent import Box
from loopsolver.workshop.job import Job
from loopsolver.workshop.lettering import text_width
from loopsolver.workshop.paging import Size, room
from loopsolver.workshop.placing import Ground
from loopsolver.workshop.tiling import OVERLAP, Block

FLAP: Final = 7.0
"""Width of the strip beside the sleeve that goes under it [mm]."""

_EDGE: Final = 1.0
_SMALL: Final = 1.9
_TINY: Final = 1.6
_DISC: Final = 3.2  # radius of the disc with a bend's number [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnLine:
    """Where the inside of a bend lies round the tube.

    Attributes
    ----------
    number : int
        Of the bend.
    turned_deg : float
        Sum of the rotations since bend 1, clockwise as seen from the first end, in
        [0, 360).
    """

    number: int
    turned_deg: float


def degree_width(outer_diameter: float) -> float:
    """Return the width of one degree on a strip round a tube [mm].

    Notes
    -----
    ``pi D / 360``, for paper that is thin against the tube.
    """
    return math.pi * outer_diameter / 360.0


def turn_lines(table: BendTable) -> tuple[TurnLine, ...]:
    """Return where each bend's inside lies round the tube, bend 1 at 0 degrees."""
    turned = 0.0
    lines: list[TurnLine] = []
    for number, bend in enumerate(table.bends, start=1):
        turned += bend.rotation_deg if number > 1 else 0.0
        rounded = round(turned % 360.0, 9) % 360.0
        lines.append(TurnLine(number=number, turned_deg=rounded))
    return tuple(lines)


def seam_deg(lines: tuple[TurnLine, ...]) -> float:
    """Return the direction round the tube that is furthest from every bend's inside.

    The middle of the widest gap, the first of equal ones; the strip's edges meet there.
    """
    angles = sorted({line.turned_deg for line in lines}) or [0.0]
    gaps = [*pairwise(angles), (angles[-1], angles[0] + 360.0)]
    start, end = max(gaps, key=lambda gap: round(gap[1] - gap[0], 6))
    return ((start + end) / 2.0) % 360.0


def strip_height(turned_deg: float, *, seam: float, outer_diameter: float) -> float:
    """Return y on the strip of a direction round the tube [mm]; 0 at the seam."""
    return ((seam - turned_deg) % 360.0) * degree_width(outer_diameter)


def wrap_strip(job: Job) -> Drawing:
    """Return the whole strip of a run, its lower left corner at the first end."""
    outer, trim = job.tube.outer_diameter, job.trim_allowance
    length = blank_length(job.table, trim_allowance=trim)
    round_it = math.pi * outer
    marks = bend_marks(job.table, trim_allowance=trim, outer_diameter=outer)
    lines = turn_lines(job.table)
    seam = seam_deg(lines)
    heights = tuple(
        strip_height(line.turned_deg, seam=seam, outer_diameter=outer) for line in lines
    )
    ground = _ground(marks, heights, cuts=(trim, length - trim), top=round_it)
    shapes: list[Entity] = []
    for mark in marks:
        low, high = (mark.heated_from, 0.0), (mark.heated_to, round_it)
        shapes.append(rectangle(low, high, layer=Layer.SOLID, fill=0.93))
    shapes += _sleeve(length, round_it)
    shapes += _degree_scale(job, seam)
    for mark, height in zip(marks, heights, strict=True):
        angle = job.table.bends[mark.number - 1].angle_deg
        shapes += _bend_lines(mark, height=height, top=round_it)
        shapes += _bend_name(mark, height=height, angle_deg=angle, ground=ground)
    shapes += _cut_lines(job, length, round_it, ground)
    for mark in marks:
        shapes += _bend_places(job, mark, top=round_it, ground=ground)
    shapes += _ruler(job, length, ground)
    return Drawing(
        entities=tuple(shapes),
        low=(-_EDGE, -_EDGE),
        high=(length + _EDGE, round_it + FLAP + _EDGE),
    )


def _sleeve(length: float, top: float) -> list[Entity]:
    """Return the outline of the sleeve, and its flap drawn apart."""
    flap = (
        ((0.0, top), (2.0, top + FLAP)),
        ((2.0, top + FLAP), (length - 2.0, top + FLAP)),
        ((length - 2.0, top + FLAP), (length, top)),
    )
    return [
        *(Line(start=start, end=end, layer=Layer.TRIM) for start, end in flap),
        rectangle((0.0, 0.0), (length, top), layer=Layer.CUT),
    ]


def _upright(x: float, top: float, layer: Layer) -> Line:
    """Return a line across the whole strip."""
    return Line(start=(x, 0.0), end=(x, top), layer=layer)


def _ground(
    marks: tuple[BendMark, ...],
    heights: tuple[float, ...],
    *,
    cuts: tuple[float, float],
    top: float,
) -> Ground:
    """Return the strip with all lines on it, for lettering to keep clear of."""
    ground = Ground()
    across = [
        x
        for mark in marks
        for x in (mark.heated_from, mark.start, mark.centre, mark.end, mark.heated_to)
    ]
    for x in (*across, *cuts):
        ground.take_line((x, 0.0), (x, top), half_width=0.2)
    for mark, height in zip(marks, heights, strict=True):
        ground.take_line(
            (mark.heated_from, height), (mark.heated_to, height), half_width=0.4
        )
        ground.take_line((mark.centre, height), (mark.centre, height), half_width=_DISC)
    return ground


def _said(x: float, wordings: Sequence[str], *, top: float, ground: Ground) -> Text:
    """Return small lettering along a line across the strip, on either side of it.

    It reads upward, as near to the strip's upper edge as it is free; the first wording
    that is free anywhere is taken, else the last one at the edge.
    """
    for says, size in (
        (says, share * min(_SMALL, _SMALL * (top - 4.0) / text_width(says, _SMALL)))
        for says in wordings
        for share in (1.0, 0.85)
    ):
        for down in np.arange(1.2, top - text_width(says, size) - 2.2, 0.7):
            for side in (-1.0, 1.0):
                box = _said_box(x, says, size=size, side=side, down=down, top=top)
                if ground.is_free(box, spare=0.15):
                    ground.take_box(box)
                    return _said_in(box, says, size)
    box = _said_box(x, says, size=size, side=-1.0, down=1.2, top=top)
    return _said_in(box, says, size)


def _said_in(box: Box, says: str, size: float) -> Text:
    """Return small lettering that reads upward in a box."""
    at = (box[2] - 0.33 * size, box[1])
    return Text(position=at, text=says, size=size, angle_deg=90.0)


def _said_box(
    x: float, says: str, *, size: float, side: float, down: float, top: float
) -> Box:
    """Return the box of small lettering beside a line at `x`, `down` from the edge."""
    tall = 1.33 * size
    left = x - 0.5 - tall if side < 0.0 else x + 0.5
    upper = top - down
    return (left, upper - text_width(says, size), left + tall, upper)


def _cut_lines(job: Job, length: float, top: float, ground: Ground) -> list[Entity]:
    """Return both lines at which the bent tube is cut, and the names of the ends."""
    trim = job.trim_allowance
    shapes: list[Entity] = []
    for x, name in ((trim, "first end"), (length - trim, "last end")):
        shapes.append(_upright(x, top, Layer.CUT))
        left = x - trim if name == "first end" else x
        shapes.append(
            Text(
                position=(left + trim / 2.0 + 2.0, top / 2.0 + 0.8),
                text=name,
                size=min(2.6, 0.09 * trim),
                anchor="middle",
                face=Face.STRONG,
            )
        )
        shapes.append(
            Text(
                position=(left + trim / 2.0 + 2.0, top / 2.0 - 3.0),
                text="trim off",
                size=min(_SMALL, 0.08 * trim),
                anchor="middle",
            )
        )
        shapes.append(_said(x, ("cut here",), top=top, ground=ground))
    return shapes


def _ruler(job: Job, length: float, ground: Ground) -> list[Entity]:
    """Return the ruler along the strip's lower edge, from the first end of the blank."""
    is_inch = job.units == "in"
    step, strong, numbered = (6.35, 4, 4) if is_inch else (5.0, 2, 10)
    shapes: list[Entity] = []
    for index in range(1, math.floor(length / step) + 1):
        x = step * index
        tall = 2.4 if index % strong == 0 else 1.4
        shapes.append(Line(start=(x, 0.0), end=(x, tall), layer=Layer.DIMENSION))
        if index % numbered == 0:
            says = f"{index // 4}" if is_inch else f"{x:.0f}"
            shapes += _ruler_number(x, says, length, ground)
    return shapes


def _ruler_number(x: float, says: str, length: float, ground: Ground) -> list[Entity]:
    """Return the number of a tick, on the side of it that is free, or none."""
    width = text_width(says, _TINY)
    for left in (x + 0.5, x - 0.5 - width):
        box = (left, 1.5, left + width, 1.6 + _TINY)
        if box[2] < length - 1.0 and ground.is_free(box, spare=0.1):
            place = (left, 1.6)
            return [Text(position=place, text=says, size=_TINY, layer=Layer.DIMENSION)]
    return []


def _degree_scale(job: Job, seam: float) -> list[Entity]:
    """Return degrees round the tube on the first end's edge, 0 at bend 1's inside."""
    outer = job.tube.outer_diameter
    shapes: list[Entity] = []
    for degree in range(0, 360, 10):
        y = strip_height(float(degree), seam=seam, outer_diameter=outer)
        wide = 3.0 if degree % 30 == 0 else 1.6
        shapes.append(Line(start=(0.0, y), end=(wide, y), layer=Layer.DIMENSION))
        if degree % 90 == 0 and 2.0 < y < math.pi * outer - 2.0:
            shapes.append(
                Text(
                    position=(3.6, y - 0.8),
                    text=f"{degree}°",
                    size=1.6,
                    layer=Layer.DIMENSION,
                )
            )
    return shapes


def _bend_lines(mark: BendMark, *, height: float, top: float) -> list[Entity]:
    """Return the lines of one bend: across the strip, and along it on its inside."""
    return [
        _upright(mark.heated_from, top, Layer.HEATED),
        _upright(mark.heated_to, top, Layer.HEATED),
        _upright(mark.start, top, Layer.TURN),
        _upright(mark.end, top, Layer.TURN),
        _upright(mark.centre, top, Layer.CENTRE),
        Line(
            start=(mark.heated_from, height),
            end=(mark.heated_to, height),
            layer=Layer.INSIDE,
        ),
    ]


def _bend_name(
    mark: BendMark, *, height: float, angle_deg: float, ground: Ground
) -> list[Entity]:
    """Return a bend's number on its inside line, its angle and what the line is."""
    x = mark.centre
    angle = f"{angle_deg:.1f}".removesuffix(".0") + "°"
    width = max(text_width(angle, 2.6, Face.STRONG), text_width("inside", _SMALL))
    right, left = x + _DISC + 0.8, x - _DISC - 0.8 - width
    begin = right if right + width < mark.end - 0.4 else left
    for low in (height + 0.6, height - 3.4):
        ground.take_box((begin, low, begin + width, low + 3.0))
    return [
        Circle(centre=(x, height), radius=_DISC, layer=Layer.NOTE, fill=0.0),
        Text(
            position=(x, height - 1.6),
            text=str(mark.number),
            size=3.2,
            anchor="middle",
            face=Face.STRONG,
            grey=1.0,
        ),
        Text(position=(begin, height + 0.9), text=angle, size=2.6, face=Face.STRONG),
        Text(position=(begin, height - 2.8), text="inside", size=_SMALL),
    ]


def _bend_places(
    job: Job, mark: BendMark, *, top: float, ground: Ground
) -> list[Entity]:
    """Return where on the blank a bend starts, has its middle and ends, in words."""
    start, centre, end = map(job.length, (mark.start, mark.centre, mark.end))
    return [
        _said(x, wordings, top=top, ground=ground)
        for x, wordings in (
            (mark.start, (f"start {start}", start)),
            (mark.end, (f"end {end}", end)),
            (mark.centre, (centre,)),
        )
    ]


def strip_blocks(strip: Drawing, size: Size) -> tuple[Block, ...]:
    """Return the strip in parts that fit across the paper, to be joined end to end."""
    low, high = room(size)
    wide = high[0] - low[0]
    pitch = wide - OVERLAP
    count = max(1, math.ceil((strip.width - OVERLAP) / pitch - 1e-9))
    blocks: list[Block] = []
    for index in range(count):
        left = strip.low[0] + pitch * index
        right = min(left + wide, strip.high[0])
        window = Window(
            drawing=strip,
            low=(left, strip.low[1]),
            high=(right, strip.high[1]),
            at=(0.0, 0.0),
        )
        marks = _part_name(index + 1, count, right - left, strip.height)
        if index > 0:
            marks += _joint(OVERLAP / 2.0, strip.height, f"{index} | {index + 1}")
        if index < count - 1:
            x = wide - OVERLAP / 2.0
            marks += _joint(x, strip.height, f"{index + 1} | {index + 2}")
        blocks.append(Block(window=window, marks=tuple(marks)))
    return tuple(blocks)


def _part_name(number: int, count: int, width: float, height: float) -> list[Entity]:
    """Return which part of the strip this is and what its flap is for, on the flap."""
    at = (OVERLAP + 12.0, height - FLAP / 2.0 - 1.9)
    part = f"part {number} of {count}"
    for says in (f"{part}; flap, goes under the other edge", part):
        if at[0] + text_width(says, _SMALL) < width - 6.0:
            return [Text(position=at, text=says, size=_SMALL)]
    return []


def _joint(x: float, height: float, says: str) -> list[Entity]:
    """Return where two parts of the strip are joined: a dotted line with two crosses."""
    shapes: list[Entity] = [
        Line(start=(x, 0.0), end=(x, height), layer=Layer.JOINT),
        Text(
            position=(x + 2.6, height - FLAP / 2.0 - 1.4),
            text=says,
            size=1.8,
            anchor="start",
        ),
    ]
    for y in (0.35 * height, height - FLAP / 2.0 - _EDGE):
        shapes += _cross((x, y))
    return shapes


def _cross(place: Place) -> list[Entity]:
    """Return a small ring with a cross."""
    x, y = place
    return [
        Circle(centre=place, radius=1.2, layer=Layer.PAGE_MARK),
        Line(start=(x - 2.2, y), end=(x + 2.2, y), layer=Layer.PAGE_MARK),
        Line(start=(x, y - 2.2), end=(x, y + 2.2), layer=Layer.PAGE_MARK),
    ]
