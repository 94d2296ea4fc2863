"""Where tiles begin so that joints cut little, worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from loopsolver.drafting import tiling
from loopsolver.drafting.drawing import Entity, Line
from loopsolver.drafting.layers import AtJoint, Layer

EDGE = Layer(name="edges", width=0.6, at_joint=AtJoint.CONTOUR)


def upright(x: float) -> Line:
    return Line(start=(x, 10.0), end=(x, 70.0), layer=EDGE)


def start(*shapes: Entity, least: float, most: float, joints: list[float]) -> float:
    rows = tiling._cuttable(shapes)
    return tiling._best_start(rows, 0, least=least, most=most, joints=np.array(joints))


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
