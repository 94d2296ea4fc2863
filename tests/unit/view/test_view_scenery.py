"""Which groups of drawings a selection needs: equal keys where equal things are shown."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.view import clashes
from loopsolver.view.marks import ClickedMark
from loopsolver.view.scenery import scenery
from loopsolver.view.section_plane import SectionPlane
from loopsolver.view.selection import first_selection, step_run, toggle
from tests.builders import demo_build

PLAN = demo_build.plan()
SHOWN = first_selection(PLAN, run="pump to card", candidate=None)


def keys(subject=PLAN, selection=SHOWN, near=()):
    found = scenery(subject, selection, near=near, following=None, air=(), shots=())
    return set(found)


def kinds(*args, **kwargs):
    return [one if isinstance(one, str) else one[0] for one in keys(*args, **kwargs)]


def test_a_plan_shows_case_parts_and_every_tube_once() -> None:
    of = kinds()
    once = ("case", "ports", "bodies", "keep-outs", "run_on_show", "gap")
    assert all(of.count(one) == 1 for one in once)
    # Five runs; the one without a route has ends and nothing beside.
    assert (of.count("fittings"), of.count("run_beside")) == (5, 4)


@pytest.mark.parametrize(
    ("layer", "kind"),
    [("bodies", "bodies"), ("keep-outs", "keep-outs"), ("other tubes", "run_beside")],
)
def test_what_is_hidden_is_not_there(layer, kind) -> None:
    assert kind in kinds()
    assert kind not in kinds(selection=toggle(SHOWN, layer))


def test_only_what_another_run_or_choice_changes_has_other_keys() -> None:
    """What is the same keeps its key, and is so not drawn anew."""
    other = keys(selection=step_run(PLAN, SHOWN, by=1))
    changed = {one if isinstance(one, str) else one[0] for one in other - keys()}
    assert changed == {"run_on_show", "run_beside", "clashes", "gap"}
    # Another candidate chosen, which was looked at already: nothing at all.
    third = replace(SHOWN, rank=3)
    chosen = replace(PLAN, runs=(replace(PLAN.runs[0], chosen=3), *PLAN.runs[1:]))
    assert keys(chosen, third) == keys(PLAN, third)


def test_tubes_that_are_too_near_are_ringed_and_others_not() -> None:
    selection = first_selection(PLAN, run="card to block", candidate=None)
    near = clashes.near_tubes(PLAN, selection)

    def clashing(clearance: float):
        rules = replace(PLAN.scene.rules, clearance=clearance)
        plan = replace(PLAN, scene=replace(PLAN.scene, rules=rules))
        (found,) = (
            one
            for one in keys(plan, selection, near)
            if isinstance(one, tuple) and one[0] == "clashes"
        )
        return [one.run for one in found[2]]

    # The nearest is 16 mm off.
    assert clashing(15.9) == []
    assert clashing(16.1) == ["block to front"]


def test_tools_are_drawn_while_they_are_used_and_the_bench_shows_the_tube_alone() -> (
    None
):
    assert not {"measure", "cut", "bent"} & set(kinds())
    marks = (ClickedMark(name="here", at=(1.0, 2.0, 3.0)),)
    plane = SectionPlane(axis=2, at=50.0, keeps=1)
    assert {"measure", "cut"} <= set(
        kinds(selection=replace(SHOWN, marks=marks, plane=plane))
    )
    assert "measure" not in kinds(selection=replace(SHOWN, marks=()))
    assert kinds(selection=replace(SHOWN, bent=1)) == ["bent"]
