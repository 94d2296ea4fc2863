"""Sheets of paper: their sizes, feet, scale bars, numbers, and what goes on them whole.

A `Leaf` is a page that does not know its number yet. `bound` numbers the leaves of a
document and gives each its foot and its two scale bars.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.drafting.drawing import (
    Drawing,
    Entity,
    Face,
    Line,
    Page,
    Place,
    Polygon,
    Text,
    Viewport,
    moved,
    rectangle,
)
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import cut_to_width, text_width
from loopsolver.tolerances import ROUNDING
from loopsolver.units import LengthUnit

Size = tuple[float, float]
"""Width and height of a sheet as it lies [mm]."""

PAGE_MARGIN: Final = 8.0
"""Kept free at every edge [mm]. Common practice, no source: printers miss 3 to 6 mm."""

FOOT: Final = 24.0
"""Height of the foot: heading, two lines, scale bar [mm]."""

SIDE: Final = 8.0
"""Width of the strip on the right for the upright scale bar [mm]."""

BAR: Final[dict[LengthUnit, tuple[float, int, str]]] = {
    "mm": (100.0, 10, "100 mm"),
    "cm": (100.0, 10, "100 mm"),
    "in": (101.6, 8, "4 in"),
}
"""Length of the scale bars [mm], into how many blocks they are cut, what they say."""

_MAP: Final = (26.0, 15.0)  # room for the tile map [mm]
_SMALL: Final = 2.3  # height of the foot's small capitals [mm]


_BETWEEN: Final = 4.0  # [mm]
Extract = tuple[Viewport, tuple[Entity, ...]]
"""Something that goes on a page as a whole: part of a drawing, and marks on it.

The marks are counted from the part's lower left corner.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A paper format, upright [mm]."""

    name: str
    width: float
    height: float

    @property
    def sizes(self) -> tuple[Size, Size]:
        """Its two ways to lie: portrait, then landscape."""
        return (self.width, self.height), (self.height, self.width)


PAPERS: Final = {
    "a4": Paper(name="A4", width=210.0, height=297.0),
    "letter": Paper(name="Letter", width=215.9, height=279.4),
}
"""Papers by their name on the command line: ISO 216 A4, ANSI Y14.1 A."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Foot:
    """What stands at the foot of a page.

    Attributes
    ----------
    name : str
        Whose page it is, in strong letters; shortened where there is no room.
    what : str
        Which page it is, in strong letters right after the name; never shortened.
    lines : tuple of str
        Two at most are shown.
    units : LengthUnit
        Of the scene: which scale bars are drawn.
    belongs : str
        To which set of sheets the page belongs, and to which plan.
    """

    name: str = ""
    what: str
    lines: tuple[str, ...]
    units: LengthUnit
    belongs: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One tile of a larger drawing.

    Attributes
    ----------
    row, column : int
        Counted from 0, from the top and from the left.
    low, high : Place
        Corners of the part of the drawing that it shows [mm].
    """

    row: int
    column: int
    low: Place
    high: Place

    @property
    def name(self) -> str:
        """A1 at the upper left, A2 to the right of it, B1 below."""
        return f"{_letters(self.row)}{self.column + 1}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """A page before it has its number, foot and scale bars.

    Attributes
    ----------
    size : Size
        The paper as it lies [mm].
    tiles : tuple of Tile
        All tiles of the drawing that the leaf is one of; empty for a page by itself.
    tile : Tile or None
        Which of them this leaf is.
    """

    size: Size
    foot: Foot
    entities: tuple[Entity, ...] = ()
    viewports: tuple[Viewport, ...] = ()
    tiles: tuple[Tile, ...] = ()
    tile: Tile | None = None


def room(size: Size) -> tuple[Place, Place]:
    """Return the lower left and upper right corner of what a page can show [mm]."""
    return (
        (PAGE_MARGIN, PAGE_MARGIN + FOOT + 1.0),
        (size[0] - PAGE_MARGIN - SIDE, size[1] - PAGE_MARGIN),
    )


def bound(leaves: Sequence[Leaf]) -> tuple[Page, ...]:
    """Return the pages of a document: leaves with their foot, scale bars and number."""
    return tuple(
        Page(
            width=leaf.size[0],
            height=leaf.size[1],
            viewports=leaf.viewports,
            entities=(*leaf.entities, *_furniture(leaf, number, len(leaves))),
        )
        for number, leaf in enumerate(leaves, start=1)
    )


def _letters(index: int) -> str:
    """Return A ... Z, AA, AB ... for 0, 1, 2, ..."""
    before, last = divmod(index, 26)
    return (_letters(before - 1) if before else "") + chr(ord("A") + last)


def _furniture(leaf: Leaf, number: int, count: int) -> tuple[Entity, ...]:
    """Return foot, scale bars, tile map and number of a page."""
    right, top = leaf.size[0] - PAGE_MARGIN, PAGE_MARGIN + FOOT
    units = leaf.foot.units
    width = right - PAGE_MARGIN - (_MAP[0] + 4.0 if leaf.tile else 0.0)
    x = PAGE_MARGIN + BAR[units][0] + 4.0
    hints = (
        ((x, PAGE_MARGIN), f"both bars are {BAR[units][2]} long."),
        ((x, PAGE_MARGIN + 3.4), "Print at 100 %, not fitted to the page:"),
    )
    return (
        Line(start=(PAGE_MARGIN, top), end=(right, top), layer=PageLayers.FRAME),
        *foot_lettering(leaf.foot, (PAGE_MARGIN, top), width=width),
        *scale_bar((PAGE_MARGIN, PAGE_MARGIN), units),
        *(Text(position=place, text=line, size=1.9) for place, line in hints),
        *_bar(
            units,
            lambda along, aside: (right - aside, top + 4.0 + along),
            angle_deg=90.0,
        ),
        Text(
            position=(right, PAGE_MARGIN),
            text=f"page {number} of {count}",
            size=_SMALL,
            anchor="end",
        ),
        *_tile_map(leaf, (right, top - 2.0)),
    )


def foot_lettering(foot: Foot, corner: Place, *, width: float) -> tuple[Text, ...]:
    """Return a foot's heading and two lines, hung from their upper left corner.

    The first line begins with where the page belongs, which is never shortened.
    """
    x, top = corner
    size = 3.4
    room = width - text_width(foot.what, size, Face.STRONG)
    name = cut_to_width(foot.name, width=room, size=size, face=Face.STRONG)
    heading = Text(
        position=(x, top - 5.2), text=name + foot.what, size=size, face=Face.STRONG
    )
    belongs = Text(
        position=(x, top - 10.0), text=foot.belongs, size=_SMALL, face=Face.STRONG
    )
    taken = text_width(foot.belongs, _SMALL, Face.STRONG) + 3.0
    lines = (
        Text(
            position=(x + aside, top - 10.0 - 4.2 * index),
            text=cut_to_width(line, width=width - aside, size=_SMALL),
            size=_SMALL,
        )
        for index, (line, aside) in enumerate(
            zip(foot.lines, (taken, 0.0), strict=False)
        )
    )
    return (heading, belongs, *lines)


def scale_bar(start: Place, units: LengthUnit) -> tuple[Entity, ...]:
    """Return the scale bar that runs to the right from a place."""
    x, y = start
    return _bar(units, lambda along, aside: (x + along, y + aside), angle_deg=0.0)


def _bar(
    units: LengthUnit, place: Callable[[float, float], Place], *, angle_deg: float
) -> tuple[Entity, ...]:
    """Return a scale bar with blocks along it and a tick at each end.

    Parameters
    ----------
    place : callable
        Where something is that lies so far along the bar and to the left of it [mm].
    angle_deg : float
        Along the bar, from +x.
    """
    length, blocks, says = BAR[units]
    step = length / blocks

    def box(first: float, last: float, layer: Layer, fill: float | None) -> Polygon:
        corners = ((first, 0.0), (last, 0.0), (last, 1.4), (first, 1.4))
        points = tuple(place(*corner) for corner in corners)
        return Polygon(points=points, layer=layer, fill=fill)

    return (
        *(
            box(step * block, step * (block + 1), PageLayers.SOLID, 0.0)
            for block in range(0, blocks, 2)
        ),
        box(0.0, length, PageLayers.SCALE_BAR, None),
        *(
            Line(start=place(at, 0.0), end=place(at, 3.4), layer=PageLayers.SCALE_BAR)
            for at in (0.0, length)
        ),
        Text(
            position=place(length / 2.0, 2.2),
            text=says,
            size=1.9,
            anchor="middle",
            angle_deg=angle_deg,
        ),
    )


def _tile_map(leaf: Leaf, corner: Place) -> Iterator[Entity]:
    """Yield the small map of all tiles with this one filled, hung from its corner."""
    if leaf.tile is None or len(leaf.tiles) < 2:
        return
    rows = 1 + max(tile.row for tile in leaf.tiles)
    columns = 1 + max(tile.column for tile in leaf.tiles)
    low, high = room(leaf.size)
    shape = (high[1] - low[1]) / (high[0] - low[0])
    cell = min(_MAP[0] / columns, _MAP[1] / (rows * shape), 12.0)
    right, top = corner
    left = right - cell * columns
    for tile in leaf.tiles:
        x, y = left + cell * tile.column, top - cell * shape * tile.row
        here = tile == leaf.tile
        box = ((x, y - cell * shape), (x + cell, y))
        yield rectangle(*box, layer=PageLayers.PAGE_MARK, fill=0.0 if here else 1.0)
        size = min(2.3, 0.3 * cell, 0.5 * cell * shape)
        yield Text(
            position=(x + cell / 2.0, y - (cell * shape + size) / 2.0),
            text=tile.name,
            size=size,
            anchor="middle",
            face=Face.STRONG,
            grey=1.0 if here else 0.0,
        )


def whole_drawing(drawing: Drawing) -> Extract:
    """Return a whole drawing as one extract."""
    low, high = drawing.low, drawing.high
    return Viewport(drawing=drawing, low=low, high=high, at=(0.0, 0.0)), ()


def pages_of_extracts(
    extracts: Sequence[Extract], *, size: Size, foot: Foot
) -> tuple[Leaf, ...]:
    """Return pages with extracts one under the other, from the top, in their order."""
    low, high = room(size)
    pages: list[list[tuple[Extract, Place]]] = []
    top = -math.inf
    for extract in extracts:
        tall = extract[0].high[1] - extract[0].low[1]
        bottom = top - tall
        if not pages or bottom < low[1] - ROUNDING:
            pages.append([])
            bottom = high[1] - tall
        pages[-1].append((extract, (low[0], bottom)))
        top = bottom - _BETWEEN
    return tuple(
        Leaf(
            size=size,
            foot=foot,
            viewports=tuple(replace(viewport, at=at) for (viewport, _), at in page),
            entities=tuple(
                entity for (_, marks), at in page for entity in moved(marks, at)
            ),
        )
        for page in pages
    )
