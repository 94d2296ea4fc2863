"""What keys and clicks make of what is shown: states in, states out, no window."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.plan.model import AS_BUILT
from loopsolver.view.marks import ClickedMark
from loopsolver.view.panel_lines import ToCandidate, ToRun
from loopsolver.view.selection import first_selection, step_beside
from loopsolver.view.steering import WindowState, after_key, after_mark, after_target
from tests.builders import demo_build

PLAN = demo_build.plan()


def shown(subject=PLAN, run="pump to card", **changes) -> WindowState:
    selection = first_selection(subject, run=run, candidate=None)
    return WindowState(
        subject=subject,
        selection=replace(selection, **changes),
        towards_eye=(0.6, -0.6, 0.5),
    )


def pressed(now: WindowState, *keys: str) -> WindowState:
    for key in keys:
        then = after_key(now, key)
        assert then is not None, key
        now = then
    return now


def test_arrows_lead_through_runs_and_candidates() -> None:
    assert pressed(shown(), "Down").selection.run == 1
    assert pressed(shown(), "Up").selection.run == 4
    assert pressed(shown(), "Right", "Right").selection.rank == 3
    assert pressed(shown(), "Left").selection.rank == 3


@pytest.mark.parametrize("key", ["q", "p", "Return", "w", "u", "1", "F5", ""])
def test_other_keys_change_nothing_that_is_shown(key) -> None:
    assert after_key(shown(), key) is None


def test_layers_answer_with_their_own_names() -> None:
    hidden = pressed(shown(), "n")
    assert hidden.selection.hidden == {"names"}
    assert hidden.message == "names hidden"
    assert pressed(hidden, "n").message == "names shown"
    assert pressed(hidden, "Down").message == ""


def test_a_click_on_a_row_or_tube_shows_that_run_and_its_chosen_tube() -> None:
    now = after_target(shown(), ToRun(place=3))
    assert (now.selection.run, now.selection.rank) == (3, 1)
    assert after_target(shown(), ToRun(place=4)).selection.rank is None
    assert after_target(shown(), ToRun(place=5)).selection == shown().selection


def test_a_click_on_a_candidate_shows_that_one_if_it_is_there() -> None:
    assert after_target(shown(), ToCandidate(rank=3)).selection.rank == 3
    for rank in (0, 4, -1):
        assert after_target(shown(), ToCandidate(rank=rank)).selection.rank == 1


def test_a_tube_as_built_is_one_of_those_that_are_clicked_and_stepped_through() -> None:
    run = replace(PLAN.runs[0], built=PLAN.runs[0].candidates[1])
    built = replace(PLAN, runs=(run, *PLAN.runs[1:]))
    now = shown(built)
    assert now.selection.rank == AS_BUILT
    assert pressed(now, "Right").selection.rank == 1
    assert pressed(now, "Left").selection.rank == 3
    assert after_target(now, ToCandidate(rank=2)).selection.rank == 2
    there = after_target(now, ToCandidate(rank=2))
    assert after_target(there, ToCandidate(rank=AS_BUILT)).selection.rank == AS_BUILT


def test_two_candidates_are_held_side_by_side_until_the_key_or_another_run() -> None:
    now = pressed(shown(), "v")
    assert (now.selection.beside, now.selection.rank) == (1, 2)
    # The one that is held stays while the other is stepped through.
    assert pressed(now, "Right").selection.beside == 1
    assert pressed(now, "Right").selection.rank == 3
    back = pressed(now, "v").selection
    assert (back.beside, back.rank) == (None, 2)
    assert pressed(now, "Down").selection.beside is None


def test_a_lone_candidate_has_none_beside_it() -> None:
    now = pressed(shown(run="card to block"), "v")
    assert now.selection.beside is None
    assert now.message == "there is no second candidate"
    routeless = first_selection(PLAN, run="pump to valve", candidate=None)
    assert step_beside(PLAN, routeless) == routeless


def test_a_tube_is_bent_step_by_step_and_another_one_begins_with_its_blank() -> None:
    assert pressed(shown(), "s").selection.bent == 0
    # Three bends: the blank, three steps, and the tube in its place again.
    assert pressed(shown(), *["s"] * 4).selection.bent == 3
    assert pressed(shown(), *["s"] * 5).selection.bent is None
    assert pressed(shown(), "s", "s", "Right").selection.bent == 0
    assert pressed(shown(), "s", "s", "Down").selection.bent == 0
    # A run without a tube has none to bend: the case is shown again.
    assert pressed(shown(), "s", "Up").selection.bent is None
    assert (
        pressed(shown(run="pump to valve"), "s").message == "there is no tube to bend"
    )


def test_measuring_begins_takes_clicks_and_ends() -> None:
    mark = ClickedMark(name="here", at=(1.0, 2.0, 3.0))
    now = pressed(shown(bent=1), "m")
    assert (now.selection.marks, now.selection.bent) == ((), None)
    assert after_mark(now, mark).selection.marks == (mark,)
    missed = after_mark(now, None)
    assert missed.selection.marks == ()
    assert missed.message == "nothing there to measure from"
    assert pressed(after_mark(now, mark), "m").selection.marks is None
    # Other runs can be looked at while something is measured.
    assert pressed(after_mark(now, mark), "Down").selection.marks == (mark,)


def test_the_build_is_cut_open_and_the_cut_is_moved() -> None:
    now = pressed(shown(), "x")
    plane = now.selection.plane
    assert plane is not None
    # Half of the 200 mm along x; the eye is on the side of more, which is cut away.
    assert (plane.axis, plane.at, plane.keeps) == (0, 100.0, -1)
    moved = pressed(now, "period", "period", "comma").selection.plane
    assert moved is not None
    assert moved.at == 105.0
    assert pressed(now, "x", "x", "x").selection.plane is None
    assert pressed(shown(), "period").message.startswith("no section plane")


def test_a_scene_has_no_tubes_but_all_that_does_not_hang_on_them() -> None:
    scene = demo_build.scene()
    now = shown(scene)
    assert pressed(now, "Right", "v", "s").selection == now.selection
    assert pressed(now, "x").selection.plane is not None
    assert after_target(now, ToRun(place=2)).selection.run == 2
    empty = replace(scene, runs=())
    nothing = WindowState(
        subject=empty,
        selection=first_selection(empty, run=None, candidate=None),
        towards_eye=(0.0, 0.0, 1.0),
    )
    assert pressed(nothing, "Down", "Right", "v", "s").selection == nothing.selection
    assert after_target(nothing, ToRun(place=0)).selection == nothing.selection
