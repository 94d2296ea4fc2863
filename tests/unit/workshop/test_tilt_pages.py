"""The machine drawn as it lies: what is seen of it, and marks that stand apart."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.drafting.drawing import Circle, Polygon, Text
from loopsolver.hydraulics.filling import Stay, TiltStage
from loopsolver.hydraulics.insides import insides
from loopsolver.hydraulics.tilts import lies
from loopsolver.scene.axes import SIDES
from loopsolver.workshop.projection import isometric, room_corners
from loopsolver.workshop.tilt_pages import _azimuth, _footprint, _picture
from tests.builders import demo_build

PLAN = demo_build.vented_plan()
WAYS = lies(PLAN.scene.sides, allowed=SIDES)


def stay(name: str, at: tuple[float, float, float]) -> Stay:
    return Stay(volume_ml=20.0, parts=(name,), tubes=(), unsure=(), at=at)


@pytest.mark.parametrize("lie", WAYS, ids=lambda lie: "-".join(lie.down))
def test_no_face_of_the_case_is_seen_on_its_edge(lie) -> None:
    """By hand for an edge: 0.58 / 1.41 of up less 0.82 sin 15° / 1.41 of the level way."""
    sides = lie.sides(PLAN.scene.sides)
    towards = isometric(sides, azimuth_deg=_azimuth(sides)).towards
    assert min(abs(part) for part in towards) > 0.25
    if len(lie.down) == 1:
        assert np.abs(towards) == pytest.approx([math.sqrt(1 / 3)] * 3)


@pytest.mark.parametrize(("sides", "corners"), [(1, 4), (2, 4), (3, 6)])
def test_a_machine_on_a_corner_stands_over_a_hexagon(sides, corners) -> None:
    """A box seen along an axis is a rectangle, along its diagonal a hexagon."""
    lie = next(one for one in WAYS if len(one.down) == sides)
    box = room_corners(((0.0, 0.0, 0.0), (200.0, 300.0, 400.0)))
    found = _footprint(box, lie.sides(PLAN.scene.sides))
    assert len(found) == corners
    heights = found @ np.array(lie.up)
    assert heights == pytest.approx([(box @ np.array(lie.up)).min()] * corners)


def test_marks_of_pockets_in_one_place_stand_apart() -> None:
    at = (100.0, 200.0, 200.0)
    left = tuple(stay(name, at) for name in ("pump", "block", "card"))
    stage = TiltStage(lie=WAYS[0], left=left)
    inside = insides(PLAN)
    drawn = _picture(PLAN, inside, stage, 178.0, is_air=True).entities
    discs = [one for one in drawn if isinstance(one, Circle) and one.fill == 1.0]
    assert len(discs) == 3
    for place, one in enumerate(discs):
        for other in discs[:place]:
            assert math.dist(one.centre, other.centre) > 2.0 * one.radius
    letters = [one.text for one in drawn if isinstance(one, Text)]
    assert [one for one in letters if len(one) == 1] == ["A", "B", "C"]
    assert {one.name for one in inside.chambers} <= set(letters)
    floor = next(one for one in drawn if isinstance(one, Polygon))
    low, high = np.min(floor.points, axis=0), np.max(floor.points, axis=0)
    assert (low >= 0.0).all()
    assert (high <= (178.0, 170.0)).all()
