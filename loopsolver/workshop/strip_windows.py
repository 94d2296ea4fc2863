"""Diamonds cut out of a wrap strip, through which the tube under it is marked.

A diamond's corners lie on the line across the strip that it is for and on the inside of
the bend: a cross from corner to corner marks both on the tube.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from loopsolver.drafting.drawing import Place, Polygon
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.sleeve import Sleeve, SleeveBend

HALF: Final = 2.0
"""Half a diamond's width and height [mm]: a knife cuts it, a pen point goes in."""

DISC: Final = 3.2
"""Radius of the disc with a bend's number [mm]."""

_BETWEEN: Final = 0.6  # paper left between two diamonds, and beside a disc [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class StripMarks:
    """Where a strip is cut out and where its bends are named.

    Attributes
    ----------
    windows : tuple of Place
        Middles of the diamonds.
    discs : tuple of Place
        Middle of each bend's disc, in the order of the bends.
    """

    windows: tuple[Place, ...]
    discs: tuple[Place, ...]


def strip_marks(sleeve: Sleeve) -> StripMarks:
    """Return the diamonds of a strip and the discs beside them.

    Centres come first, then starts, then ends. What would run into another diamond, or
    over the strip's edge, has none; nor has the centre of a bend whose disc finds no
    other place.
    """
    windows: list[Place] = []
    for bends_at in (
        [(bend.mark.centre, bend.height) for bend in sleeve.bends],
        [(bend.mark.start, bend.height) for bend in sleeve.bends],
        [(bend.mark.end, bend.height) for bend in sleeve.bends],
    ):
        for place in bends_at:
            if _is_inside(sleeve, place, HALF) and not _meets(place, windows):
                windows.append(place)
    discs: list[Place] = []
    for bend in sleeve.bends:
        disc = _disc(sleeve, bend, windows, discs)
        discs.append(disc)
        windows = [one for one in windows if not _is_under(one, disc)]
    return StripMarks(windows=tuple(windows), discs=tuple(discs))


def diamond(place: Place) -> Polygon:
    """Return the diamond round a place, white inside."""
    x, y = place
    return Polygon(
        points=((x - HALF, y), (x, y - HALF), (x + HALF, y), (x, y + HALF)),
        layer=Layers.WINDOW,
        fill=1.0,
    )


def flap_diamond(place: Place, *, top: float, flap: float) -> Polygon | None:
    """Return what is cut out of the flap that lies under a diamond; None if none does.

    The flap goes on beyond the strip's upper edge, at `top`, and when wrapped lies under
    the lower one. A diamond over the flap's own edge becomes a notch.
    """
    x, y = place
    up, edge = y + top, top + flap
    if y - HALF >= flap:
        return None
    if y + HALF <= flap:
        return diamond((x, up))
    half = HALF - abs(flap - y)
    sides = ((x - HALF, up), (x + HALF, up)) if y < flap else ()
    points = (
        *sides[:1],
        (x, up - HALF),
        *sides[1:],
        (x + half, edge),
        (x - half, edge),
    )
    return Polygon(points=points, layer=Layers.WINDOW, fill=1.0)


def _disc(
    sleeve: Sleeve, bend: SleeveBend, windows: Sequence[Place], discs: Sequence[Place]
) -> Place:
    """Return the first free place for a bend's disc, its centre if none is."""
    x, y = bend.mark.centre, bend.height
    off = HALF + DISC + _BETWEEN
    for place in ((x, y + off), (x, y - off), (x + off, y), (x - off, y)):
        if (
            _is_inside(sleeve, place, DISC)
            and not any(_is_under(one, place) for one in windows)
            and all(math.dist(place, one) > 2.0 * DISC + _BETWEEN for one in discs)
        ):
            return place
    return (x, y)


def _is_inside(sleeve: Sleeve, place: Place, reach: float) -> bool:
    """Return whether what reaches so far round a place lies on the strip."""
    x, y = place
    room = reach + _BETWEEN
    return room <= x <= sleeve.length - room and room <= y <= sleeve.top - room


def _meets(place: Place, windows: Sequence[Place]) -> bool:
    """Return whether a diamond would run into another one."""
    apart = 2.0 * HALF + _BETWEEN
    return any(abs(place[0] - x) + abs(place[1] - y) < apart for x, y in windows)


def _is_under(window: Place, disc: Place) -> bool:
    """Return whether a disc would cover part of a diamond."""
    return math.dist(window, disc) < HALF + DISC
