"""Tables, as blocks: a heading row, then a row after the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Final

from loopsolver.drafting.blocks import BODY, Block, rule
from loopsolver.drafting.drawing import Anchor, Face, Text
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import cut_to_width

_INSET: Final = 0.8  # kept free at both sides of a cell [mm]
_ROW: Final = 2.3 * BODY  # height of a row [mm]


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
