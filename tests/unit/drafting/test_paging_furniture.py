"""What stands round a page: foot, scale bars, map of the tiles, measured by hand."""

from __future__ import annotations

import pytest

from loopsolver.drafting.drawing import Entity, Face, Line, Polygon, Text
from loopsolver.drafting.extent import box
from loopsolver.drafting.layers import PageLayers
from loopsolver.drafting.lettering import text_width
from loopsolver.drafting.paging import (
    PAPERS,
    Foot,
    Leaf,
    Tile,
    bound,
    foot_lettering,
    room,
    scale_bar,
)

A4 = PAPERS["a4"].sizes[0]
FOOT = Foot(
    name="pump to card",
    what=": sheet 1",
    lines=("Moss", "grid 5 mm", "never shown"),
    units="mm",
    belongs="plain set",
)


def solids(shapes: tuple[Entity, ...]) -> list[tuple[float, ...]]:
    return [
        box(one)
        for one in shapes
        if isinstance(one, Polygon) and one.layer is PageLayers.SOLID
    ]


def test_papers_are_those_of_the_standards() -> None:
    """ISO 216: A4 is 210 x 297 mm. ANSI Y14.1: A is 8 1/2 x 11 in of 25.4 mm."""
    assert PAPERS["a4"].sizes == ((210.0, 297.0), (297.0, 210.0))
    upright, level = PAPERS["letter"].sizes
    assert upright == level[::-1] == pytest.approx((8.5 * 25.4, 11 * 25.4))


def test_the_room_of_a_page_is_less_by_margin_foot_and_bar() -> None:
    """8 mm of margin; 24 and 1 of foot below; 8 for the upright bar on the right."""
    assert room(A4) == ((8.0, 33.0), (194.0, 289.0))


@pytest.mark.parametrize(
    ("units", "length", "blocks", "says"),
    [
        ("mm", 100.0, 10, "100 mm"),
        ("cm", 100.0, 10, "100 mm"),
        ("in", 101.6, 8, "4 in"),
    ],
)
def test_a_scale_bar_has_a_black_block_in_every_other_place(
    units, length: float, blocks: int, says: str
) -> None:
    """1.4 mm high, with a tick of 3.4 mm at both ends and its length over its middle."""
    shapes = scale_bar((20.0, 30.0), units)
    step = length / blocks
    wanted = [
        (20.0 + step * n, 30.0, 20.0 + step * (n + 1), 31.4)
        for n in range(0, blocks, 2)
    ]
    assert len(wanted) == blocks / 2
    for found, one in zip(solids(shapes), wanted, strict=True):
        assert found == pytest.approx(one)
    (outline,) = (
        one
        for one in shapes
        if isinstance(one, Polygon) and one.layer is PageLayers.SCALE_BAR
    )
    assert box(outline) == pytest.approx((20.0, 30.0, 20.0 + length, 31.4))
    assert outline.fill is None
    ticks = [one for one in shapes if isinstance(one, Line)]
    for tick, x in zip(ticks, (20.0, 20.0 + length), strict=True):
        assert tick.start == pytest.approx((x, 30.0))
        assert tick.end == pytest.approx((x, 33.4))
    (text,) = (one for one in shapes if isinstance(one, Text))
    assert (text.text, text.anchor, text.angle_deg) == (says, "middle", 0.0)
    assert text.position == pytest.approx((20.0 + length / 2.0, 32.2))


def page(leaf: Leaf) -> tuple[Entity, ...]:
    (bound_page,) = bound([leaf])
    assert (bound_page.width, bound_page.height) == leaf.size
    return bound_page.entities


def texts(shapes: tuple[Entity, ...]) -> dict[str, Text]:
    return {one.text: one for one in shapes if isinstance(one, Text)}


def test_the_upright_bar_stands_at_the_right_edge_above_the_foot() -> None:
    """From 4 mm above the foot's 32 mm up, to the left of the margin."""
    shapes = page(Leaf(size=A4, foot=FOOT))
    upright = [one for one in solids(shapes) if one[3] - one[1] > 5.0]
    assert upright[0] == pytest.approx((200.6, 36.0, 202.0, 46.0))
    assert upright[-1] == pytest.approx((200.6, 116.0, 202.0, 126.0))
    words = [one for one in shapes if isinstance(one, Text) and one.text == "100 mm"]
    (turned,) = (one for one in words if one.angle_deg == 90.0)
    assert turned.position == pytest.approx((202.0 - 2.2, 86.0))
    level = [one for one in solids(shapes) if one[2] - one[0] > 5.0]
    assert level[0] == pytest.approx((8.0, 8.0, 18.0, 9.4))


def test_the_foot_says_whose_page_it_is_and_how_to_print_it() -> None:
    shapes = page(Leaf(size=A4, foot=FOOT))
    rule = next(
        one for one in shapes if isinstance(one, Line) and one.layer is PageLayers.FRAME
    )
    assert (rule.start, rule.end) == ((8.0, 32.0), (202.0, 32.0))
    said = texts(shapes)
    assert said["pump to card: sheet 1"].position == pytest.approx((8.0, 26.8))
    assert said["both bars are 100 mm long."].position == pytest.approx((112.0, 8.0))
    how = said["Print at 100 %, not fitted to the page:"]
    assert how.position == pytest.approx((112.0, 11.4))
    number = said["page 1 of 1"]
    assert (number.position, number.anchor) == ((202.0, 8.0), "end")


def test_lines_of_the_foot_hang_from_its_corner() -> None:
    """The first begins 3 mm behind where the page belongs; two at most are shown."""
    heading, belongs, first, second = foot_lettering(FOOT, (10.0, 50.0), width=150.0)
    assert heading.text == "pump to card: sheet 1"
    assert (heading.size, heading.face) == (3.4, Face.STRONG)
    assert heading.position == pytest.approx((10.0, 44.8))
    assert (belongs.text, belongs.face) == ("plain set", Face.STRONG)
    assert belongs.position == pytest.approx((10.0, 40.0))
    aside = text_width("plain set", 2.3, Face.STRONG) + 3.0
    assert (first.text, second.text) == ("Moss", "grid 5 mm")
    assert first.position == pytest.approx((10.0 + aside, 40.0))
    assert second.position == pytest.approx((10.0, 35.8))


@pytest.mark.parametrize(("width", "line"), [(60.0, 0), (60.0, 1)])
def test_lines_of_the_foot_are_no_wider_than_it(width: float, line: int) -> None:
    foot = Foot(
        what=": sheet 1", lines=("M" * 200,) * 2, units="mm", belongs="plain set"
    )
    text = foot_lettering(foot, (10.0, 50.0), width=width)[2 + line]
    _left, _bottom, right, _top = box(text)
    assert 70.0 - 4.0 < right <= 70.0 + 1e-9
    assert text.text.endswith("…")


def test_rows_are_lettered_and_columns_are_counted() -> None:
    """As columns of a spreadsheet are: after Z comes AA."""
    names = [
        Tile(row=row, column=column, low=(0, 0), high=(1, 1)).name
        for row, column in ((0, 0), (0, 9), (25, 0), (26, 0), (27, 1), (52, 0))
    ]
    assert names == ["A1", "A10", "Z1", "AA1", "AB2", "BA1"]


def tile(row: int, column: int) -> Tile:
    return Tile(row=row, column=column, low=(0.0, 0.0), high=(1.0, 1.0))


def tile_map(
    shapes: tuple[Entity, ...],
) -> dict[str, tuple[tuple[float, ...], float | None]]:
    """Return where each tile lies on the map, and how grey it is."""
    cells = [
        one
        for one in shapes
        if isinstance(one, Polygon) and one.layer is PageLayers.PAGE_MARK
    ]
    names = [
        one
        for one in shapes
        if isinstance(one, Text) and one.text in {"A1", "A2", "B1"}
    ]
    found: dict[str, tuple[tuple[float, ...], float | None]] = {}
    for cell, name in zip(cells, names, strict=True):
        left, bottom, right, top = box(cell)
        x, y = name.position
        assert (name.anchor, name.face) == ("middle", Face.STRONG)
        assert (x, y + name.size / 2.0) == pytest.approx(
            ((left + right) / 2.0, (bottom + top) / 2.0)
        )
        assert text_width(name.text, name.size, Face.STRONG) < right - left
        assert name.size <= 2.3
        assert name.grey == 1.0 - (cell.fill or 0.0)
        found[name.text] = (box(cell), cell.fill)
    return found


@pytest.mark.parametrize("here", [(0, 0), (0, 1), (1, 0)])
def test_the_map_shows_where_a_page_lies_among_the_others(
    here: tuple[int, int],
) -> None:
    """Hung from 2 mm below the foot's line at the right; 15 mm high, 26 mm wide at most.

    An upright sheet has room of 186 x 256 mm: two rows of 7.5 mm are 5.45 mm wide.
    """
    tiles = tuple(tile(*place) for place in ((0, 0), (0, 1), (1, 0)))
    shapes = page(Leaf(size=A4, foot=FOOT, tiles=tiles, tile=tile(*here)))
    found = tile_map(shapes)
    wide = 7.5 * 186.0 / 256.0
    for name, row, column in (("A1", 0, 0), ("A2", 0, 1), ("B1", 1, 0)):
        cell, fill = found[name]
        left, top = 202.0 - wide * (2 - column), 30.0 - 7.5 * row
        assert cell == pytest.approx((left, top - 7.5, left + wide, top))
        assert fill == (0.0 if (row, column) == here else 1.0)


def test_a_page_by_itself_has_no_map_and_more_room_for_its_foot() -> None:
    alone = tile(0, 0)
    assert tile_map(page(Leaf(size=A4, foot=FOOT, tiles=(alone,), tile=alone))) == {}
    assert tile_map(page(Leaf(size=A4, foot=FOOT))) == {}
    long = Foot(name="W" * 300, what=".", lines=(), units="mm", belongs="")
    tiles = (tile(0, 0), tile(0, 1))
    # 194 mm from margin to margin, of which a map takes 26 and 4.
    for leaf, room_mm in (
        (Leaf(size=A4, foot=long), 194.0),
        (Leaf(size=A4, foot=long, tiles=tiles, tile=tiles[0]), 164.0),
    ):
        heading = next(one for name, one in texts(page(leaf)).items() if "W" in name)
        _left, _bottom, right, _top = box(heading)
        assert 8.0 + room_mm - 6.0 < right <= 8.0 + room_mm
