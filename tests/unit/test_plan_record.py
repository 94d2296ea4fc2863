"""What a plan file holds of runs and of the loop, and what is made of it again."""

from __future__ import annotations

import copy
from dataclasses import replace
from typing import Any

import pytest

from loopsolver.plan import Ended, LoopSummary, WouldFit
from loopsolver.plan.checking import parsed
from loopsolver.plan.document import LoopDocument, PlanDocument
from loopsolver.plan.record import (
    as_written,
    candidate_of,
    figures,
    loop_summary,
    planned_run,
    run_document,
    total_of,
)
from tests.builders.plans import GAIN, candidate, ending, planned
from tests.contract.true_plan import GOOD

LENGTH = 265.964594
SUMMARY: dict[str, Any] = {
    "by": "bends",
    "total": [2.0, LENGTH, 0.0],
    "bound": [1.0, 200.0, 0.0],
    "proven": True,
    "rounds": 4,
    "routes": 9,
    "ended": "time",
}


def plan(loop: dict[str, Any] | None = None, **run: Any) -> PlanDocument:
    """Return the true plan of one tube with a loop, its run changed."""
    plain = copy.deepcopy(GOOD)
    plain["runs"][0].update(run)
    if loop is not None:
        plain["loop"] = {**SUMMARY, **loop}
    return parsed(plain, file="a.plan.json")


def test_how_the_choice_was_made_is_told_where_it_is_still_the_choice() -> None:
    ended: Ended = "time"
    assert loop_summary(plan({})) == LoopSummary(
        by="bends",
        total=(2.0, LENGTH, 0.0),
        bound=(1.0, 200.0, 0.0),
        is_proven=True,
        rounds=4,
        pool=9,
        ended=ended,
    )


def test_what_would_let_all_runs_fit_is_kept() -> None:
    figures = {"changes": "another order", "runs": 3, "bends": 4, "length": 812.5}
    kept = loop_summary(plan({"would_fit": figures}))
    assert kept is not None
    assert kept.would_fit == WouldFit(elbows=0, **figures)  # type: ignore[arg-type]
    assert LoopDocument.model_validate(kept).told()["would_fit"] == {
        **figures,
        "elbows": 0,
    }
    tried = loop_summary(plan({"tried": "bends of any angle"}))
    assert tried is not None
    assert (tried.tried, tried.would_fit) == ("bends of any angle", None)


@pytest.mark.parametrize(
    "loop",
    [
        None,
        {"by": "luck"},
        {"total": [3.0, LENGTH, 0.0]},
        {"total": [2.0, LENGTH + 0.001, 0.0]},
        {"total": [2.0, LENGTH]} | {"by": "length"},
    ],
)
def test_nothing_is_told_of_another_choice(loop: dict[str, Any] | None) -> None:
    assert loop_summary(plan(loop)) is None


def test_a_total_is_that_of_the_chosen_candidates_alone() -> None:
    """Twice the same tube, once the second of two, and a run without a choice."""
    (tube,) = plan().runs[0].candidates
    long = tube.model_copy(
        update={"vertices": ((0.0, 0.0, 0.0), (0.0, 0.0, 500.0)), "rank": 2}
    )
    (one,) = plan().runs
    runs = (
        one,
        one.model_copy(update={"candidates": (long, tube), "chosen": 2}),
        one.model_copy(update={"candidates": (long,), "chosen": None}),
    )
    both = plan().model_copy(update={"runs": runs})
    assert total_of(both, by="bends") == pytest.approx((4.0, 2.0 * LENGTH, 0.0))
    assert total_of(plan(), by="bends") == pytest.approx((2.0, LENGTH, 0.0))


ENDS = (ending("a.out", (1, 0, 0), (0, 0, 0)), ending("b.in", (0, 1, 0), (9, 9, 9)))
TUBE = candidate((0, 0, 0), (100, 0, 0), (100, 80, 0), gap=1 / 3, ends=ENDS)


def test_figures_are_rounded_to_a_millionth() -> None:
    written = as_written(TUBE)
    assert written.gap.distance == 0.333333
    assert written.centreline.vertices == TUBE.centreline.vertices
    assert figures(TUBE) == {
        "bends": 1,
        "planes": 1,
        "length": round(180.0 - GAIN, 6),
        "blank": round(240.0 - GAIN, 6),
        "bend_table": [
            {"straight": 72.0, "rotation": 0.0, "angle": 90.0},
            {"straight": 52.0},
        ],
    }


@pytest.mark.parametrize("bends", [0, 1])
def test_a_tube_without_a_bend_departs_from_no_angle(bends: int) -> None:
    line = TUBE.centreline
    vertices = line.vertices if bends else line.vertices[:2]
    tube = replace(
        TUBE, centreline=replace(line, vertices=vertices), standard_deg=(45.0, 90.0)
    )
    assert as_written(tube).standard_deg == ((45.0, 90.0) if bends else ())
    run = run_document(planned("one", [tube]))
    (again,) = run.candidates
    assert candidate_of(again) == as_written(tube)
    assert [one.rank for one in run.candidates] == [1]


@pytest.mark.parametrize(("chosen", "ports"), [(1, "ab"), (2, "cd"), (None, "ab")])
def test_a_run_is_between_the_ports_of_its_choice(
    chosen: int | None, ports: str
) -> None:
    other = tuple(replace(end, port=name) for end, name in zip(ENDS, "cd", strict=True))
    mine = tuple(replace(end, port=name) for end, name in zip(ENDS, "ab", strict=True))
    tubes = [replace(TUBE, ends=mine), replace(TUBE, ends=other)]
    document = run_document(
        planned("one", tubes, ends=("x", "y"), chosen=chosen, why="because")
    )
    run = planned_run(document)
    assert (run.from_port, run.to_port) == tuple(ports)
    assert (run.name, run.chosen, run.why) == ("one", chosen, "because")
    assert len(run.candidates) == 2
    bare = run_document(planned("one", [], ends=("x", "y"), chosen=None, why="none"))
    assert (planned_run(bare).from_port, planned_run(bare).to_port) == ("x", "y")
    endless = run_document(planned("one", [replace(TUBE, ends=())], ends=("x", "y")))
    assert (planned_run(endless).from_port, planned_run(endless).to_port) == ("x", "y")
