"""From drawings to sheets of paper at true size: feet, scale bars, tiles, page numbers.

A `Leaf` is a page that does not know its number yet. `bound` numbers the leaves of a
document and gives each its foot and its two scale bars; `tiled` cuts a drawing that is
larger than the paper into leaves that overlap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.units import LengthUnit
from loopsolver.workshop.drawing import (
    Circle,
    Drawing,
    Entity,
    Face,
    Layer,
    Line,
    Page,
    Place,
    Polygon,
    Text,
    Window,
    moved,
    rectangle,
)
from loopsolver.workshop.extent import overlaps
from loopsolver.workshop.lettering import shortened

Size = tuple[float, float]
"""Width and height of a sheet as it lies [mm]."""

MARGIN: Final = 8.0
"""Kept free at every edge [mm]. Common practice, no source: printers miss 3 to 6 mm."""

FOOT: Final = 24.0
"""Height of the foot: heading, two lines, scale bar [mm]."""

SIDE: Final = 8.0
"""Width of the strip on the right for the upright scale bar [mm]."""

OVERLAP: Final = 12.0
"""By how much neighbouring tiles show the same [mm]; they are joined in its middle."""

BAR: Final[dict[LengthUnit, tuple[float, int, str]]] = {
    "mm": (100.0, 10, "100 mm"),
    "cm": (100.0, 10, "100 mm"),
    "in": (101.6, 8, "4 in"),
}
"""Length of the scale bars [mm], into how many blocks they are cut, what they say."""

_BETWEEN_BLOCKS: Final = 4.0  # [mm]
_MAP: Final = (26.0, 15.0)  # room for the tile map [mm]
_BACKGROUND: Final = frozenset({Layer.GRID, Layer.GRID_STRONG, Layer.SOLID})


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
    heading : str
        In strong letters.
    lines : tuple of str
        Two at most are shown.
    units : LengthUnit
        Of the scene: which scale bars are drawn.
    """

    heading: str
    lines: tuple[str, ...]
    units: LengthUnit


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
    windows: tuple[Window, ...] = ()
    tiles: tuple[Tile, ...] = ()
    tile: Tile | None = None


def room(size: Size) -> tuple[Place, Place]:
    """Return the lower left and upper right corner of what a page can show [mm]."""
    return (
        (MARGIN, MARGIN + FOOT + 1.0),
        (size[0] - MARGIN - SIDE, size[1] - MARGIN),
    )


def bound(leaves: Sequence[Leaf]) -> tuple[Page, ...]:
    """Return the pages of a document: leaves with their foot, scale bars and number."""
    return tuple(
        Page(
            width=leaf.size[0],
            height=leaf.size[1],
            windows=leaf.windows,
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
    right = leaf.size[0] - MARGIN
    top = MARGIN + FOOT
    text_width = right - MARGIN - (_MAP[0] + 4.0)
    bar, _, bar_says = BAR[leaf.foot.units]
    hint = (
        "Print at 100 %, not fitted to the page:",
        f"both bars are {bar_says} long.",
    )
    return (
        Line(start=(MARGIN, top), end=(right, top), layer=Layer.FRAME),
        Text(
            position=(MARGIN, top - 5.2),
            text=shortened(
                leaf.foot.heading, width=text_width, size=3.4, face=Face.STRONG
            ),
            size=3.4,
            face=Face.STRONG,
        ),
        *(
            Text(
                position=(MARGIN, top - 10.0 - 4.2 * index),
                text=shortened(line, width=text_width, size=2.3),
                size=2.3,
            )
            for index, line in enumerate(leaf.foot.lines[:2])
        ),
        *scale_bar((MARGIN, MARGIN), leaf.foot.units),
        *(
            Text(
                position=(MARGIN + bar + 4.0, MARGIN + 3.4 * (1 - i)),
                text=line,
                size=1.9,
            )
            for i, line in enumerate(hint)
        ),
        *_bar_upright((right, top + 4.0), leaf.foot.units),
        Text(
            position=(right, MARGIN),
            text=f"page {number} of {count}",
            size=2.3,
            anchor="end",
        ),
        *_tile_map(leaf, (right, top - 2.0)),
    )


def scale_bar(start: Place, units: LengthUnit) -> tuple[Entity, ...]:
    """Return the scale bar that runs to the right from a place."""
    length, blocks, says = BAR[units]
    x, y = start
    step = length / blocks
    return (
        *(
            rectangle(
                (x + step * block, y),
                (x + step * (block + 1), y + 1.4),
                layer=Layer.SOLID,
                fill=0.0,
            )
            for block in range(0, blocks, 2)
        ),
        rectangle((x, y), (x + length, y + 1.4), layer=Layer.SCALE_BAR),
        Line(start=(x, y), end=(x, y + 3.4), layer=Layer.SCALE_BAR),
        Line(start=(x + length, y), end=(x + length, y + 3.4), layer=Layer.SCALE_BAR),
        Text(
            position=(x + length / 2.0, y + 2.2), text=says, size=1.9, anchor="middle"
        ),
    )


def _bar_upright(foot: Place, units: LengthUnit) -> tuple[Entity, ...]:
    """Return the scale bar that runs up from a place, to the left of it."""
    length, blocks, says = BAR[units]
    x, y = foot
    step = length / blocks
    return (
        *(
            rectangle(
                (x - 1.4, y + step * block),
                (x, y + step * (block + 1)),
                layer=Layer.SOLID,
                fill=0.0,
            )
            for block in range(0, blocks, 2)
        ),
        rectangle((x - 1.4, y), (x, y + length), layer=Layer.SCALE_BAR),
        Line(start=(x - 3.4, y), end=(x, y), layer=Layer.SCALE_BAR),
        Line(start=(x - 3.4, y + length), end=(x, y + length), layer=Layer.SCALE_BAR),
        Text(
            position=(x - 2.2, y + length / 2.0),
            text=says,
            size=1.9,
            anchor="middle",
            angle_deg=90.0,
        ),
    )


def _tile_map(leaf: Leaf, corner: Place) -> tuple[Entity, ...]:
    """Return the small map of all tiles with this one filled, hung from its corner."""
    if leaf.tile is None or len(leaf.tiles) < 2:
        return ()
    rows = 1 + max(tile.row for tile in leaf.tiles)
    columns = 1 + max(tile.column for tile in leaf.tiles)
    low, high = room(leaf.size)
    shape = (high[1] - low[1]) / (high[0] - low[0])
    cell = min(_MAP[0] / columns, _MAP[1] / (rows * shape), 12.0)
    right, top = corner
    left = right - cell * columns
    shapes: list[Entity] = []
    for tile in leaf.tiles:
        x, y = left + cell * tile.column, top - cell * shape * tile.row
        here = tile == leaf.tile
        box = ((x, y - cell * shape), (x + cell, y))
        shapes.append(rectangle(*box, layer=Layer.PAGE_MARK, fill=0.0 if here else 1.0))
        size = min(2.3, 0.3 * cell, 0.5 * cell * shape)
        shapes.append(
            Text(
                position=(x + cell / 2.0, y - (cell * shape + size) / 2.0),
                text=tile.name,
                size=size,
                anchor="middle",
                face=Face.STRONG,
                grey=1.0 if here else 0.0,
            )
        )
    return tuple(shapes)


def tile_grid(low: Place, high: Place, size: Size) -> tuple[Tile, ...]:
    """Return the tiles that cover a box of a drawing, row by row from the top.

    They overlap by `OVERLAP`, and the box lies in the middle of them.
    """
    room_low, room_high = room(size)
    spans = []
    for axis in range(2):
        tile = room_high[axis] - room_low[axis]
        pitch = tile - OVERLAP
        length = high[axis] - low[axis]
        count = max(1, math.ceil((length - OVERLAP) / pitch - 1e-9))
        start = low[axis] - (count * pitch + OVERLAP - length) / 2.0
        spans.append(
            [(start + pitch * i, start + pitch * i + tile) for i in range(count)]
        )
    across, up = spans
    return tuple(
        Tile(row=row, column=column, low=(left, bottom), high=(right, top))
        for row, (bottom, top) in enumerate(reversed(up))
        for column, (left, right) in enumerate(across)
    )


def joints(tiles: Sequence[Tile]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return where neighbouring tiles are joined: all x, then all y [mm]."""
    lefts = sorted({tile.low[0] for tile in tiles})
    bottoms = sorted({tile.low[1] for tile in tiles})
    return (
        tuple(left + OVERLAP / 2.0 for left in lefts[1:]),
        tuple(bottom + OVERLAP / 2.0 for bottom in bottoms[1:]),
    )


def needed_tiles(drawing: Drawing, size: Size) -> tuple[Tile, ...]:
    """Return the tiles of a drawing on that paper that show more than its grid."""
    tiles = tile_grid(drawing.low, drawing.high, size)
    if len(tiles) == 1:
        return tiles
    shown = [e for e in drawing.entities if _stands_out(e)]
    inset = OVERLAP / 2.0
    return tuple(
        tile
        for tile in tiles
        if any(
            overlaps(
                entity,
                (tile.low[0] + inset, tile.low[1] + inset),
                (tile.high[0] - inset, tile.high[1] - inset),
            )
            for entity in shown
        )
    )


def _stands_out(entity: Entity) -> bool:
    """Return whether an entity is worth a page: anything but grid and bare areas."""
    return getattr(entity, "layer", Layer.NOTE) not in _BACKGROUND


def best_size(drawing: Drawing, paper: Paper) -> Size:
    """Return the way to lay the paper that needs fewer pages; upright where equal."""
    return min(paper.sizes, key=lambda size: len(needed_tiles(drawing, size)))


def tiled(drawing: Drawing, *, paper: Paper, foot: Foot) -> tuple[Leaf, ...]:
    """Return a drawing as leaves at true size, on the paper that way that needs few."""
    size = best_size(drawing, paper)
    tiles = needed_tiles(drawing, size)
    low, _ = room(size)
    return tuple(
        Leaf(
            size=size,
            foot=foot,
            windows=(Window(drawing=drawing, low=tile.low, high=tile.high, at=low),),
            entities=_tile_marks(tile, tiles, at=low),
            tiles=tiles,
            tile=tile,
        )
        for tile in tiles
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Something that goes on a page as a whole: part of a drawing, and marks on it.

    Attributes
    ----------
    window : Window
        Its lower left corner at (0, 0).
    marks : tuple of Entity
        Drawn over it, in the same place.
    """

    window: Window
    marks: tuple[Entity, ...] = ()

    @property
    def size(self) -> Size:
        """Width and height [mm]."""
        low, high = self.window.low, self.window.high
        return (high[0] - low[0], high[1] - low[1])


def stacked(blocks: Sequence[Block], *, size: Size, foot: Foot) -> tuple[Leaf, ...]:
    """Return pages with blocks one under the other, from the top, in their order."""
    low, high = room(size)
    pages: list[list[tuple[Block, Place]]] = []
    top = -math.inf
    for block in blocks:
        bottom = top - block.size[1]
        if not pages or bottom < low[1] - 1e-9:
            pages.append([])
            bottom = high[1] - block.size[1]
        pages[-1].append((block, (low[0], bottom)))
        top = bottom - _BETWEEN_BLOCKS
    return tuple(
        Leaf(
            size=size,
            foot=foot,
            windows=tuple(replace(block.window, at=at) for block, at in page),
            entities=tuple(
                entity for block, at in page for entity in moved(block.marks, at)
            ),
        )
        for page in pages
    )


def _tile_marks(tile: Tile, tiles: Sequence[Tile], *, at: Place) -> tuple[Entity, ...]:
    """Return the marks by which a tile is joined to its neighbours, on its page."""
    near = {(other.row, other.column): other for other in tiles}
    width, height = tile.high[0] - tile.low[0], tile.high[1] - tile.low[1]
    inset = OVERLAP / 2.0
    left, bottom = at[0] + inset, at[1] + inset
    right, top = at[0] + width - inset, at[1] + height - inset
    edges = (
        ((0, -1), (left, bottom), (left, top)),
        ((0, 1), (right, bottom), (right, top)),
        ((-1, 0), (left, top), (right, top)),
        ((1, 0), (left, bottom), (right, bottom)),
    )
    marks: list[Entity] = []
    corners: set[Place] = set()
    for (down, along), start, end in edges:
        other = near.get((tile.row + down, tile.column + along))
        if other is None:
            continue
        names = sorted((tile, other), key=lambda one: (one.row, one.column))
        marks += _joint(start, end, " | ".join(one.name for one in names))
        corners |= {start, end}
    for corner in sorted(corners):
        marks += _corner_mark(corner)
    return tuple(marks)


def _joint(start: Place, end: Place, says: str) -> list[Entity]:
    """Return the edge marks of a joint: a dotted line, two diamonds, its name twice."""
    marks: list[Entity] = [Line(start=start, end=end, layer=Layer.JOINT)]
    (x0, y0), (x1, y1) = start, end
    upright = x0 == x1
    for part in (0.25, 0.75):
        x, y = x0 + part * (x1 - x0), y0 + part * (y1 - y0)
        diamond = ((x - 2.0, y), (x, y - 2.0), (x + 2.0, y), (x, y + 2.0))
        marks.append(Polygon(points=diamond, layer=Layer.PAGE_MARK, fill=1.0))
        marks.append(Line(start=(x - 2.0, y), end=(x + 2.0, y), layer=Layer.PAGE_MARK))
        marks.append(Line(start=(x, y - 2.0), end=(x, y + 2.0), layer=Layer.PAGE_MARK))
        place = (x + 0.9, y + 3.4) if upright else (x + 3.4, y - 0.9)
        marks.append(
            Text(
                position=place,
                text=says,
                size=1.8,
                angle_deg=90.0 if upright else 0.0,
            )
        )
    return marks


def _corner_mark(corner: Place) -> list[Entity]:
    """Return a ring with a cross through it, its middle on a corner of the tile."""
    x, y = corner
    return [
        Circle(centre=corner, radius=2.0, layer=Layer.PAGE_MARK),
        Line(start=(x - 4.0, y), end=(x + 4.0, y), layer=Layer.PAGE_MARK),
        Line(start=(x, y - 4.0), end=(x, y + 4.0), layer=Layer.PAGE_MARK),
    ]
