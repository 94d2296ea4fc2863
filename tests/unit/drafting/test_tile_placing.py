"""What joints cost and where tiles begin, added up by hand."""

from __future__ import annotations

import numpy as np
import pytest

from loopsolver.drafting.drawing import Circle, Entity, Line, Picture, Text, rectangle
from loopsolver.drafting.layers import AtJoint, Layer, PageLayers
from loopsolver.drafting.lettering import text_width
from loopsolver.drafting.tile_placing import Cuttable, best_start

EDGE = Layer(name="edges", width=0.6, at_joint=AtJoint.CONTOUR)
PLAIN = Layer(name="plain", width=0.2)


def cost(entity: Entity, at: float, *, axis: int = 0) -> float:
    return float(Cuttable([entity]).costs(np.array([at]), axis)[0])


def upright(x: float, layer: Layer = EDGE) -> Line:
    return Line(start=(x, 10.0), end=(x, 70.0), layer=layer)


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(("away", "mm"), [(0.0, 60.0), (7.9, 60.0), (8.1, 0.0)])
def test_a_joint_within_8_mm_of_a_contour_costs_its_length(
    side: float, away: float, mm: float
) -> None:
    assert cost(upright(100.0), 100.0 + side * away) == pytest.approx(mm)


def test_a_joint_across_a_contour_costs_its_width_alone() -> None:
    """Upward it is 60 mm long and 0 wide."""
    assert cost(upright(100.0), 40.0, axis=1) == 0.0
    slanting = Line(start=(0.0, 0.0), end=(30.0, 90.0), layer=EDGE)
    assert cost(slanting, 45.0, axis=1) == pytest.approx(30.0)
    assert cost(slanting, 15.0, axis=0) == pytest.approx(90.0)


@pytest.mark.parametrize(("away", "is_near"), [(5.9, True), (6.1, False)])
@pytest.mark.parametrize("side", [0, 1])
def test_a_joint_within_6_mm_of_lettering_costs_40_mm_and_its_height(
    side: int, away: float, is_near: bool
) -> None:
    """A line's height: its capitals and a third of them below the base line."""
    text = Text(position=(100.0, 50.0), text="pump", size=3.0)
    ends = (100.0 - away, 100.0 + text_width("pump", 3.0) + away)
    found = cost(text, ends[side])
    assert found == pytest.approx(40.0 + 1.33 * 3.0 if is_near else 0.0)


@pytest.mark.parametrize(
    ("shape", "mm"),
    [
        (Circle(centre=(50.0, 50.0), radius=4.0, layer=PageLayers.NOTE), 48.0),
        (Circle(centre=(50.0, 50.0), radius=4.0, layer=PLAIN), 8.0),
        (rectangle((40.0, 40.0), (60.0, 52.0), layer=PageLayers.FRAME), 52.0),
        (rectangle((40.0, 40.0), (60.0, 52.0), layer=PLAIN), 0.0),
        (upright(50.0, PLAIN), 0.0),
        (Picture(position=(40.0, 40.0), width=20.0, height=20.0, png=b""), 0.0),
    ],
)
def test_only_contours_words_discs_and_frames_cost(shape: Entity, mm: float) -> None:
    assert cost(shape, 50.0) == pytest.approx(mm)


def test_what_is_near_adds_up_and_nothing_costs_nothing() -> None:
    both = Cuttable([upright(100.0), upright(104.0), upright(200.0)])
    places = np.array([102.0, 111.0, 150.0, 195.0])
    assert both.costs(places, 0).tolist() == [120.0, 60.0, 0.0, 60.0]
    assert Cuttable([]).costs(places, 0).tolist() == [0.0] * 4


def start(*shapes: Entity, least: float, most: float, joints: list[float]) -> float:
    return best_start(
        Cuttable(shapes), 0, least=least, most=most, joints=np.array(joints)
    )


def test_a_drawing_lies_in_the_middle_where_nothing_tells_against_it() -> None:
    assert start(least=-40.0, most=0.0, joints=[180.0]) == -20.0
    assert start(upright(160.0), least=-40.0, most=0.0, joints=[]) == -20.0
    assert start(upright(160.0), least=7.0, most=5.0, joints=[180.0]) == 6.0
    assert start(upright(160.0), least=5.0, most=5.0, joints=[155.0]) == 5.0


def test_a_joint_moves_off_a_contour_and_no_further_than_it_must() -> None:
    """From the middle, -20.5, in steps of 1 mm from -40.5 on: joints 180 mm behind.

    A contour at 157 is near the middle's joint at 159.5; 8 mm off are 165.5 and up.
    """
    found = start(upright(157.0), least=-40.5, most=-0.5, joints=[180.0])
    assert found == pytest.approx(-14.5)
    found = start(upright(162.0), least=-40.5, most=-0.5, joints=[180.0])
    assert found == pytest.approx(-26.5)


def test_every_joint_counts() -> None:
    """The first is free from the middle on, the second only from 2 mm further on."""
    found = start(
        upright(157.0), upright(329.0), least=-40.5, most=-0.5, joints=[180.0, 350.0]
    )
    assert found == pytest.approx(-12.5)


def test_the_last_place_is_tried_too() -> None:
    """Only at the very end, 0.7 mm beyond the last step, the joint is off it."""
    found = start(upright(172.4), least=-10.0, most=0.7, joints=[180.0])
    assert found == pytest.approx(0.7)
