"""How a build goes together in the window: which shots, what stands where in each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopsolver.scene.model import Assembly
from loopsolver.view import captions, contents, palette, playing
from loopsolver.view.panel_lines import COLUMNS
from loopsolver.view.selection import first_selection
from tests.builders.joined_tubes import joined
from tests.builders.scenes import box

CORNER = ((200.0, 300.0, 200.0), (200.0, 300.0, 340.0), (350.0, 300.0, 340.0))


@pytest.fixture(scope="module")
def plan():
    """One tube from the part a, below it, to the part b beside it; a is loose."""
    bodies = {
        "a": (box("a", (188.0, 288.0, 168.0), (212.0, 312.0, 192.0)),),
        "b": (box("b", (358.0, 288.0, 328.0), (382.0, 312.0, 352.0)),),
    }
    loose = Assembly(movable=("a",))
    return joined({"l": ("a", "b", CORNER)}, bodies=bodies, assembly=loose)


@pytest.fixture(scope="module")
def together(plan):
    found = playing.Together(plan)
    found.seek()
    return found


def heights(drawings, colour):
    """The least and greatest height of what has a colour."""
    points = np.vstack(
        [np.asarray(one.mesh.points) for one in drawings if one.look.colour == colour]
    )
    return points[:, 2].min(), points[:, 2].max()


def test_parts_are_fixed_then_the_tube_comes_in_and_a_is_screwed_down(together) -> None:
    """Outside, off its fittings, in one of them with a aside, in its place: four."""
    heads = [shot.step.head for shot in together.shots]
    assert heads == ["Fix the parts", *["l"] * 4, "Screw down a"]
    assert [shot.number for shot in together.shots] == [1, 2, 2, 2, 2, 3]
    assert [sorted(shot.aside) for shot in together.shots] == [
        [],
        ["a"],
        ["a"],
        ["a"],
        [],
        [],
    ]
    assert [shot.placed for shot in together.shots] == [*[()] * 5, ("l",)]


def test_the_loose_part_stands_12_mm_lower_and_the_tube_where_it_then_is(
    plan, together
) -> None:
    """By hand: a is 168 to 192 mm high; the tube's foot is at 200, its back at 347."""
    a_colour = palette.BODIES[0]
    outside, off, aside, placed = together.shots[1:5]
    for shot, down in ((outside, 12.0), (off, 12.0), (aside, 12.0), (placed, 0.0)):
        low, high = heights(playing.shot_bodies(plan, shot), a_colour)
        assert (low, high) == pytest.approx((168.0 - down, 192.0 - down))
    for shot in (aside, placed):
        low, _ = heights(playing.shot_tubes(plan, shot), palette.STRAIGHT)
        assert low == pytest.approx(200.0, abs=0.1)
    drawn = playing.shot_tubes(plan, off)
    reach = [
        np.asarray(one.mesh.points)[:, 0].max()
        for one in drawn
        if one.look.colour == palette.STRAIGHT
    ]
    assert max(reach) == pytest.approx(350.0 - 12.0, abs=0.1)
    there = np.vstack(
        [
            np.asarray(one.mesh.points)
            for one in playing.shot_tubes(plan, outside)
            if one.look.colour == palette.BEND
        ]
    )
    inside = np.asarray(plan.scene.case_inner)
    assert ((there < 0.0) | (there > inside)).any(axis=1).all()


def test_what_is_not_moved_stays_as_it_is_drawn_else(plan, together) -> None:
    whole = contents.bodies(plan.scene)
    apart = playing.shot_bodies(plan, together.shots[0])
    assert sum(one.mesh.n_points for one in whole) == sum(
        one.mesh.n_points for one in apart
    )


def test_the_key_goes_through_all_shots_and_back_to_all_together(
    plan, together
) -> None:
    now = first_selection(plan, run=None, candidate=None)
    seen = []
    for _ in range(8):
        now = playing.step_shot(now, together.shots)
        seen.append(now.shot)
    assert seen == [1, 2, 3, 4, 5, 6, 0, 1]
    assert playing.step_shot(replace(now, shot=0, tilt=2), ()).tilt == 0


def test_the_panel_tells_the_step_with_its_cautions(plan, together) -> None:
    now = replace(first_selection(plan, run=None, candidate=None), shot=2)
    told = captions.sections(plan, now, near=None, shots=together.shots)
    lines = [line.text for section in told for line in section.lines]
    words = " ".join(" ".join(lines).split())
    assert "step 2 of 3" in words
    assert "Draw a aside first, 12 mm down." in words
    assert "Mains off" in words
    assert all(len(line) <= COLUMNS for line in lines)


def test_of_a_scene_and_of_what_does_not_go_together_it_is_told(plan) -> None:
    of_scene = playing.Together(plan.scene)
    of_scene.seek()
    assert of_scene.shots == ()
    assert of_scene.why_none == "no order: the loop is not routed yet"
    fixed = replace(plan, scene=replace(plan.scene, assembly=Assembly()))
    stuck = playing.Together(fixed)
    stuck.seek()
    assert stuck.shots == ()
    assert stuck.why_none.startswith("no order: l does not go in")
