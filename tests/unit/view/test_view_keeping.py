"""Candidates kept in a window: from keep to news to undo, and what is written when."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from loopsolver.plan.model import AS_BUILT
from loopsolver.routing.control import Explaining, RoundDone, RunRouted, RunStarted
from loopsolver.view import keeping
from loopsolver.view.panel_lines import COLUMNS
from loopsolver.view.search_process import Failed
from loopsolver.view.selection import first_selection
from tests.builders import demo_build
from tests.builders.plans import SUMMARY

FILES = (Path("teal.plan.json"), Path("teal.toml"))
PLAN = replace(demo_build.plan(), loop=SUMMARY, files=FILES)
THIRD = first_selection(PLAN, run="pump to card", candidate=3)
NAMES = [run.name for run in PLAN.runs]


def words(now) -> list[str]:
    rows = [line.text for part in keeping.kept_section(now) for line in part.lines]
    assert all(len(row) <= COLUMNS for row in rows)
    return rows


def kept():
    return keeping.after_keep(keeping.opened(PLAN), THIRD)


def test_nothing_is_said_of_a_plan_as_it_was_read() -> None:
    now = keeping.opened(PLAN)
    assert words(now) == words(None) == []
    assert (now.plan, now.is_written, now.is_solving) == (PLAN, True, False)


def test_what_is_kept_is_chosen_at_once_and_nothing_else_is_touched() -> None:
    now = kept()
    assert now.plan.runs[0].chosen == 3
    assert now.plan.runs[1:] == PLAN.runs[1:]
    assert (now.is_written, now.is_solving) == (False, True)
    # Of a choice that nobody searched for nothing is claimed.
    assert now.plan.loop is None
    assert words(now)[:3] == [
        "kept: pump to card, candidate 3",
        "solving the rest:",
        "  the search starts",
    ]


def test_the_search_is_asked_to_keep_it_and_ranks_as_the_plan_does() -> None:
    by_length = replace(
        PLAN, loop=replace(SUMMARY, by="length", kept=("card to block",))
    )
    now = keeping.after_keep(keeping.opened(by_length), THIRD)
    asked = keeping.asked(now)
    assert asked["by"] == "length"
    assert asked["keep"] == {
        "card to block": PLAN.runs[1].candidates[0],  # as it was before
        "pump to card": PLAN.runs[0].candidates[2],
    }
    assert (asked["runs"], asked["built"]) == (None, {})


def test_a_plan_of_some_runs_stays_one_of_those_and_built_tubes_stay() -> None:
    tube = PLAN.runs[1].candidates[0]
    built = replace(PLAN.runs[1], built=tube)
    some = replace(PLAN, runs=(PLAN.runs[0], built), loop=None)
    asked = keeping.asked(keeping.after_keep(keeping.opened(some), THIRD))
    assert asked["runs"] == ["pump to card", "card to block"]
    assert asked["built"] == {"card to block": tube}
    assert asked["by"] == "bends"


@pytest.mark.parametrize(
    ("news", "told"),
    [
        (RunStarted(name="a", number=2, count=6), "routing a (2 of 6)"),
        (RoundDone(rounds=3, best=PLAN.runs[0].candidates), "best so far for 3 runs,"),
        (Explaining(name="a"), "trying what would help a"),
    ],
)
def test_progress_is_told_in_words(news, told) -> None:
    now = keeping.after_news(kept(), news)
    assert any(row.strip().startswith(told) for row in words(now))
    # What says nothing of the progress leaves it as it is told.
    then = keeping.after_news(now, RunRouted(name="a", candidates=()))
    assert words(then) == words(now)


def solved():
    """As the search gives it back: the first run as it was kept, another one changed."""
    runs = (replace(PLAN.runs[0], chosen=3), *PLAN.runs[1:4])
    return replace(PLAN, runs=runs, loop=replace(SUMMARY, kept=("pump to card",)))


def test_the_solved_plan_takes_the_place_of_the_first_answer() -> None:
    now = keeping.after_news(kept(), solved())
    assert (now.plan, now.is_solving, now.is_written) == (solved(), False, False)
    assert len(now.steps) == 2
    assert words(now)[-1] == "not written yet: w writes, u undoes"
    written = keeping.after_write(now)
    assert written.is_written
    assert words(written) == ["kept: pump to card, candidate 3"]


def test_a_plan_of_no_file_is_not_said_to_be_written_by_w() -> None:
    lone = replace(PLAN, files=())
    now = keeping.after_keep(keeping.opened(lone), THIRD)
    solved_alone = replace(now, progress="")
    assert words(solved_alone)[-1] == "u undoes"


def test_undo_takes_keeps_back_one_by_one_and_what_was_written_counts_as_changed() -> (
    None
):
    first = keeping.after_write(keeping.after_news(kept(), solved()))
    other = first_selection(first.plan, run="card to block", candidate=1)
    second = keeping.after_news(keeping.after_keep(first, other), solved())
    assert len(second.steps) == 3
    back = keeping.undone(second)
    assert back.plan is first.plan
    assert back.is_written
    again = keeping.undone(back)
    assert again.plan is PLAN
    assert not again.is_written  # the file holds what was kept
    assert keeping.undone(again).steps == again.steps


def test_undo_ends_waiting_and_late_news_are_not_heard() -> None:
    back = keeping.undone(kept())
    assert (back.plan, back.is_solving) == (PLAN, False)
    assert keeping.after_news(back, solved()) == back


def test_a_search_that_fails_leaves_the_plan_as_it_was_and_says_so() -> None:
    now = keeping.after_news(kept(), Failed(why="its process has ended"))
    assert (now.plan, now.is_written) == (PLAN, True)
    assert words(now) == ["the search failed: its process has ended"]


@pytest.mark.parametrize(
    ("run", "rank", "told"),
    [
        ("pump to valve", None, "nothing to keep"),
        ("pump to card", AS_BUILT, "a tube as built stays"),
        ("pump to card", 2, ""),
    ],
)
def test_what_cannot_be_kept_is_told(run, rank, told) -> None:
    shown = replace(first_selection(PLAN, run=run, candidate=None), rank=rank)
    why = keeping.why_not(keeping.opened(PLAN), shown)
    assert why.startswith(told)
    assert bool(why) == bool(told)


def test_while_the_rest_is_solved_nothing_more_is_kept() -> None:
    assert keeping.why_not(kept(), THIRD).startswith("undo first")
