"""Boxes round what is drawn, by hand: which lie in one another, and which meet."""

from __future__ import annotations

import pytest

from loopsolver.drafting.drawing import (
    Circle,
    Entity,
    Line,
    Picture,
    Polygon,
    Polyline,
    Text,
)
from loopsolver.drafting.extent import (
    Extent,
    box,
    extent,
    is_within,
    overlaps,
)
from loopsolver.drafting.lettering import text_width
from tests.unit.drafting.layers import Layers

CORNERS = ((3.0, 8.0), (1.0, 4.0), (6.0, 5.0))


@pytest.mark.parametrize(
    ("entity", "wanted"),
    [
        (Line(start=(5.0, 1.0), end=(2.0, 9.0), layer=Layers.TUBE), (2, 1, 5, 9)),
        (Circle(centre=(5.0, 1.0), radius=3.0, layer=Layers.CUT), (2, -2, 8, 4)),
        (Polyline(points=CORNERS, layer=Layers.LEG), (1, 4, 6, 8)),
        (Polygon(points=CORNERS, layer=Layers.FRAME), (1, 4, 6, 8)),
        (
            Picture(position=(5.0, 1.0), width=20.0, height=10.0, png=b""),
            (5, 1, 25, 11),
        ),
    ],
)
def test_box_round_an_entity(entity: Entity, wanted: Extent) -> None:
    assert box(entity) == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("angle_deg", "turned"),
    [
        (0.0, lambda along, up: (along, up)),
        (90.0, lambda along, up: (-up, along)),
        (180.0, lambda along, up: (-along, -up)),
    ],
)
@pytest.mark.parametrize(
    ("anchor", "share"), [("start", 0), ("middle", 0.5), ("end", 1)]
)
def test_box_round_turned_lettering(angle_deg, turned, anchor, share) -> None:
    """As tall as its capitals at least, and as wide as it is, from its anchor on."""
    text = Text(
        position=(40.0, 30.0),
        text="pump",
        size=4.0,
        anchor=anchor,
        angle_deg=angle_deg,
    )
    width = text_width("pump", 4.0)
    left, bottom, right, top = box(text)
    for along in (-share * width, (1.0 - share) * width):
        x, y = turned(along, 4.0)
        assert left - 1e-9 <= 40.0 + x <= right + 1e-9
        assert bottom - 1e-9 <= 30.0 + y <= top + 1e-9
    sides = sorted((right - left, top - bottom))
    assert sides[1] == pytest.approx(width)
    assert 4.0 < sides[0] < 6.0  # with what hangs below the line, as in "p"


def test_box_round_all() -> None:
    line = Line(start=(5.0, 1.0), end=(2.0, 9.0), layer=Layers.TUBE)
    circle = Circle(centre=(5.0, 1.0), radius=3.0, layer=Layers.CUT)
    assert extent([line, circle]) == ((2.0, -2.0), (8.0, 9.0))


SIDES = [(-1, 0, 0, 0), (0, -1, 0, 0), (0, 0, 1, 0), (0, 0, 0, 1)]


def test_a_box_is_within_one_that_is_no_smaller() -> None:
    assert is_within((10, 40, 20, 60), (10, 40), (20, 60))
    assert is_within((11, 41, 19, 59), (10, 40), (20, 60))


@pytest.mark.parametrize("side", SIDES)
def test_a_box_is_not_within_one_that_it_leaves_on_one_side(
    side: tuple[int, ...],
) -> None:
    left, bottom, right, top = map(sum, zip((10, 40, 20, 60), side, strict=True))
    assert not is_within((left, bottom, right, top), (10, 40), (20, 60))


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize(("away", "meets"), [(0.5, True), (1.5, False)])
def test_boxes_less_than_a_line_apart_meet(
    side: tuple[int, ...], away: float, meets: bool
) -> None:
    """A square of 4 mm beside a box of 10 x 20 mm, on each side of it."""
    x = 15.0 + (side[0] + side[2]) * (5.0 + away + 2.0)
    y = 50.0 + (side[1] + side[3]) * (10.0 + away + 2.0)
    square = Circle(centre=(x, y), radius=2.0, layer=Layers.CUT)
    assert overlaps(square, (10.0, 40.0), (20.0, 60.0)) == meets
