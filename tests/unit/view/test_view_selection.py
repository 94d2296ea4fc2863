"""Which run and candidate is shown, step by step."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.errors import LoopsolverError
from loopsolver.view.selection import (
    ViewSelection,
    first_selection,
    shown_candidate,
    shown_run,
    step_candidate,
    step_run,
    toggle,
)


@pytest.fixture
def plan(build):
    return build.plan()


def test_first_run_and_its_chosen_candidate_come_first(plan):
    chosen = replace(plan.runs[0], chosen=2)
    subject = replace(plan, runs=(chosen, *plan.runs[1:]))
    selection = first_selection(subject, run=None, candidate=None)
    assert (selection.run, selection.rank) == (0, 2)
    assert shown_run(subject, selection) is chosen
    assert chosen is not None
    assert shown_candidate(subject, selection) is chosen.candidates[1]


def test_runs_are_stepped_through_round_and_round(plan):
    selection = first_selection(plan, run=None, candidate=None)
    seen = []
    for _ in range(6):
        seen.append((selection.run, selection.rank))
        selection = step_run(plan, selection, by=1)
    assert seen == [(0, 1), (1, 1), (2, 1), (3, 1), (4, None), (0, 1)]
    assert (
        step_run(plan, first_selection(plan, run=None, candidate=None), by=-1).run == 4
    )


def test_candidates_are_stepped_through_round_and_round(plan):
    selection = first_selection(plan, run=None, candidate=None)
    ranks = []
    for _ in range(4):
        ranks.append(selection.rank)
        selection = step_candidate(plan, selection, by=1)
    assert ranks == [1, 2, 3, 1]
    back = step_candidate(plan, ViewSelection(run=0, rank=1), by=-1)
    assert back.rank == 3


def test_stepping_candidates_of_a_run_without_a_route_changes_nothing(plan):
    selection = first_selection(plan, run="pump to valve", candidate=None)
    assert selection.rank is None
    assert step_candidate(plan, selection, by=1) == selection
    assert shown_candidate(plan, selection) is None


def test_scene_has_runs_to_step_through_but_no_candidates(build):
    scene = build.scene()
    selection = first_selection(scene, run="card to block", candidate=None)
    assert (selection.run, selection.rank) == (1, None)
    assert step_run(scene, selection, by=1).run == 2
    assert step_candidate(scene, selection, by=1) == selection
    assert shown_run(scene, selection) is None


def test_scene_without_runs_can_be_looked_at(build):
    scene = replace(build.scene(), runs=())
    selection = first_selection(scene, run=None, candidate=None)
    assert step_run(scene, selection, by=1) == selection


def test_layers_are_hidden_and_shown_again(plan):
    selection = first_selection(plan, run=None, candidate=None)
    hidden = toggle(toggle(selection, "bodies"), "names")
    assert hidden.hidden == {"bodies", "names"}
    assert toggle(hidden, "bodies").hidden == {"names"}
    assert step_run(plan, hidden, by=1).hidden == hidden.hidden


@pytest.mark.parametrize(
    ("run", "candidate", "words"),
    [
        ("pump to crad", None, "no run 'pump to crad'; there are 'pump to card', 'car"),
        ("pump to card", 4, "run 'pump to card' has no candidate 4; there are 1 to 3"),
        ("pump to card", 0, "has no candidate 0; there are 1 to 3"),
        ("pump to valve", 1, "there are none: it has no route"),
        (None, 2, "candidate 2 of which run? There are 'pump to card'"),
    ],
)
def test_what_is_not_there_is_named_with_what_is(plan, run, candidate, words):
    with pytest.raises(LoopsolverError) as caught:
        first_selection(plan, run=run, candidate=candidate)
    assert words in str(caught.value)


def test_candidate_without_a_run_is_clear_where_there_is_one_run(plan):
    subject = replace(plan, runs=plan.runs[:1])
    assert first_selection(subject, run=None, candidate=3).rank == 3


def test_candidate_of_a_scene_is_refused(build):
    with pytest.raises(LoopsolverError, match="no candidates yet; route it"):
        first_selection(build.scene(), run="pump to card", candidate=1)
