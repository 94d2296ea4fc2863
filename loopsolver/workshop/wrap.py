"""The wrap strip, drawn: a paper sleeve with every bend and turn marked on it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import numpy as np

from loopsolver.drafting.drawing import (
    Drawing,
    Entity,
    Face,
    Line,
    Place,
    Text,
    rectangle,
)
from loopsolver.drafting.extent import Extent
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.lettering import text_width
from loopsolver.drafting.placing import Ground
from loopsolver.drafting.symbols import numbered_disc
from loopsolver.report.angles import degree_sign
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.sleeve import (
    DISC,
    HALF,
    Sleeve,
    SleeveBend,
    diamond,
    flap_diamond,
    sleeve_of,
    strip_marks,
)

FLAP: Final = 7.0
"""Width of the strip beside the sleeve that goes under it [mm]."""

_EDGE: Final = 1.0


HEATED_GREY: Final = 0.93
"""What the length to heat is filled with."""

_ANGLE: Final = 2.6  # height of the capitals of a bend's angle [mm]
_SMALL: Final = 1.9  # the same of places along the blank
_TINY: Final = 1.6  # the same of ruler and degrees
_SIZES: Final = (_SMALL, _TINY, 1.35)
"""Heights that the capitals of a place may have [mm], the best first."""

_ENDS: Final = ("first end", "last end")


def wrap_strip(job: Job) -> Drawing:
    """Return the whole strip of a run, its lower left corner at the first end."""
    sleeve = sleeve_of(job)
    windows, discs = strip_marks(sleeve)
    top = sleeve.top
    under = (flap_diamond(place, top=top, flap=FLAP) for place in windows)
    heated = (
        rectangle(
            (bend.mark.heated_from, 0.0),
            (bend.mark.heated_to, top),
            layer=Layers.SOLID,
            fill=HEATED_GREY,
        )
        for bend in sleeve.bends
    )
    return Drawing(
        entities=(
            *heated,
            *_outline(sleeve),
            *_degree_scale(sleeve),
            *(line for bend in sleeve.bends for line in _bend_lines(bend, top)),
            *(_across(x, top, Layers.CUT) for x in sleeve.cuts),
            *_ruler_ticks(sleeve),
            *strip_lettering(sleeve, windows, discs),
            *(notch for notch in under if notch is not None),
        ),
        low=(-_EDGE, -_EDGE),
        high=(sleeve.length + _EDGE, top + FLAP + _EDGE),
    )


def _outline(sleeve: Sleeve) -> Iterator[Entity]:
    """Yield the outline of the sleeve, and its flap drawn apart."""
    length, top = sleeve.length, sleeve.top
    flap = (
        ((0.0, top), (2.0, top + FLAP)),
        ((2.0, top + FLAP), (length - 2.0, top + FLAP)),
        ((length - 2.0, top + FLAP), (length, top)),
    )
    for start, end in flap:
        yield Line(start=start, end=end, layer=Layers.TRIM)
    yield rectangle((0.0, 0.0), (length, top), layer=Layers.CUT)


def _across(x: float, top: float, layer: Layer) -> Line:
    """Return a line across the whole strip."""
    return Line(start=(x, 0.0), end=(x, top), layer=layer)


def _bend_lines(bend: SleeveBend, top: float) -> Iterator[Line]:
    """Yield the lines of one bend: across the strip, and along it on its inside."""
    mark = bend.mark
    yield _across(mark.heated_from, top, Layers.HEATED)
    yield _across(mark.heated_to, top, Layers.HEATED)
    yield _across(mark.start, top, Layers.TURN)
    yield _across(mark.end, top, Layers.TURN)
    yield _across(mark.centre, top, Layers.CENTRE)
    yield Line(
        start=(mark.heated_from, bend.height),
        end=(mark.heated_to, bend.height),
        layer=Layers.INSIDE,
    )


def _ruler_ticks(sleeve: Sleeve) -> Iterator[Line]:
    """Yield the ruler along the strip's lower edge, from the first end of the blank."""
    spacing, strong, _ = ruler(sleeve.job)
    for index in range(1, math.floor(sleeve.length / spacing) + 1):
        tall = 2.4 if index % strong == 0 else 1.4
        x = spacing * index
        yield Line(start=(x, 0.0), end=(x, tall), layer=Layers.DIMENSION)


def _degree_scale(sleeve: Sleeve) -> Iterator[Line]:
    """Yield degrees round the tube on the first end's edge, 0 at bend 1's inside."""
    for degree in range(0, 360, 10):
        y = sleeve.height(float(degree))
        wide = 3.0 if degree % 30 == 0 else 1.6
        yield Line(start=(0.0, y), end=(wide, y), layer=Layers.DIMENSION)


class _Board:
    """What is taken on a strip: by anything, and by what lettering must not cross."""

    def __init__(self) -> None:
        self.everything = Ground()
        self.strong = Ground()

    def take_box(self, box: Extent) -> None:
        """Take a box that no lettering may cross."""
        self.everything.take_box(box)
        self.strong.take_box(box)

    def take_line(self, start: Place, end: Place, *, half_width: float) -> None:
        """Take a line that no lettering may cross."""
        self.everything.take_line(start, end, half_width=half_width)
        self.strong.take_line(start, end, half_width=half_width)

    def free(self, boxes: Iterable[Extent]) -> tuple[Extent, bool] | None:
        """Return the first box that is free, and whether it crosses faint lines."""
        tried = list(boxes)
        for ground, crosses in ((self.everything, False), (self.strong, True)):
            for box in tried:
                if ground.is_free(box, spare=0.15):
                    return box, crosses
        return None


def ruler(job: Job) -> tuple[float, int, int]:
    """Return the ruler's spacing [mm], and every which tick is long and numbered."""
    return (6.35, 4, 4) if job.units == "in" else (5.0, 2, 10)


def strip_lettering(
    sleeve: Sleeve, windows: Sequence[Place], discs: Sequence[Place]
) -> tuple[Entity, ...]:
    """Return all lettering of a strip, what matters most placed first.

    Parameters
    ----------
    sleeve : Sleeve
    marks : StripMarks
        Of the sleeve: what is cut out, and where its bends' numbers are.
    """
    board = _board(sleeve, windows, discs)
    shapes: list[Entity] = [diamond(place) for place in windows]
    for bend, at in zip(sleeve.bends, discs, strict=True):
        shapes += numbered_disc(at, bend.mark.number, radius=DISC)
    for bend, at in zip(sleeve.bends, discs, strict=True):
        shapes += _angle(bend, at, board, top=sleeve.top)
    shapes += _end_names(sleeve, board)
    for x in sleeve.cuts:
        shapes += _place(x, ("cut here", "cut"), board, top=sleeve.top)
    for bend in sleeve.bends:
        shapes += _places(sleeve, bend, board)
    shapes += _degree_numbers(sleeve, board)
    shapes += _ruler_numbers(sleeve, board)
    return tuple(shapes)


def _board(sleeve: Sleeve, windows: Sequence[Place], discs: Sequence[Place]) -> _Board:
    """Return the strip with all its lines, discs and diamonds on it."""
    board, top = _Board(), sleeve.top
    for x in (0.0, sleeve.length, *sleeve.cuts):
        board.take_line((x, 0.0), (x, top), half_width=0.2)
    for bend in sleeve.bends:
        mark, y = bend.mark, bend.height
        for x in (mark.start, mark.centre, mark.end):
            board.take_line((x, 0.0), (x, top), half_width=0.2)
        for x in (mark.heated_from, mark.heated_to):
            board.everything.take_line((x, 0.0), (x, top), half_width=0.2)
        board.take_line((mark.heated_from, y), (mark.heated_to, y), half_width=0.4)
    for place in discs:
        board.take_line(place, place, half_width=DISC)
    for x, y in windows:
        board.take_box((x - HALF, y - HALF, x + HALF, y + HALF))
    return board


def _angle(
    bend: SleeveBend, disc: Place, board: _Board, *, top: float
) -> Iterator[Entity]:
    """Yield a bend's angle beside its number; lines across the strip pass under it."""
    x, y = disc
    says = degree_sign(bend.angle_deg)
    for size in (_ANGLE, 0.8 * _ANGLE):
        wide = text_width(says, size, Face.STRONG)
        beside = (x + DISC + 0.6, x - DISC - 0.6 - wide)
        boxes = [
            (left, low, left + wide, low + size)
            for low in (y - 0.5 * size, y + 0.9, y - 0.9 - size)
            if 0.5 < low < top - size - 0.5
            for left in beside
        ]
        found = board.free(boxes)
        clear = board.strong.is_clear_of_boxes  # of lettering, though not of lines
        over = (box for box in boxes if clear(box, spare=0.15))
        box = found[0] if found else next(over, None)
        if box is not None:
            board.take_box(box)
            yield _cleared(box)
            yield Text(position=box[:2], text=says, size=size, face=Face.STRONG)
            return


def _cleared(box: Extent) -> Entity:
    """Return ground as grey as heated length, on which lettering is read over lines."""
    left, bottom, right, top = box
    low, high = (left - 0.2, bottom - 0.3), (right + 0.2, top + 0.3)
    return rectangle(low, high, layer=Layers.SOLID, fill=HEATED_GREY)


def _places(sleeve: Sleeve, bend: SleeveBend, board: _Board) -> Iterator[Entity]:
    """Yield where on the blank a bend starts, has its middle and ends."""
    mark, job = bend.mark, sleeve.job
    for x, name in ((mark.start, "start "), (mark.end, "end "), (mark.centre, "")):
        length, bare = job.length(x), job.bare(x)
        wordings = dict.fromkeys((f"{name}{length}", length, bare))
        yield from _place(x, tuple(wordings), board, top=sleeve.top)


def _place(
    x: float, wordings: Sequence[str], board: _Board, *, top: float
) -> Iterator[Entity]:
    """Yield small lettering that reads upward along the left of a line, if it fits."""
    boxes = {
        box: (says, size)
        for size in _SIZES
        for says in wordings
        for box in _left_of(x, says, size, top=top)
    }
    found = board.free(boxes)
    if found is None:
        return
    box, crosses = found
    says, size = boxes[box]
    board.take_box(box)
    if crosses:
        yield _cleared(box)
    at = (box[2] - 0.33 * size, box[1])
    yield Text(position=at, text=says, size=size, angle_deg=90.0)


def _left_of(x: float, says: str, size: float, *, top: float) -> Iterator[Extent]:
    """Yield places of lettering along the left of a line, from the upper edge down."""
    wide, right = text_width(says, size), x - 0.5
    for down in np.arange(1.2, top - wide - 2.2, 0.7):
        yield (right - 1.33 * size, top - down - wide, right, top - float(down))


def _end_names(sleeve: Sleeve, board: _Board) -> Iterator[Entity]:
    """Yield which end is which, on what is trimmed off there, else on the flap."""
    first, last = sleeve.cuts
    spans = ((0.0, first), (last, sleeve.length))
    for name, (left, right) in zip(_ENDS, spans, strict=True):
        inner = left + 3.4 if name == _ENDS[0] else left
        yield from _end_name(name, inner, right, board, top=sleeve.top)


def _end_name(
    name: str, left: float, right: float, board: _Board, *, top: float
) -> Iterator[Text]:
    """Yield one end's name between two places along the strip, level or upright."""
    size, y = 2.6, top / 2.0
    wide = text_width(name, size, Face.STRONG)
    if wide + 8.0 < right - left:
        middle = (left + right) / 2.0 + (3.0 if name == _ENDS[0] else 0.0)
        for says, low, tall, face in (
            (name, y + 0.6, size, Face.STRONG),
            ("trim off", y - 3.2, _SMALL, Face.REGULAR),
        ):
            half = text_width(says, tall, face) / 2.0
            board.take_box((middle - half, low, middle + half, low + tall))
            at = (middle, low)
            yield Text(position=at, text=says, size=tall, anchor="middle", face=face)
        return
    size = min(2.2, size * (top - 3.0) / wide, 0.6 * (right - left))
    if size < 1.2:
        is_first = name == _ENDS[0]
        yield Text(
            position=(left if is_first else right - 3.0, top + 2.4),
            text=name,
            size=_SMALL,
            anchor="start" if is_first else "end",
            face=Face.STRONG,
        )
        return
    x, half = (left + right + size) / 2.0, size * wide / 5.2
    board.take_box((x - 1.1 * size, y - half, x + 0.3 * size, y + half))
    yield Text(
        position=(x, y),
        text=name,
        size=size,
        anchor="middle",
        angle_deg=90.0,
        face=Face.STRONG,
    )


def _degree_numbers(sleeve: Sleeve, board: _Board) -> Iterator[Text]:
    """Yield the degrees' numbers beside their scale where they are free."""
    for degree in range(0, 360, 90):
        y, says = sleeve.height(float(degree)), f"{degree}°"
        box = (3.6, y - 0.8, 3.6 + text_width(says, _TINY), y + 0.8)
        if 2.0 < y < sleeve.top - 2.0 and board.everything.is_free(box, spare=0.15):
            board.take_box(box)
            yield Text(position=box[:2], text=says, size=_TINY, layer=Layers.DIMENSION)


def _ruler_numbers(sleeve: Sleeve, board: _Board) -> Iterator[Text]:
    """Yield the ruler's numbers, each on the side of its tick that is free."""
    spacing, _, numbered = ruler(sleeve.job)
    for index in range(numbered, math.floor(sleeve.length / spacing) + 1, numbered):
        x = spacing * index
        says = f"{index // 4}" if sleeve.job.units == "in" else f"{x:.0f}"
        width = text_width(says, _TINY)
        for left in (x + 0.5, x - 0.5 - width):
            box = (left, 1.5, left + width, 1.6 + _TINY)
            if box[2] < sleeve.length - 1.0 and board.everything.is_free(
                box, spare=0.1
            ):
                at = (left, 1.6)
                yield Text(position=at, text=says, size=_TINY, layer=Layers.DIMENSION)
                break
