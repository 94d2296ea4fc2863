"""Tiles cover the drawing, overlap, and are as few as the paper allows."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.drafting.drawing import Circle, Drawing, Line, Text
from loopsolver.drafting.extent import box as box_of
from loopsolver.drafting.paging import (
    BAR,
    PAGE_MARGIN,
    PAPERS,
    Foot,
    Leaf,
    bound,
    pages_of_extracts,
    room,
    whole_drawing,
)
from loopsolver.drafting.tiling import (
    OVERLAP,
    best_size,
    joints_of,
    needed_tiles,
    tiled,
    tiles_of,
)
from tests.unit.drafting.layers import Layers

BELONGS = "plain set, plan 0123abcd"
FOOT = Foot(
    what="pump to card", lines=("Moss", "grid 5 mm"), units="mm", belongs=BELONGS
)
SIZES = [size for paper in PAPERS.values() for size in paper.sizes]


def box(width, height):
    corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    lines = [
        Line(start=a, end=b, layer=Layers.TUBE)
        for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)
    ]
    diagonal = Line(start=corners[0], end=corners[2], layer=Layers.TUBE)
    return Drawing(entities=(*lines, diagonal), low=(0.0, 0.0), high=(width, height))


@settings(derandomize=True, deadline=None, max_examples=80)
@given(
    st.floats(1.0, 1500.0),
    st.floats(1.0, 1500.0),
    st.sampled_from(SIZES),
    st.floats(-300.0, 300.0),
)
def test_tiles_cover_the_box_and_overlap(width, height, size, left):
    low, high = (left, -7.0), (left + width, -7.0 + height)
    tiles = tiles_of(Drawing(entities=(), low=low, high=high), size)
    room_low, room_high = room(size)
    for tile in tiles:
        for axis in (0, 1):
            wide = room_high[axis] - room_low[axis]
            assert tile.high[axis] - tile.low[axis] == pytest.approx(wide)
    assert min(tile.low[0] for tile in tiles) <= low[0] + 1e-6
    assert min(tile.low[1] for tile in tiles) <= low[1] + 1e-6
    assert max(tile.high[0] for tile in tiles) >= high[0] - 1e-6
    assert max(tile.high[1] for tile in tiles) >= high[1] - 1e-6
    by_place = {(tile.row, tile.column): tile for tile in tiles}
    for (row, column), tile in by_place.items():
        right = by_place.get((row, column + 1))
        below = by_place.get((row + 1, column))
        if right is not None:
            assert tile.high[0] - right.low[0] == pytest.approx(OVERLAP)
        if below is not None:
            assert below.high[1] - tile.low[1] == pytest.approx(OVERLAP)
    # No fewer would do: n tiles cover n pitches and one overlap.
    columns = 1 + max(tile.column for tile in tiles)
    wide = room_high[0] - room_low[0]
    if columns > 1:
        assert (columns - 1) * (wide - OVERLAP) + OVERLAP < width + 1e-6


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
@pytest.mark.parametrize(
    "shape", [(150, 60), (260, 100), (100, 260), (700, 90), (400, 400)]
)
def test_the_paper_lies_the_way_that_needs_fewer_pages(paper, shape):
    drawing = box(*map(float, shape))
    counts = [len(needed_tiles(drawing, size)) for size in paper.sizes]
    assert len(tiled(drawing, paper=paper, foot=FOOT)) == min(counts)
    if counts[0] <= counts[1]:
        assert best_size(drawing, paper) == paper.sizes[0]


def test_tiles_with_nothing_but_grid_are_left_out():
    """An L of two long legs leaves the corner away from it empty."""
    legs = (
        Line(start=(0.0, 5.0), end=(700.0, 5.0), layer=Layers.TUBE),
        Line(start=(5.0, 0.0), end=(5.0, 600.0), layer=Layers.TUBE),
        Line(start=(650.0, 0.0), end=(650.0, 600.0), layer=Layers.GRID),
    )
    drawing = Drawing(entities=legs, low=(0.0, 0.0), high=(700.0, 600.0))
    size = PAPERS["a4"].sizes[0]
    kept = {(t.row, t.column) for t in needed_tiles(drawing, size)}
    every = tiles_of(replace(drawing, entities=()), size)
    rows = 1 + max(tile.row for tile in every)
    columns = 1 + max(tile.column for tile in every)
    wanted = {(row, 0) for row in range(rows)}
    wanted |= {(rows - 1, column) for column in range(columns)}
    assert kept == wanted


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("share", [0.3, 0.5, 0.7])
def test_no_joint_runs_along_a_tube_where_it_can_be_helped(size, share):
    """A tube of 14 mm across a drawing a third wider, or higher, than the paper."""
    low, high = room(size)
    for axis in (0, 1):
        wide = 1.3 * (high[axis] - low[axis])
        at = share * wide
        ends = [(at - 7.0, 0.0), (at - 7.0, 90.0), (at + 7.0, 0.0), (at + 7.0, 90.0)]
        corner = (wide, 90.0)
        if axis == 1:
            ends, corner = [(y, x) for x, y in ends], (90.0, wide)
        edges = (
            Line(start=ends[0], end=ends[1], layer=Layers.TUBE),
            Line(start=ends[2], end=ends[3], layer=Layers.TUBE),
        )
        drawing = Drawing(entities=edges, low=(0.0, 0.0), high=corner)
        tiles = tiles_of(drawing, size)
        assert len(tiles) == 2
        (joint,) = joints_of(tiles)[axis]
        assert abs(joint - at) > 7.0
        assert min(tile.low[axis] for tile in tiles) <= 0.0
        assert max(tile.high[axis] for tile in tiles) >= wide


def cut_lengthwise(places, edges):
    """How much tube is cut lengthwise, or nearly, by upright joints at some places [mm].

    Edges are pairs of a place and a length; a joint within 8 mm runs along one.
    """
    return sum(
        length for at, length in edges for x in places if abs(x - at) < NEAR - 1e-6
    )


NEAR = 8.0


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("axis", [0, 1])
def test_joints_cut_no_more_tube_than_those_of_any_other_place(seed, axis):
    """Against trying every millimetre that the tiles may be moved by, all joints moved."""
    rng = random.Random(seed)
    size = PAPERS["a4"].sizes[0]
    low, high = room(size)
    tile = high[axis] - low[axis]
    wide = rng.uniform(1.2, 3.6) * tile
    edges = [(rng.uniform(0.0, wide), rng.uniform(5.0, 80.0)) for _ in range(25)]

    def placed(along, across):
        return (along, across) if axis == 0 else (across, along)

    lines = tuple(
        Line(start=placed(at, 0.0), end=placed(at, length), layer=Layers.TUBE)
        for at, length in edges
    )
    drawing = Drawing(entities=lines, low=(0.0, 0.0), high=placed(wide, 90.0))
    tiles = tiles_of(drawing, size)
    found = joints_of(tiles)[axis]
    count = len({(one.column, one.row)[axis] for one in tiles})
    assert len(found) == count - 1 > 0
    first = min(one.low[axis] for one in tiles)
    covered = count * (tile - OVERLAP) + OVERLAP
    assert wide - covered - 1e-6 <= first <= 1e-6
    moves = range(math.ceil(wide - covered - first), math.floor(-first) + 1)
    assert len(moves) > 3
    least = min(cut_lengthwise([x + by for x in found], edges) for by in moves)
    assert cut_lengthwise(found, edges) <= least


def test_tile_names_and_joints():
    size = PAPERS["a4"].sizes[0]
    tiles = tiles_of(Drawing(entities=(), low=(0.0, 0.0), high=(400.0, 400.0)), size)
    assert [tile.name for tile in tiles] == ["A1", "A2", "A3", "B1", "B2", "B3"]
    across, up = joints_of(tiles)
    for x in across:
        shared = [t for t in tiles if t.low[0] < x < t.high[0]]
        assert len({tile.column for tile in shared}) == 2
        edges = [min(x - t.low[0], t.high[0] - x) for t in shared]
        assert edges == pytest.approx([OVERLAP / 2.0] * len(edges))
    assert len(up) == 1


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
@pytest.mark.parametrize("units", ["mm", "cm", "in"])
def test_every_page_has_both_bars_its_number_and_its_words(paper, units):
    foot = Foot(what="pump to card", lines=("Moss" * 99,), units=units, belongs=BELONGS)
    leaves = tiled(box(600.0, 500.0), paper=paper, foot=foot)
    pages = bound(leaves)
    length = BAR[units][0]
    assert length == (101.6 if units == "in" else 100.0)  # 4 in of 25.4 mm
    for number, page in enumerate(pages, start=1):
        words = [e.text for e in page.entities if isinstance(e, Text)]
        assert f"page {number} of {len(pages)}" in words
        assert BELONGS in words
        assert any(word.startswith("Print at 100 %") for word in words)
        ticks = [
            e
            for e in page.entities
            if isinstance(e, Line) and e.layer is Layers.SCALE_BAR
        ]
        upright = sorted(t.start[0] for t in ticks if t.start[0] == t.end[0])
        level = sorted(t.start[1] for t in ticks if t.start[1] == t.end[1])
        assert upright[1] - upright[0] == pytest.approx(length)
        assert level[1] - level[0] == pytest.approx(length)


@pytest.mark.parametrize("size", SIZES)
def test_nothing_of_a_page_lies_outside_its_margin(size):
    foot = Foot(
        name="pump to card " * 40,
        what=": sheet 1",
        lines=("Moss " * 90,) * 3,
        units="in",
        belongs=BELONGS,
    )
    (page,) = bound([Leaf(size=size, foot=foot)])
    for entity in page.entities:
        left, bottom, right, top = box_of(entity)
        assert left >= PAGE_MARGIN - 1e-6
        assert right <= size[0] - PAGE_MARGIN + 1e-6
        assert bottom >= PAGE_MARGIN - 1.0  # descenders
        assert top <= size[1] - PAGE_MARGIN + 1e-6


@pytest.mark.parametrize("size", SIZES)
def test_a_long_name_leaves_room_for_which_sheet_it_is(size):
    what = ": mirrored sheet 10 of 12, bends 10 to 12"
    foot = Foot(name="W" * 500, what=what, lines=(), units="mm", belongs=BELONGS)
    (page,) = bound([Leaf(size=size, foot=foot)])
    (heading,) = [
        e.text for e in page.entities if isinstance(e, Text) and "W" in e.text
    ]
    assert heading.endswith(what)
    assert heading.startswith("W")


def test_neighbours_carry_the_same_marks():
    """A mark of one tile lies, in the drawing, where its neighbour's does."""
    leaves = tiled(box(400.0, 380.0), paper=PAPERS["a4"], foot=FOOT)
    rings: dict[tuple[float, float], set[str]] = {}
    for leaf in leaves:
        (viewport,) = leaf.viewports
        for mark in leaf.entities:
            if isinstance(mark, Circle):
                assert leaf.tile is not None
                x = mark.centre[0] - viewport.at[0] + viewport.low[0]
                y = mark.centre[1] - viewport.at[1] + viewport.low[1]
                rings.setdefault((round(x, 6), round(y, 6)), set()).add(leaf.tile.name)
    assert rings
    assert all(len(names) >= 2 for names in rings.values())


def test_lettering_in_an_overlap_stays_on_the_page_that_shows_it_whole():
    """Words every 9 mm: each is whole on a page, cut only where it is whole on none."""
    words = tuple(
        Text(position=(9.0 * i, 9.0 * j), text=f"{i} {j}", size=1.5)
        for i in range(44)
        for j in range(40)
    )
    drawing = replace(box(400.0, 380.0), entities=words)
    leaves = tiled(drawing, paper=PAPERS["a4"], foot=FOOT)
    assert len(leaves) > 3
    whole, cut = set(), set()
    for leaf in leaves:
        (viewport,) = leaf.viewports
        (x0, y0), (x1, y1) = viewport.low, viewport.high
        for text in viewport.drawing.entities:
            assert isinstance(text, Text)
            left, bottom, right, top = box_of(text)
            if x0 <= left and right <= x1 and y0 <= bottom and top <= y1:
                whole.add(text.text)
            elif left < x1 and right > x0 and bottom < y1 and top > y0:
                cut.add(text.text)
    assert whole == {word.text for word in words}
    assert not cut


def test_blocks_are_stacked_from_the_top_without_overlap():
    drawing = box(100.0, 80.0)
    block = whole_drawing(drawing)
    size = PAPERS["a4"].sizes[0]
    low, high = room(size)
    leaves = pages_of_extracts([block] * 7, size=size, foot=FOOT)
    per_page = math.floor((high[1] - low[1] + 4.0) / 84.0)
    assert len(leaves) == math.ceil(7 / per_page)
    for leaf in leaves:
        bottoms = [viewport.at[1] for viewport in leaf.viewports]
        assert bottoms[0] + 80.0 == pytest.approx(high[1])
        assert all(a - b >= 80.0 for a, b in pairwise(bottoms))
        assert min(bottoms) >= low[1]
