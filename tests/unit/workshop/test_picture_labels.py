"""Numbers and names on the picture of a tube: near, off the tube, and on the paper."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from loopsolver.drafting.drawing import Circle, Entity, Line, Place, Polygon, Text
from loopsolver.drafting.extent import Extent, box
from loopsolver.tube.centreline import BendArc, Centreline
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.picture_labels import arc_points, labels

PAPER = (0.0, 0.0, 120.0, 100.0)
REACH = 2.0
TAGS = ("pump", "card")

ELBOW = Centreline(
    vertices=((20.0, 50.0, 0.0), (80.0, 50.0, 0.0), (80.0, 10.0, 0.0)), radius=20.0
)
"""Along +x, then down: its bend turns about (60, 30), its outside up to the right."""


def seen_from_above(points: np.ndarray) -> tuple[Place, ...]:
    return tuple((float(x), float(y)) for x, y, _z in points)


def drawn(
    line: Centreline = ELBOW,
    *,
    tags: tuple[str, str] = TAGS,
    paper: Extent = PAPER,
    taken: Sequence[Extent] = (),
) -> list[Entity]:
    return list(
        labels(line, seen_from_above, tags=tags, reach=REACH, paper=paper, taken=taken)
    )


def disc(shapes: list[Entity]) -> Circle:
    (found,) = (
        one for one in shapes if isinstance(one, Circle) and one.layer is Layers.TURN
    )
    return found


def names(shapes: list[Entity]) -> dict[str, Text]:
    return {one.text: one for one in shapes if isinstance(one, Text)}


ROOF = Centreline(
    vertices=((20.0, 20.0, 0.0), (60.0, 60.0, 0.0), (100.0, 20.0, 0.0)), radius=20.0
)
"""Up and down again: its bend turns about (60, 60 - 20 x the root of 2)."""

LIFTED = 60.0 - 20.0 * math.sqrt(2.0)


def leaders_of_the_bend(shapes: list[Entity], line: Centreline) -> list[Line]:
    ends = {vertex[:2] for vertex in (line.vertices[0], line.vertices[-1])}
    lines = [one for one in shapes if isinstance(one, Line)]
    return [one for one in lines if one.start not in ends]


def test_a_bend_is_numbered_just_outside_of_its_middle() -> None:
    """2 mm of tube, 2.6 of disc and 1 of air beyond the arc, which needs no line.

    Within 5 degrees of straight up, as the arc's points are 3 mm apart.
    """
    shapes = drawn(ROOF)
    found = disc(shapes)
    assert math.dist(found.centre, (60.0, LIFTED)) == pytest.approx(25.6)
    assert abs(found.centre[0] - 60.0) < 25.6 * math.sin(math.radians(5.0))
    assert found.centre[1] > LIFTED
    assert (found.radius, found.fill) == (2.6, 1.0)
    assert leaders_of_the_bend(shapes, ROOF) == []


def test_where_that_is_taken_the_number_stands_further_off_on_a_line() -> None:
    """Rings are 4 mm apart: the next one is 29.6 mm from where the arc turns about."""
    shapes = drawn(ROOF, taken=[(40.0, 40.0, 80.0, 57.5)])
    found = disc(shapes)
    assert math.dist(found.centre, (60.0, LIFTED)) == pytest.approx(29.6)
    (leader,) = leaders_of_the_bend(shapes, ROOF)
    assert leader.layer is Layers.LEADER
    assert math.dist(leader.start, (60.0, LIFTED)) == pytest.approx(20.0)
    assert leader.end == found.centre


def test_ends_are_named_above_or_below_on_white_with_a_line_to_a_dot() -> None:
    """An end in the upper half of the paper has its name above, another below.

    2 mm of tube, 2.3 of letters and 2 of air away.
    """
    shapes = drawn(paper=(0.0, -30.0, 120.0, 100.0))
    said = names(shapes)
    for name, at, up in (("pump", (20.0, 50.0), 1), ("card", (80.0, 10.0), -1)):
        text = said[name]
        assert text.position == pytest.approx(
            (at[0], at[1] + up * (REACH + 2.3 + 2.0) - 1.15)
        )
        assert (text.size, text.anchor) == (2.3, "middle")
        assert any(
            isinstance(one, Line)
            and one.start == at
            and one.end == pytest.approx((at[0], at[1] + up * 6.3))
            for one in shapes
        )
        assert Circle(centre=at, radius=0.7, layer=Layers.NOTE, fill=0.0) in shapes
    whites = [
        box(one) for one in shapes if isinstance(one, Polygon) and one.fill == 1.0
    ]
    assert len(whites) == 2
    for (left, bottom, right, top), text in zip(whites, said.values(), strict=False):
        x0, _y0, x1, _y1 = box(text)
        assert (x0 - left, right - x1) == pytest.approx((1.0, 1.0))
        assert top - bottom == pytest.approx(2.3 + 2.0)
        assert (top + bottom) / 2.0 == pytest.approx(text.position[1] + 1.15)


@pytest.mark.parametrize("side", range(4))
def test_nothing_leaves_the_paper_or_covers_the_tube(side: int) -> None:
    """The paper ends close beyond the tube on one side in turn; half a mm is kept."""
    paper = list(PAPER)
    paper[side] = (17.0, 7.0, 84.0, 54.0)[side]
    left, bottom, right, top = paper
    shapes = drawn(paper=(left, bottom, right, top))
    assert set(names(shapes)) == {"pump", "card", "1"}
    for one in shapes:
        if isinstance(one, Polygon) or (isinstance(one, Circle) and one.radius > 1.0):
            x0, y0, x1, y1 = box(one)
            assert left + 0.5 <= x0 < x1 <= right - 0.5
            assert bottom + 0.5 <= y0 < y1 <= top - 0.5
            # Off the tube's straights by 2 mm and what is spared.
            for x in np.arange(20.0, 60.0, 1.0):
                away = math.hypot(max(x0 - x, 0.0, x - x1), max(y0 - 50, 0.0, 50 - y1))
                assert away > REACH


def test_where_there_is_no_room_nothing_is_said() -> None:
    assert drawn(taken=[(-200.0, -200.0, 300.0, 300.0)]) == []


def test_a_long_name_is_cut_to_44_mm() -> None:
    shapes = drawn(
        Centreline(vertices=((60, 20, 0), (60, 80, 0)), radius=20.0),
        tags=("pump " * 30, "card"),
    )
    long = next(one for one in names(shapes) if one != "card")
    assert long.endswith("…")
    left, _bottom, right, _top = box(names(shapes)[long])
    assert 38.0 < right - left <= 44.0


@pytest.mark.parametrize(
    ("radius", "angle_deg", "count"),
    # Every 3 mm at most: 20 x pi / 2 = 31.4 mm are 11 steps. Four points at least.
    [(20.0, 90.0, 12), (2.0, 30.0, 4), (20.0, 45.0, 7)],
)
def test_points_of_an_arc(radius: float, angle_deg: float, count: int) -> None:
    arc = BendArc(
        centre=(1.0, 2.0, 3.0),
        u=(0.0, 1.0, 0.0),
        v=(0.0, 0.0, 1.0),
        radius=radius,
        angle=math.radians(angle_deg),
    )
    points = arc_points(arc)
    assert len(points) == count
    turns = np.linspace(0.0, math.radians(angle_deg), count)
    assert points[:, 0] == pytest.approx(1.0)
    assert points[:, 1] == pytest.approx(2.0 + radius * np.cos(turns))
    assert points[:, 2] == pytest.approx(3.0 + radius * np.sin(turns))
