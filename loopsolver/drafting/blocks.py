"""Blocks of lettering, pictures and tables, stacked down a page.

A block's upper left corner is (0, 0); it reaches down, so its y are below zero.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from typing import Final

from loopsolver.drafting.drawing import (
    Anchor,
    Drawing,
    Entity,
    Face,
    Line,
    Text,
    moved,
    rectangle,
)
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import broken, cut_to_width, printable, text_width

BODY: Final = 2.4
"""Height of the capitals of ordinary lettering: read at arm's length [mm]."""

TITLE: Final = 4.6
"""Height of the capitals of a page's title [mm]."""

HEADING: Final = 2.9
"""Height of the capitals of a section's heading [mm]."""

_LINE: Final = 0.1  # half a line's width, so that a frame is not cut at an edge [mm]

LEADING: Final = 1.85
"""From base line to base line, over the height of the capitals."""


_INSET: Final = 0.8  # kept free at both sides of a cell [mm]
_ROW: Final = 2.3 * BODY  # height of a row [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Something that is not torn apart between two pages.

    Attributes
    ----------
    entities : tuple of Entity
        From (0, 0) down.
    height : float
        How far down it reaches, space below it included [mm].
    leads : bool
        Whether it must not be the last thing on a page: a heading.
    """

    entities: tuple[Entity, ...]
    height: float
    leads: bool = False


def drawing_block(drawing: Drawing, *, below: float = 0.0) -> Block:
    """Return a drawing as a block, with so much space below it [mm]."""
    by = (-drawing.low[0], -drawing.high[1])
    entities = moved(drawing.entities, by)
    return Block(entities=entities, height=drawing.height + below)


def space(height: float) -> Block:
    """Return empty space."""
    return Block(entities=(), height=height)


def rule(down: float, width: float, layer: Layer) -> Line:
    """Return a line across a block, so far below its upper edge [mm]."""
    return Line(start=(0.0, -down), end=(width, -down), layer=layer)


def heading(text: str, *, width: float) -> Block:
    """Return a section's heading with a line under it."""
    size = HEADING
    shown = cut_to_width(text, width=width, size=size, face=Face.STRONG)
    return Block(
        entities=(
            Text(position=(0.0, -size), text=shown, size=size, face=Face.STRONG),
            rule(size + 1.8, width, PageLayers.TABLE),
        ),
        height=size + 4.2,
        leads=True,
    )


def titled(
    lines: Sequence[str],
    says: str,
    *,
    width: float,
    layer: Layer,
    below: float,
    aside: str = "",
) -> Block:
    """Return a page's title over a line of lettering, ruled off on a layer.

    Parameters
    ----------
    below : float
        From the title's last base line to what follows [mm].
    aside : str
        Stands at the right of the title's first line.
    """
    down = TITLE + 7.0 * (len(lines) - 1)
    shapes = [
        Text(position=(0.0, -TITLE - 7.0 * n), text=line, size=TITLE, face=Face.STRONG)
        for n, line in enumerate(lines)
    ]
    if aside:
        at = (width, -TITLE)
        shapes.append(Text(position=at, text=aside, size=BODY, anchor="end"))
    shapes.append(Text(position=(0.0, -down - 5.2), text=says, size=BODY))
    line = rule(down + 8.0, width, layer)
    return Block(entities=(*shapes, line), height=down + below)


def paragraph(
    text: str,
    *,
    width: float,
    size: float = BODY,
    face: Face = Face.REGULAR,
    below: float = 1.2,
) -> Block:
    """Return a text broken into lines, with so much space below it [mm]."""
    lines = broken(text, width=width, size=size, face=face)
    return Block(
        entities=tuple(
            Text(
                position=(0.0, -size - n * size * LEADING),
                text=line,
                size=size,
                face=face,
            )
            for n, line in enumerate(lines)
        ),
        height=size * (1.0 + (len(lines) - 1) * LEADING) + 0.4 * size + below,
    )


def headed(
    head: str, text: str, *, width: float, size: float = BODY, below: float = 1.2
) -> Block:
    """Return a paragraph that begins with a strong head, the text running on after it."""
    lead = f"{head}."
    indent = text_width(f"{lead} ", size, Face.STRONG) + 0.3 * size
    rest = printable(text)
    first = broken(rest, width=width - indent, size=size)[0]
    first = first if rest.startswith(first) else ""
    rest = rest.removeprefix(first).lstrip()
    shapes: list[Entity] = [
        Text(position=(0.0, -size), text=lead, size=size, face=Face.STRONG),
        Text(position=(indent, -size), text=first, size=size),
    ]
    if not rest:
        return Block(entities=tuple(shapes), height=1.4 * size + below)
    under = paragraph(rest, width=width, size=size, below=below)
    step = size * LEADING
    return Block(
        entities=(*shapes, *moved(under.entities, (0.0, -step))),
        height=step + under.height,
    )


def indented(block: Block, by: float) -> Block:
    """Return a block moved to the right."""
    return replace(block, entities=moved(block.entities, (by, 0.0)))


def stacked(blocks: Sequence[Block]) -> Block:
    """Return blocks one below the other, as one that is not torn apart."""
    entities: list[Entity] = []
    down = 0.0
    for block in blocks:
        entities += moved(block.entities, (0.0, -down))
        down += block.height
    return Block(entities=tuple(entities), height=down)


def beside(left: Block, right: Block, *, at: float) -> Block:
    """Return two blocks side by side, the second one's left edge at `at` [mm]."""
    return Block(
        entities=(*left.entities, *moved(right.entities, (at, 0.0))),
        height=max(left.height, right.height),
    )


def boxed(block: Block, *, width: float, inset: float = 2.4) -> Block:
    """Return a block in a frame of that width; it was laid out for what is inside."""
    high = block.height + 2.0 * inset
    return Block(
        entities=(
            rectangle(
                (_LINE, _LINE - high), (width - _LINE, -_LINE), layer=PageLayers.NOTE
            ),
            *moved(block.entities, (inset, -inset)),
        ),
        height=high,
    )


def kept_whole(blocks: Sequence[Block], *, height: float) -> tuple[Block, ...]:
    """Return blocks as one that is not torn apart, if a page of that height holds it."""
    whole = stacked(blocks)
    return (whole,) if whole.height <= height else tuple(blocks)


def flowed(
    blocks: Sequence[Block], *, width: float, height: float
) -> tuple[Drawing, ...]:
    """Return blocks laid down page after page of that size, each from (0, 0) up.

    A heading goes to the next page with what it leads. A block taller than a page
    gets one of its own and is cut off there.
    """
    pages: list[list[Entity]] = [[]]
    down = 0.0
    for index, block in enumerate(blocks):
        if down > 0.0 and down + _needed(blocks[index:]) > height:
            pages.append([])
            down = 0.0
        pages[-1] += moved(block.entities, (0.0, height - down))
        down += block.height
    return tuple(
        Drawing(entities=tuple(page), low=(0.0, 0.0), high=(width, height))
        for page in pages
    )


def _needed(blocks: Sequence[Block]) -> float:
    """Return the height of the first block, with what it leads [mm]."""
    needed = 0.0
    for block in blocks:
        needed += block.height
        if not block.leads:
            break
    return needed


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a table: its heading, its share of the width, where its text stands."""

    heading: str
    share: float
    anchor: Anchor = "end"
    face: Face = Face.REGULAR


def table(
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    *,
    width: float,
) -> tuple[Block, ...]:
    """Return a table as blocks: the heading row, then one block a row.

    Text that is wider than its column is shortened.
    """
    total = sum(column.share for column in columns)
    shares = (width * column.share / total for column in columns)
    edges = tuple(accumulate(shares, initial=0.0))

    def row(cells: Sequence[str], layer: Layer, face: Face | None = None) -> Block:
        texts = (
            _cell(says, column, edges, face or column.face)
            for says, column, edges in zip(cells, columns, pairwise(edges), strict=True)
        )
        line = rule(_ROW, width, layer)
        return Block(entities=(*texts, line), height=_ROW, leads=face is not None)

    names = [column.heading for column in columns]
    head = row(names, PageLayers.NOTE, Face.STRONG)
    return (head, *(row(cells, PageLayers.GRID_STRONG) for cells in rows))


def _cell(says: str, column: Column, edges: tuple[float, float], face: Face) -> Text:
    """Return a cell's text between its column's edges, shortened to their distance."""
    left, right = edges[0] + _INSET, edges[1] - _INSET
    places = {"start": left, "middle": (edges[0] + edges[1]) / 2.0, "end": right}
    room = edges[1] - edges[0] - 2.0 * _INSET
    return Text(
        position=(places[column.anchor], -BODY * 1.6),
        text=cut_to_width(says, width=room, size=BODY, face=face),
        size=BODY,
        anchor=column.anchor,
        face=face,
    )
