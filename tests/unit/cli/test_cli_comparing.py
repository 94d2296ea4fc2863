"""Candidates side by side, as they are printed and as they are handed on."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from loopsolver.cli import comparing
from loopsolver.cli.comparing import (
    plan_document,
    ranks_by,
    say_runs,
    say_unchosen,
    tell_touches,
)
from loopsolver.plan import Effect, Plan, PlannedRun, Touch, touches
from loopsolver.report.side_by_side import Beside
from loopsolver.routing.diagnosis.no_route import InTheWay
from tests.builders.plans import GAIN, planned
from tests.builders.short_runs import (
    ONE_BEND,
    STRAIGHT,
    TWO_PLANES,
    made,
    run_of,
    scene_of,
)

Capture = pytest.CaptureFixture[str]

THREE = run_of(made(TWO_PLANES), made(STRAIGHT), made(ONE_BEND), chosen=1)
BARE = planned("b to a", (), chosen=None, why="the card is in the way;\nmove the card")


def plan_of(*runs: PlannedRun, **changes: object) -> Plan:
    return Plan(scene=scene_of(**changes), runs=runs)


def printed(capsys: Capture) -> list[str]:
    return capsys.readouterr().out.splitlines()


def test_ranks_are_those_of_the_plan_whatever_the_order() -> None:
    """Two bends, none and one; 260 - 2 GAIN, 200 and 200 - GAIN mm."""
    assert ranks_by(THREE, None) == (1, 2, 3)
    assert ranks_by(THREE, "bends") == (2, 3, 1)
    assert GAIN < 60.0 - GAIN
    assert ranks_by(THREE, "length") == (3, 2, 1)


def test_a_run_is_printed_with_its_table_and_what_sets_the_others_apart(
    capsys: Capture,
) -> None:
    say_runs(plan_of(THREE), [THREE], by=None)
    lines = printed(capsys)
    assert lines[0] == "a to b: a.out to b.in"
    against = lines.index("Against candidate 1:")
    assert sum(" 260.0 " in line for line in lines[:against]) == 1  # the straight blank
    assert any(line.startswith("*") and " 2 " in line for line in lines[:against])
    told = [line for line in lines[against:] if line.startswith("- candidate")]
    assert [line[: len("- candidate 2")] for line in told][:2] == [
        "- candidate 2",
        "- candidate 3",
    ]
    assert lines[-2:] == ["", "* chosen"]


def test_candidates_are_printed_in_the_order_that_is_asked_for(capsys: Capture) -> None:
    say_runs(plan_of(THREE), [THREE], by="bends")
    rows = [line.lstrip("* ").split() for line in printed(capsys)]
    ranks = [row[0] for row in rows if len(row) > 5 and row[0] in {"1", "2", "3"}]
    assert ranks == ["2", "3", "1"]


def test_a_single_candidate_is_not_held_against_itself(capsys: Capture) -> None:
    alone = run_of(made(STRAIGHT))
    say_runs(plan_of(alone), [alone], by=None)
    assert not any(line.startswith("Against") for line in printed(capsys))


def test_what_is_too_long_and_what_is_hard_to_bend_is_told(capsys: Capture) -> None:
    """A blank of 260 mm from stock of 250; no trim at all leaves nothing to hold."""
    long = run_of(made(STRAIGHT))
    say_runs(plan_of(long, stock_length=250.0), [long], by=None)
    words = " ".join(" ".join(printed(capsys)).split())
    assert (
        "- blank longer than the stock of 250.0 mm: candidate 1 by 10.0 mm; " in words
    )
    bare = run_of(replace(made(ONE_BEND), trim_allowance=0.0))
    say_runs(plan_of(bare), [bare], by=None)
    words = " ".join(" ".join(printed(capsys)).split())
    assert "- no trim allowance, so nothing to hold and to cut square: " in words


def test_what_a_choice_does_to_others_is_told_in_its_own_run(capsys: Capture) -> None:
    other = planned("c to d", [made(STRAIGHT), made(ONE_BEND)])
    none_fits = Effect(run="c to d", rank=2, moved=None)
    say_runs(
        plan_of(THREE, other), [THREE, other], by=None, beside=Beside(found=[none_fits])
    )
    lines = printed(capsys)
    second = lines.index("c to d: a.out to b.in")
    assert not any("others" in line for line in lines[:second])
    assert any("others" in line for line in lines[second:])


def test_a_run_without_candidates_says_why_and_what_would_help(capsys: Capture) -> None:
    wanted = [
        "b to a: a.out to b.in",
        "  no route: the card is in the way;",
        "  move the card",
        "",
    ]
    say_unchosen([BARE])
    assert printed(capsys) == wanted
    say_runs(plan_of(BARE), [BARE], by=None)
    assert printed(capsys) == wanted  # and nothing is chosen


def test_a_run_of_which_none_is_chosen_says_why_below_its_table(
    capsys: Capture,
) -> None:
    left_out = replace(THREE, chosen=None, why="none fits")
    say_runs(plan_of(left_out), [left_out], by=None)
    lines = printed(capsys)
    assert "- not chosen: none fits" in lines
    assert not any(line.startswith("Against") for line in lines)
    assert lines[-1] == "* chosen"


CROSSING = (
    planned("first", [made(((0, 100, 100), (200, 100, 100)))]),
    planned("second", [made(((100, 0, 116), (100, 200, 116)))]),
)
"""Tubes of 14 mm whose centre lines pass 16 mm from each other: 2 mm between them."""


def touching() -> tuple[Plan, Touch]:
    plan = plan_of(*CROSSING)
    (touch,) = touches(plan)
    return plan, touch


def test_tubes_that_touch_are_printed_with_what_would_help(capsys: Capture) -> None:
    plan, touch = touching()
    assert touch.gap == pytest.approx(2.0, abs=1e-3)
    comparing._say_touches(plan, [touch])
    lines = printed(capsys)
    assert lines[:2] == ["", "Chosen tubes that are too near to each other:"]
    words = " ".join(" ".join(lines[2:]).split())
    assert words.startswith("- 'first' and 'second' come within 2.00 mm of each other")
    assert words.endswith("no other candidate of either alone keeps clear of all tubes")
    comparing._say_touches(plan, [])
    assert printed(capsys) == []


@pytest.mark.parametrize("which", [0, 1])
def test_touches_of_the_runs_in_question_are_told(capsys: Capture, which: int) -> None:
    plan, _touch = touching()
    tell_touches(plan, [plan.runs[which]])
    told = capsys.readouterr()
    assert told.out == ""
    (line,) = told.err.splitlines()
    assert line.startswith("chosen tubes: 'first' and 'second' come within 2.00 mm")
    assert line.endswith("; `loopsolver compare` says what would help")
    tell_touches(plan, [THREE])
    assert capsys.readouterr().err == ""


def test_a_touch_is_handed_on_with_where_and_how_near() -> None:
    plan, touch = touching()
    (row,) = plan_document(plan, plan.runs, Path("p"))["touches"]
    assert (row["first"], row["second"]) == ("first", "second")
    assert row["gap"] == pytest.approx(2.0, abs=1e-3)
    assert row["at"] == list(touch.at)
    assert row["ways_out"] == []


def test_a_way_out_is_handed_on_by_run_and_candidate() -> None:
    """The second run has another tube, 40 mm higher."""
    aside = made(((100, 0, 156), (100, 200, 156)))
    second = replace(CROSSING[1], candidates=(*CROSSING[1].candidates, aside))
    plan = plan_of(CROSSING[0], second)
    (row,) = plan_document(plan, plan.runs, Path("p"))["touches"]
    assert row["ways_out"] == [{"run": "second", "candidate": 2}]


def test_a_run_is_handed_on_with_all_its_figures() -> None:
    """Stock of 250 mm holds the bent tubes and not the straight one."""
    scene = scene_of(stock_length=250.0)
    plan = Plan(scene=scene, runs=(THREE,))
    found = [
        Effect(run="a to b", rank=2, moved=None),
        Effect(run="another", rank=3, moved=()),
    ]
    document = plan_document(
        plan, [THREE], Path("p"), by="bends", beside=Beside(found=found)
    )
    (row,) = document["runs"]
    assert (row["name"], row["from"], row["to"]) == ("a to b", "a.out", "b.in")
    assert (row["chosen"], row["why"]) == (1, None)
    assert "in_the_way" not in row
    first, second, third = row["candidates"]
    assert [one["rank"] for one in row["candidates"]] == [2, 3, 1]
    assert [one["bends"] for one in row["candidates"]] == [0, 1, 2]
    assert [one["planes"] for one in row["candidates"]] == [0, 1, 2]
    assert (first["length"], first["blank"]) == (200.0, 260.0)
    assert second["length"] == pytest.approx(200.0 - GAIN)
    assert third["blank"] == pytest.approx(320.0 - 2 * GAIN)
    assert [one["fits_stock"] for one in row["candidates"]] == [False, True, False]
    assert {one["bend_radius"] for one in row["candidates"]} == {28.0}
    assert first["gap"] == 5.0
    assert first["nearest"] == {"name": "tank", "at": [0, 0, 0]}
    assert (first["elbows"], first["departures"]) == (0, [])
    assert first["others"]["fits"] is False
    assert "others" not in second
    assert isinstance(first["doubts"], list)
    assert {one["rank"] for one in row["remarks"]} <= {2, 3}


def test_what_is_in_the_way_of_a_run_is_handed_on() -> None:
    met = InTheWay(run="other", gap=1.5, at=(1.0, 2.0, 3.0))
    left_out = replace(THREE, chosen=None, why="none fits", in_the_way=(met,))
    (row,) = plan_document(plan_of(left_out), [left_out], Path("p"))["runs"]
    assert row["in_the_way"] == [{"run": "other", "gap": 1.5, "at": [1.0, 2.0, 3.0]}]
