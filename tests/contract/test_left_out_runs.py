"""A run for which there is no place beside the others: everything that is said of it.

In a flat case two tubes must cross; that they do is plain from the order of their ends.
"""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from loopsolver.cli.main import main
from loopsolver.cli.status import DONE, NO_ROUTE
from loopsolver.plan import Plan
from loopsolver.plan.untold import sum_of
from loopsolver.scene.reader import load_scene
from loopsolver.tube.centreline import Centreline
from loopsolver.view import captions
from loopsolver.view.panel_lines import COLUMNS
from loopsolver.view.selection import first_selection
from tests.builders.flat_case import CROSSING, DIAMETER, ONE_ACROSS_TWO, flat_case

WHY = (
    "no route of it that was found fits beside the others; its best runs 10 mm into "
    "'left to right'"
)
HELP = "possible to front.spare0 instead of front.right_to_left"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the scene and its plan."""
    folder = tmp_path_factory.mktemp("left-out")
    (folder / "flat.toml").write_text(CROSSING, encoding="utf-8")
    plan = folder / "flat.plan.json"
    line = ["route", str(folder / "flat.toml"), "-o", str(plan), "--seconds", "3600"]
    assert main(line) == NO_ROUTE
    return folder


@pytest.fixture
def plan_path(bench: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("COLUMNS", "80")
    return bench / "flat.plan.json"


def points(line: Centreline) -> NDArray[np.float64]:
    """Points along the legs of a line, without its bends: a tube is never outside them."""
    vertices = np.array(line.vertices)
    shares = np.linspace(0.0, 1.0, 400)[:, None]
    return np.concatenate([a + shares * (b - a) for a, b in pairwise(vertices)])


def test_the_plan_says_who_is_in_the_way_where_and_by_how_much(plan_path: Path) -> None:
    plan = Plan.read(plan_path)
    (left_out,) = (run for run in plan.runs if run.chosen is None)
    laid = plan.run("left to right").chosen_candidate
    assert left_out.name == "right to left"
    assert laid is not None
    (met,) = left_out.in_the_way
    assert met.run == "left to right"
    # Centre lines that cross at one height: the tubes run a whole diameter into each
    # other, and the place is on both.
    assert met.gap == pytest.approx(-DIAMETER)
    for line in (laid.centreline, left_out.candidates[0].centreline):
        away = np.linalg.norm(points(line) - np.array(met.at), axis=1)
        assert away.min() < 1.0
    assert left_out.why is not None
    assert left_out.why.startswith(WHY)


def test_what_is_said_to_help_does(tmp_path: Path, plan_path: Path) -> None:
    why = Plan.read(plan_path).run("right to left").why
    assert why is not None
    assert why.splitlines()[1:] == [HELP]
    text = CROSSING.replace('to = "front.right_to_left"', 'to = "front.spare0"')
    changed = tmp_path / "changed.toml"
    changed.write_text(text, encoding="utf-8")
    target = tmp_path / "changed.plan.json"
    assert main(["route", str(changed), "-o", str(target)]) == 0
    chosen = [run.chosen_candidate for run in Plan.read(target).runs]
    loop = Plan.read(plan_path).loop
    assert loop is not None
    assert loop.would_fit is not None
    assert loop.would_fit.changes == (
        "'right to left' to front.spare0 instead of front.right_to_left"
    )
    assert loop.would_fit.runs == len(chosen) == 2
    assert loop.would_fit.bends == sum(one.bends for one in chosen if one)
    length = sum(one.length for one in chosen if one)
    assert loop.would_fit.length == pytest.approx(length, abs=1e-4)


def test_it_is_written_as_it_was_read(plan_path: Path) -> None:
    text = plan_path.read_text("utf-8")
    (left_out,) = (run for run in json.loads(text)["runs"] if run["chosen"] is None)
    assert set(left_out["in_the_way"][0]) == {"run", "gap", "at"}
    assert Plan.read(plan_path).to_json(scene_path="flat.toml") == text


def test_it_is_printed_in_eighty_columns_a_line_for_each_help(
    plan_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", str(plan_path)]) == NO_ROUTE
    rows = capsys.readouterr().out.splitlines()
    assert max(len(row) for row in rows) <= 80
    first = next(at for at, row in enumerate(rows) if row.startswith("- not chosen: "))
    told = rows[first:]
    told = told[: told.index("")]
    assert told[-1] == f"  {HELP}"
    assert WHY in " ".join(row.strip() for row in told)
    words = " ".join(" ".join(rows).split())
    assert "Against candidate" in words  # of the run that is chosen
    assert words.count("Against candidate") == 1


def test_the_loop_says_that_no_larger_set_fits(
    plan_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", str(plan_path)]) == NO_ROUTE
    words = " ".join(capsys.readouterr().out.split())
    assert "of tube in 1 of 2 runs" in words
    assert "left out, as not all fit together: 'right to left'" in words
    assert "proven: no choice of the" in words
    assert "leaves out fewer" in words
    assert "instead of front.right_to_left, all 2 would fit: " in words


def test_unproven_is_not_called_proven(
    plan_path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    content: dict[str, Any] = json.loads(plan_path.read_text("utf-8"))
    content["loop"]["proven"] = False
    content["scene"] = str(plan_path.with_name("flat.toml"))
    content["sum"] = sum_of(content)
    changed = tmp_path / "unproven.plan.json"
    changed.write_text(json.dumps(content), encoding="utf-8")
    assert main(["compare", str(changed)]) == NO_ROUTE
    words = " ".join(capsys.readouterr().out.split())
    assert "was found that leaves out fewer" in words
    assert "proven" not in words


def test_it_is_in_the_json(plan_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(plan_path), "--json"]) == NO_ROUTE
    first, second = json.loads(capsys.readouterr().out)["runs"]
    assert "in_the_way" not in first
    (met,) = second["in_the_way"]
    assert (met["run"], met["gap"]) == ("left to right", pytest.approx(-DIAMETER))
    assert second["why"].startswith(WHY)
    assert main(["compare", str(plan_path), "--json"]) == NO_ROUTE
    fits = json.loads(capsys.readouterr().out)["loop"]["would_fit"]
    assert set(fits) == {"changes", "runs", "bends", "elbows", "length"}


LINE = f"no tube is chosen for run 'right to left': {WHY} at "


def told_in_a_line(err: str) -> bool:
    """Whether messages hold one line, and no more, that tells of the run left out."""
    return [LINE in line for line in err.splitlines()].count(True) == 1


@pytest.mark.parametrize("options", [(), ("--json",)])
@pytest.mark.parametrize("command", ["route", "compare", "bends"])
def test_every_command_tells_of_it_in_a_line_and_ends_with_3(
    command: str,
    options: tuple[str, ...],
    plan_path: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    if command == "route":
        scene = plan_path.with_name("flat.toml")
        line = [str(scene), "-o", str(tmp_path / "again.plan.json")]
    else:
        line = [str(plan_path)]
    assert main([command, *line, *options]) == NO_ROUTE == 3
    assert told_in_a_line(capsys.readouterr().err)


def test_sheets_are_written_of_the_others(
    plan_path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["sheets", str(plan_path), "-o", str(out)]) == NO_ROUTE
    printed = capsys.readouterr()
    assert f"no sheets for run 'right to left': {WHY}" in printed.err
    assert (out / "left-to-right.pdf").exists()
    assert not (out / "right-to-left.pdf").exists()
    one = ["--run", "right to left"]
    assert main(["sheets", str(plan_path), "-o", str(out), *one]) == NO_ROUTE
    assert (
        main(["sheets", str(plan_path), "-o", str(out), "--run", "left to right"]) == 0
    )


def test_its_bends_are_not_printed_but_why(
    plan_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["bends", str(plan_path), "--run", "right to left"]) == NO_ROUTE
    printed = capsys.readouterr()
    words = " ".join(printed.out.split())
    assert "right to left: pump.right_to_left to front.right_to_left" in words
    assert f"not chosen: {WHY}" in words
    assert HELP in words
    assert "Cut a blank" not in words
    assert told_in_a_line(printed.err)


def test_a_candidate_of_it_is_printed_when_asked_for(
    plan_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one = ["--run", "right to left", "--candidate", "1"]
    assert main(["bends", str(plan_path), *one]) == NO_ROUTE
    printed = capsys.readouterr()
    assert "Cut a blank" in printed.out
    assert "candidate 1 of " in printed.out
    assert "chosen:" not in printed.out.partition("Bend table")[0].splitlines()[1]
    assert told_in_a_line(printed.err)


def test_a_run_that_is_chosen_is_done_though_another_is_not(
    plan_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for command in ("compare", "bends"):
        assert main([command, str(plan_path), "--run", "left to right"]) == DONE
        assert "no tube is chosen" not in capsys.readouterr().err


def test_chosen_by_hand_it_is_told_no_more_and_the_other_reason_is_dropped(
    plan_path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    content: dict[str, Any] = json.loads(plan_path.read_text("utf-8"))
    content["scene"] = str(plan_path.with_name("flat.toml"))
    content["sum"] = sum_of(content)
    first, second = content["runs"]
    assert first["chosen"] is not None
    first["chosen"] = 2
    changed = tmp_path / "changed.plan.json"
    changed.write_text(json.dumps(content), encoding="utf-8")
    assert main(["compare", str(changed)]) == NO_ROUTE
    printed = capsys.readouterr()
    assert WHY not in " ".join(printed.out.split())
    assert "choices were changed by hand since" in " ".join(printed.out.split())
    assert "edited by hand, or written by" not in printed.err
    second["chosen"] = 1
    changed.write_text(json.dumps(content), encoding="utf-8")
    assert main(["bends", str(changed)]) == DONE


def test_it_is_in_the_window(plan_path: Path) -> None:
    plan = Plan.read(plan_path)
    shown = first_selection(plan, run="right to left", candidate=None)
    rows = [
        line.text
        for section in captions.sections(plan, shown, near=None)
        for line in section.lines
    ]
    assert max(len(row) for row in rows) <= COLUMNS
    words = " ".join(row.strip() for row in rows)
    assert WHY in words
    assert HELP in words
    assert [row for row in rows if row.startswith("possible to ")]


def test_runs_that_do_not_cross_are_all_laid(tmp_path: Path) -> None:
    # The same walls with the ends in the same order: nothing has to cross.
    text = flat_case([("one", 40.0, 60.0), ("two", 200.0, 120.0)], width=240.0)
    scene = tmp_path / "order.toml"
    scene.write_text(text, encoding="utf-8")
    assert len(load_scene(scene).runs) == 2
    target = tmp_path / "order.plan.json"
    assert main(["route", str(scene), "-o", str(target)]) == 0
    assert [run.chosen is None for run in Plan.read(target).runs] == [False, False]


@pytest.mark.usefixtures("no_loop_remedies")
def test_a_kept_candidate_stays_though_more_runs_would_fit_without(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("across.toml").write_text(ONE_ACROSS_TWO, encoding="utf-8")

    def laid(*options: str) -> set[str]:
        assert main(["route", "across.toml", *options]) == NO_ROUTE
        return {run.name for run in Plan.read("across.plan.json").runs if run.chosen}

    assert laid() == {"one", "three"}
    assert laid("--keep", "two=1") == {"two"}
    words = " ".join(capsys.readouterr().out.split())
    # Without it fewer are left out; so that is said only of choices with it.
    assert "with 'two' kept leaves out fewer" in words
    plan = Plan.read("across.plan.json")
    assert plan.loop is not None
    assert plan.loop.kept == ("two",)
