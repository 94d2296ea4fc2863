"""The wrap strip, drawn: a paper sleeve with every bend and turn marked on it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from loopsolver.drafting.drawing import Drawing, Entity, Line, rectangle
from loopsolver.drafting.layers import Layer
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.sleeve import (
    Sleeve,
    SleeveBend,
    flap_diamond,
    sleeve_of,
    strip_marks,
)
from loopsolver.workshop.strip_lettering import HEATED_GREY, ruler, strip_lettering

FLAP: Final = 7.0
"""Width of the strip beside the sleeve that goes under it [mm]."""

_EDGE: Final = 1.0


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
