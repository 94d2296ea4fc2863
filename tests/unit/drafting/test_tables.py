"""Tables, cell by cell: 120 mm shared out by 1, 2 and 3 are 20, 40 and 60 mm."""

from __future__ import annotations

import pytest

from loopsolver.drafting.blocks import Column, table
from loopsolver.drafting.drawing import Face, Line, Text
from loopsolver.drafting.layers import PageLayers
from loopsolver.drafting.lettering import text_width

COLUMNS = (
    Column(heading="one", share=1.0, anchor="start"),
    Column(heading="two", share=2.0, anchor="middle", face=Face.STRONG),
    Column(heading="six", share=3.0),
)


def test_cells_stand_at_their_anchor_with_room_beside_them() -> None:
    """0.8 mm of it; the base line 1.6 capitals of 2.4 mm below the row's upper edge."""
    top, row = table(COLUMNS, [["a", "b", "c"]], width=120.0)
    for block, said, faces in (
        (top, ["one", "two", "six"], [Face.STRONG] * 3),
        (row, ["a", "b", "c"], [Face.REGULAR, Face.STRONG, Face.REGULAR]),
    ):
        cells = [one for one in block.entities if isinstance(one, Text)]
        assert [cell.text for cell in cells] == said
        assert [cell.face for cell in cells] == faces
        assert [cell.anchor for cell in cells] == ["start", "middle", "end"]
        assert [cell.position[0] for cell in cells] == pytest.approx([0.8, 40.0, 119.2])
        assert [cell.position[1] for cell in cells] == pytest.approx([-3.84] * 3)
        assert {cell.size for cell in cells} == {2.4}


def test_a_line_runs_under_each_row_stronger_under_the_heading() -> None:
    """Rows are 2.3 capitals of 2.4 mm high."""
    top, first, second = table(COLUMNS, [["a", "b", "c"]] * 2, width=120.0)
    for block, layer in (
        (top, PageLayers.NOTE),
        (first, PageLayers.GRID_STRONG),
        (second, PageLayers.GRID_STRONG),
    ):
        (line,) = (one for one in block.entities if isinstance(one, Line))
        assert line.start == pytest.approx((0.0, -5.52))
        assert line.end == pytest.approx((120.0, -5.52))
        assert line.layer is layer
        assert block.height == pytest.approx(5.52)
    assert (top.leads, first.leads, second.leads) == (True, False, False)


def test_what_is_too_wide_is_shortened_to_its_cell() -> None:
    """Less 0.8 mm at both sides."""
    _top, row = table(COLUMNS, [["W" * 60] * 3], width=120.0)
    cells = [one for one in row.entities if isinstance(one, Text)]
    for cell, room in zip(cells, (18.4, 38.4, 58.4), strict=True):
        assert cell.text.endswith("…")
        wide = text_width(cell.text, cell.size, cell.face)
        assert room - 4.0 < wide <= room


def test_a_table_without_rows_is_its_heading() -> None:
    assert len(table(COLUMNS, [], width=120.0)) == 1
