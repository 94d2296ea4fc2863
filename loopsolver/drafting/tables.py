"""Tables, as blocks: a heading row, then a row after the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from loopsolver.drafting.blocks import BODY, Block
from loopsolver.drafting.drawing import Anchor, Entity, Face, Line, Text
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import cut_to_width

_INSET: Final = 0.8  # kept free at both sides of a cell [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a table: its heading, its share of the width, where its text stands."""

    heading: str
    share: float
    anchor: Anchor = "end"
    face: Face = Face.REGULAR


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    """Where a column's cells lie: from left to right edge [mm]."""

    column: Column
    left: float
    right: float

    def text(self, says: str, *, face: Face) -> Text:
        """Return the cell's text, shortened to its width."""
        at = {
            "start": self.left + _INSET,
            "middle": (self.left + self.right) / 2.0,
            "end": self.right - _INSET,
        }
        room = self.right - self.left - 2.0 * _INSET
        anchor = self.column.anchor
        return Text(
            position=(at[anchor], -BODY * 1.6),
            text=cut_to_width(says, width=room, size=BODY, face=face),
            size=BODY,
            anchor=anchor,
            face=face,
        )


def table(
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    *,
    width: float,
) -> tuple[Block, ...]:
    """Return a table as blocks: the heading row, then one block a row.

    Text that is wider than its column is shortened.
    """
    cells = _cells(columns, width)
    top = [cell.text(cell.column.heading, face=Face.STRONG) for cell in cells]
    below = [
        [
            cell.text(says, face=cell.column.face)
            for cell, says in zip(cells, row, strict=True)
        ]
        for row in rows
    ]
    return (
        _ruled(top, width, layer=PageLayers.NOTE, leads=True),
        *(
            _ruled(row, width, layer=PageLayers.GRID_STRONG, leads=False)
            for row in below
        ),
    )


def _cells(columns: Sequence[Column], width: float) -> list[_Cell]:
    """Return where the cells of each column lie, side by side."""
    total = sum(column.share for column in columns)
    cells: list[_Cell] = []
    left = 0.0
    for column in columns:
        right = left + width * column.share / total
        cells.append(_Cell(column=column, left=left, right=right))
        left = right
    return cells


def _ruled(
    texts: Sequence[Entity], width: float, *, layer: Layer, leads: bool
) -> Block:
    """Return a row with a line under it."""
    deep = 2.3 * BODY
    line = Line(start=(0.0, -deep), end=(width, -deep), layer=layer)
    return Block(entities=(*texts, line), height=deep, leads=leads)
