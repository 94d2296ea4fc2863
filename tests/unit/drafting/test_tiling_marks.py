"""Marks by which tiles are joined, and what is worth a page, laid out by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from loopsolver.drafting.drawing import (
    Circle,
    Drawing,
    Entity,
    Line,
    Picture,
    Place,
    Polygon,
    Text,
    Viewport,
    rectangle,
)
from loopsolver.drafting.extent import box
from loopsolver.drafting.layers import AtJoint, Layer, PageLayers
from loopsolver.drafting.paging import PAPERS, Foot, Leaf, room
from loopsolver.drafting.tiling import (
    OVERLAP,
    is_lettering,
    is_lettering_cut,
    joints_of,
    needed_tiles,
    tiled,
    tiles_of,
    uncut,
)

A4 = PAPERS["a4"]
FOOT = Foot(what="sheet 1", lines=(), units="mm", belongs="plain set")
PEN = Layer(name="pen", width=0.5)
WHOLE = Layer(name="windows", width=0.4, at_joint=AtJoint.WHOLE)


def cross(width: float, height: float) -> tuple[Entity, ...]:
    corners = ((0.0, 0.0), (width, height), (0.0, height), (width, 0.0))
    return (
        Line(start=corners[0], end=corners[1], layer=PEN),
        Line(start=corners[2], end=corners[3], layer=PEN),
    )


def drawing(*entities: Entity, width: float, height: float) -> Drawing:
    return Drawing(entities=entities, low=(0.0, 0.0), high=(width, height))


def on_drawing(leaf: Leaf, place: Place) -> Place:
    """Return where a place on a page lies on the drawing."""
    (viewport,) = leaf.viewports
    (x, y), (left, bottom), (u, v) = place, viewport.low, viewport.at
    return (x - u + left, y - v + bottom)


def marks(leaf: Leaf, kind: type) -> list[Any]:
    return [one for one in leaf.entities if isinstance(one, kind)]


def test_two_tiles_are_joined_along_a_dotted_line_in_the_middle_of_their_overlap() -> (
    None
):
    """Rings with crosses stand on its two ends; diamonds are named by both tiles."""
    sheet = drawing(*cross(300.0, 100.0), width=300.0, height=100.0)
    tiles = tiles_of(sheet, A4.sizes[0])
    leaves = tiled(sheet, paper=A4, foot=FOOT)
    assert [leaf.tile for leaf in leaves] == list(tiles)
    ((at,), ()) = joints_of(tiles)
    assert at == pytest.approx(tiles[1].low[0] + 6.0)
    low, high = tiles[0].low[1] + 6.0, tiles[0].high[1] - 6.0
    for leaf in leaves:
        (joint,) = (one for one in marks(leaf, Line) if one.layer is PageLayers.JOINT)
        ends = [on_drawing(leaf, end) for end in (joint.start, joint.end)]
        assert ends == [pytest.approx((at, low)), pytest.approx((at, high))]
        rings = marks(leaf, Circle)
        assert [on_drawing(leaf, one.centre) for one in rings] == [
            pytest.approx((at, low)),
            pytest.approx((at, high)),
        ]
        assert {one.radius for one in rings} == {2.0}
        assert {one.text for one in marks(leaf, Text)} == {"A1 | A2"}
        assert len(marks(leaf, Polygon)) == 2


@pytest.mark.parametrize(
    ("width", "height", "is_upright"), [(300.0, 100.0, True), (100.0, 470.0, False)]
)
def test_a_diamond_has_a_cross_and_its_name_beside_it(
    width: float, height: float, is_upright: bool
) -> None:
    """4 mm wide, at a quarter and three quarters of the joint where that is free.

    Names are 1.8 mm high and run along the joint, 3.4 mm from the diamond's middle.
    """
    line = Line(start=(0.0, 0.0), end=(width, height), layer=PEN)
    sheet = drawing(line, width=width, height=height)
    leaf = tiled(sheet, paper=A4, foot=FOOT)[0]
    (joint,) = (one for one in marks(leaf, Line) if one.layer is PageLayers.JOINT)
    (x0, y0), (x1, y1) = joint.start, joint.end
    assert (x0 == x1) == is_upright
    for diamond, name, part in zip(
        marks(leaf, Polygon), marks(leaf, Text), (0.25, 0.75), strict=True
    ):
        left, bottom, right, top = box(diamond)
        x, y = (left + right) / 2.0, (bottom + top) / 2.0
        assert (right - left, top - bottom) == pytest.approx((4.0, 4.0))
        assert diamond.points[0] == pytest.approx((x - 2.0, y))
        assert diamond.fill == 1.0
        along = (y - y0) / (y1 - y0) if is_upright else (x - x0) / (x1 - x0)
        assert along == pytest.approx(part, abs=0.19)
        assert (x if is_upright else y) == pytest.approx(x0 if is_upright else y0)
        aside = (0.9, 3.4) if is_upright else (3.4, -0.9)
        assert name.position == pytest.approx((x + aside[0], y + aside[1]))
        assert name.angle_deg == (90.0 if is_upright else 0.0)
        assert name.size == 1.8
        crossed = [
            (one.start, one.end)
            for one in marks(leaf, Line)
            if one.layer is PageLayers.PAGE_MARK
        ]
        for wanted in (((x - 2, y), (x + 2, y)), ((x, y - 2), (x, y + 2))):
            assert any(
                start == pytest.approx(wanted[0]) and end == pytest.approx(wanted[1])
                for start, end in crossed
            )


def test_a_diamond_moves_along_its_joint_to_where_the_drawing_is_free() -> None:
    """A line across the joint at a quarter of it; steps are a fiftieth of the joint."""
    sheet = drawing(*cross(300.0, 100.0), width=300.0, height=100.0)
    tiles = tiles_of(sheet, A4.sizes[0])
    low, high = tiles[0].low[1] + 6.0, tiles[0].high[1] - 6.0
    quarter = low + 0.25 * (high - low)
    across = Line(start=(0.0, quarter), end=(300.0, quarter), layer=PEN)
    (leaf, _other) = tiled(
        drawing(across, width=300.0, height=100.0), paper=A4, foot=FOOT
    )
    first, second = marks(leaf, Polygon)
    names = marks(leaf, Text)
    _left, bottom, _right, top = box(first)
    lowest = min(bottom, box(names[0])[1])
    highest = max(top, box(names[0])[3])
    (viewport,) = leaf.viewports
    line = quarter - viewport.low[1] + viewport.at[1]
    assert lowest > line + 1.0 or highest < line - 1.0
    step = 0.02 * (high - low)
    moved = ((bottom + top) / 2.0 - line) / step
    assert moved == pytest.approx(round(moved), abs=1e-6)
    assert 0 < abs(moved) < 10
    assert box(second)[1] + 2.0 - line == pytest.approx(0.5 * (high - low))


def test_a_drawing_on_one_page_has_no_marks() -> None:
    (leaf,) = tiled(
        drawing(*cross(100.0, 80.0), width=100.0, height=80.0), paper=A4, foot=FOOT
    )
    assert leaf.entities == ()
    assert leaf.viewports[0].at == room(leaf.size)[0]


@pytest.mark.parametrize(
    ("shape", "of_no_use_cut"),
    [
        (Text(position=(0, 0), text="x", size=2.0), True),
        (Circle(centre=(0, 0), radius=2.0, layer=PEN, fill=0.0), True),
        (Circle(centre=(0, 0), radius=2.0, layer=PEN), False),
        (rectangle((0, 0), (1, 1), layer=WHOLE), True),
        (rectangle((0, 0), (1, 1), layer=PEN, fill=0.0), False),
        (Line(start=(0, 0), end=(1, 1), layer=PEN), False),
        (Picture(position=(0, 0), width=1, height=1, png=b""), False),
    ],
)
def test_what_is_of_no_use_cut(shape: Entity, of_no_use_cut: bool) -> None:
    assert is_lettering(shape) == of_no_use_cut


@pytest.mark.parametrize(
    ("shape", "is_worth_a_page"),
    [
        (Line(start=(295, 0), end=(298, 90), layer=PEN), True),
        (Line(start=(295, 0), end=(298, 90), layer=PageLayers.GRID), False),
        (Line(start=(295, 0), end=(298, 90), layer=PageLayers.LEADER), False),
        (rectangle((295, 0), (298, 90), layer=PageLayers.SOLID, fill=0.0), False),
        (Picture(position=(295, 0), width=3, height=9, png=b""), True),
        (Text(position=(295, 50), text="x", size=2.0), True),
    ],
)
def test_a_page_is_for_more_than_ground_and_leaders(
    shape: Entity, is_worth_a_page: bool
) -> None:
    left = Line(start=(1.0, 0.0), end=(1.0, 90.0), layer=PEN)
    sheet = drawing(left, shape, width=300.0, height=100.0)
    pages = needed_tiles(sheet, A4.sizes[1])
    assert [tile.name for tile in pages] == ["A1", "A2"][: 1 + is_worth_a_page]


def test_what_lies_in_the_outer_half_of_an_overlap_is_its_neighbours() -> None:
    """6 mm of 12: and a line's width of 1 mm is spared."""
    sheet = drawing(*cross(300.0, 100.0), width=300.0, height=100.0)
    second = tiles_of(sheet, A4.sizes[1])[1]
    assert OVERLAP == 12.0
    for at, names in ((4.9, ["A1"]), (5.1, ["A1", "A2"])):
        x = second.low[0] + at
        line = Line(start=(x, 0.0), end=(x, 90.0), layer=PageLayers.SCALE_BAR)
        pages = needed_tiles(replace(sheet, entities=(line,)), A4.sizes[1])
        moved = tiles_of(replace(sheet, entities=(line,)), A4.sizes[1])
        assert moved[1].low == pytest.approx(second.low)
        assert [tile.name for tile in pages] == names


def test_lettering_is_cut_where_no_page_shows_it_whole() -> None:
    """No A4 page is 320 mm wide; one of 20 mm finds room on some page."""
    for wide, is_cut in ((20.0, False), (320.0, True)):
        shape = rectangle((10.0, 10.0), (10.0 + wide, 20.0), layer=WHOLE)
        sheet = drawing(*cross(400.0, 100.0), shape, width=400.0, height=100.0)
        assert is_lettering_cut(sheet, A4) == is_cut


def test_each_window_keeps_what_it_shows_whole_and_what_none_does() -> None:
    """Windows from 0 to 60 and from 40 to 100 mm."""
    line = Line(start=(0.0, 5.0), end=(100.0, 5.0), layer=PEN)
    first = rectangle((10.0, 0.0), (20.0, 5.0), layer=WHOLE)
    both = rectangle((45.0, 0.0), (55.0, 5.0), layer=WHOLE)
    last = rectangle((50.0, 0.0), (70.0, 5.0), layer=WHOLE)
    none = rectangle((30.0, 0.0), (90.0, 5.0), layer=WHOLE)
    sheet = drawing(line, first, both, last, none, width=100.0, height=50.0)
    windows = [
        Viewport(drawing=sheet, low=(left, 0.0), high=(left + 60.0, 50.0), at=(0, 0))
        for left in (0.0, 40.0)
    ]
    kept = [one.drawing.entities for one in uncut(windows)]
    assert kept == [(line, first, both, none), (line, both, last, none)]
