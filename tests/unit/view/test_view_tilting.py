"""Air in the window: what is marked, how the tilts are stepped through, and the words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopsolver.hydraulics.filling import Stay, TiltStage
from loopsolver.hydraulics.tilts import lies
from loopsolver.lengths import MILLIMETRES
from loopsolver.view import camera, captions, tilting
from loopsolver.view.contents import outer_points
from loopsolver.view.panel_lines import COLUMNS
from loopsolver.view.selection import first_selection


def stay(volume_ml, at):
    return Stay(volume_ml=volume_ml, parts=("block",), tubes=(), unsure=(), at=at)


@pytest.fixture
def plan(build):
    return build.vented_plan()


@pytest.fixture
def stages(plan):
    """As used, on its back, and stood up: made by hand."""
    ways = lies(plan.scene.sides, allowed=("away",))
    upright, back = (
        next(lie for lie in ways if lie.down == down) for down in [("down",), ("away",)]
    )
    first = (stay(62.4, (30.0, 120.0, 300.0)), stay(0.3, (0.0, 0.0, 0.0)))
    return (
        TiltStage(lie=upright, left=first),
        TiltStage(lie=back, left=(stay(7.52, (40.0, 130.0, 290.0)),)),
        TiltStage(lie=upright, left=()),
    )


def test_the_key_goes_through_all_stages_and_back_to_as_it_is_used(plan, stages):
    now = first_selection(plan, run=None, candidate=None)
    seen = [now.tilt]
    for _ in range(4):
        now = tilting.step_tilt(now, stages)
        seen.append(now.tilt)
    assert seen == [0, 1, 2, 0, 1]
    assert tilting.step_tilt(replace(now, tilt=0), ()).tilt == 0


def test_a_machine_on_its_back_is_looked_at_with_its_front_up(plan, stages):
    """Read off: whoever looks down on it so has the near side up, its right at the right.

    Right-handed: right = away x up; its top then points towards them.
    """
    used = plan.scene.sides
    laid = tilting.sides_at(used, stages, 1)
    assert laid.up == pytest.approx([-part for part in used.away])
    assert laid.right == pytest.approx(used.right)
    assert laid.away == pytest.approx(used.up)
    assert tilting.sides_at(used, stages, 2).up == pytest.approx(used.up)
    assert camera.front(laid).up == pytest.approx(laid.up)


def test_marks_are_balls_at_the_pockets_and_less_than_half_a_millilitre_is_none(stages):
    (ball,) = tilting.marks(stages[0], tube_diameter=12.0)
    points = np.asarray(ball.mesh.points) - (30.0, 120.0, 300.0)
    # 1.4 tube diameters across.
    assert np.linalg.norm(points, axis=1) == pytest.approx(8.4, rel=1e-4)
    assert [one.text for one in tilting.mark_names(stages[0])] == ["62 mL air"]
    assert [one.text for one in tilting.mark_names(stages[1])] == ["7.5 mL air"]
    assert tilting.mark_names(stages[2]) == ()
    assert tilting.air_key(stages[2]) == []


def test_the_floor_lies_under_the_lowest_of_the_tilted_case(plan, stages):
    (floor,) = tilting.ground(plan.scene, stages[1])
    up = -np.asarray(plan.scene.sides.away)
    heights = np.asarray(floor.mesh.points) @ up
    lowest = (outer_points(plan) @ up).min()
    assert heights == pytest.approx(lowest, abs=1e-6)


def test_the_panel_says_the_step_the_caution_and_where_air_is(plan, stages):
    selection = replace(first_selection(plan, run=None, candidate=None), tilt=1)
    sections = captions.sections(plan, selection, near=None, stages=stages)
    rows = [line.text for section in sections for line in section.lines]
    assert "step 1 of 2" in rows
    assert "Lay it on its back" in rows
    assert "  7.5 mL in block" in rows
    assert "air that stays, 7.5 mL" in rows
    assert "cap the vent before each tilt" in " ".join(rows)
    assert max(map(len, rows)) <= COLUMNS
    last = tilting.tilt_section(stages, 2, lengths=MILLIMETRES)
    assert "Stand it up, and open the vent" in [line.text for line in last.lines]


def test_why_there_are_no_tilts_is_told(plan, build, stages):
    assert "no [filling] vent" in tilting.why_none(build.plan(), ())
    assert "not routed" in tilting.why_none(plan.scene, ())
    assert "pump.drain" in tilting.why_none(plan, ())
    assert "no air stays" in tilting.why_none(plan, stages[2:])
    assert "less air" in tilting.why_none(plan, stages[:1])
    assert tilting.why_none(plan, stages) == ""


def test_nothing_is_known_of_scenes_and_of_plans_without_a_vent(plan, build):
    for subject in (plan.scene, build.plan()):
        air = tilting.Air(subject)
        assert (air.stages, air.is_sought) == ((), True)
    air = tilting.Air(plan)
    assert (len(air.stages), air.is_sought) == (1, False)
    assert air.stages[0].lie.down == ("down",)
