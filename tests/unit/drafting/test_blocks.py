"""Blocks and tables: laid down page after page, nothing lost and nothing overlapping."""

from __future__ import annotations

from itertools import pairwise

import pytest

from loopsolver.drafting.blocks import (
    Block,
    Column,
    flowed,
    headed,
    heading,
    paragraph,
    space,
    table,
)
from loopsolver.drafting.drawing import (
    Arc,
    Circle,
    Entity,
    Face,
    Line,
    Picture,
    Polygon,
    Polyline,
    Text,
    moved,
)
from loopsolver.drafting.extent import box
from loopsolver.drafting.lettering import text_width
from tests.unit.drafting.layers import Layers


def test_everything_moves_by_the_same_way() -> None:
    line = Line(start=(0.0, 0.0), end=(4.0, 2.0), layer=Layers.NOTE)
    shapes: list[Entity] = [
        line,
        Arc(centre=(1.0, 1.0), radius=1.0, start_deg=0, end_deg=90, layer=Layers.NOTE),
        Circle(centre=(1.0, 1.0), radius=1.0, layer=Layers.NOTE),
        Polyline(points=((0.0, 0.0), (2.0, 1.0)), layer=Layers.NOTE),
        Polygon(points=((0.0, 0.0), (2.0, 1.0), (0.0, 1.0)), layer=Layers.NOTE),
        Text(position=(0.0, 0.0), text="x", size=2.0),
        Picture(position=(0.0, 0.0), width=2.0, height=1.0, png=b""),
    ]
    for shape in shapes:
        (elsewhere,) = moved([shape], (10.0, -5.0))
        there = box(elsewhere)
        here = box(shape)
        wanted = (here[0] + 10.0, here[1] - 5.0, here[2] + 10.0, here[3] - 5.0)
        assert there == pytest.approx(wanted)


def test_heading_goes_to_the_next_page_with_what_it_leads() -> None:
    blocks = [space(90.0), heading("Head", width=100.0), space(9.0)]
    first, second = flowed(blocks, width=100.0, height=100.0)
    assert first.entities == ()
    assert [e.text for e in second.entities if isinstance(e, Text)] == ["Head"]


def test_text_runs_on_behind_its_head_without_losing_a_word() -> None:
    text = " ".join(f"word{number}" for number in range(60))
    block = headed("Head", text, width=80.0)
    lines = [e for e in block.entities if isinstance(e, Text)]
    assert " ".join(line.text for line in lines) == f"Head. {text}"
    for line in lines:
        wide = text_width(line.text, line.size, line.face)
        assert line.position[0] + wide <= 80.0 + 1e-6
    assert lines[0].face is Face.STRONG


def test_table_cells_stay_in_their_columns() -> None:
    columns = [Column(heading="a" * 40, share=1.0, anchor="start")] * 3
    blocks = table(columns, [["b" * 80] * 3], width=60.0)
    for block in blocks:
        cells = [box(e) for e in block.entities if isinstance(e, Text)]
        for left, right in pairwise(cells):
            assert left[2] < right[0]


def test_a_paragraph_is_as_high_as_its_lines() -> None:
    block: Block = paragraph("word " * 80, width=70.0)
    lowest = min(box(entity)[1] for entity in block.entities)
    assert -block.height <= lowest
