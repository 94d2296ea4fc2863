"""What ``loopsolver assemble`` prints and returns."""

from __future__ import annotations

import contextlib
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from loopsolver.assembly.order import assembly
from loopsolver.cli.main import main
from loopsolver.plan import Plan
from loopsolver.report.assembling import assembly_steps, order_sentences
from loopsolver.scene.model import Assembly
from tests.commands import SCENES

SCENE = (SCENES / "wren.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A routed demonstration of two runs, whose scene does not say what may be moved."""
    return routed(tmp_path_factory.mktemp("assemble"), SCENE)


def routed(folder: Path, text: str) -> Path:
    """Return the plan of a scene, routed in a folder."""
    (folder / "wren.toml").write_text(text, encoding="utf-8")
    path = folder / "wren.plan.json"
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["route", str(folder / "wren.toml"), "-o", str(path)]) == 0
    return path


def printed(capsys, *words: str) -> str:
    """What the command printed, in one line."""
    assert main(["assemble", *words]) == 0
    return " ".join(capsys.readouterr().out.split())


def as_json(capsys, *words: str) -> dict[str, Any]:
    assert main(["assemble", *words, "--json"]) == 0
    told: dict[str, Any] = json.loads(capsys.readouterr().out)
    return told


def test_cautions_tubes_order_and_back(plan, capsys) -> None:
    told = printed(capsys, str(plan))
    places = [
        told.index(words)
        for words in (
            "Mains off",
            "Do not lever",
            "Chamfer each end",
            "Mark on each end how deep it goes in",
            "block to radiator: its ends are crossed, at 90°.",
            "what PETG bears has no source here",
            "The scene does not say what may be moved.",
            "1. Fix the parts: All but block",
            "Screw down block",
            "For cleaning, the same backwards",
        )
    ]
    assert places == sorted(places)
    assert told == printed(capsys, str(plan))


def test_json_says_the_same(plan, capsys) -> None:
    """The collars of the scene are 10 mm deep; its tubes are crossed at right angles."""
    told = as_json(capsys, str(plan))
    assert not told["is_stated"]
    assert told["loose"] == ["block"]
    assert [one["run"] for one in told["tubes"]] == [
        "block to radiator",
        "radiator to block",
    ]
    for tube in told["tubes"]:
        assert tube["ends"] == "crossed"
        assert tube["angle_deg"] == pytest.approx(90.0)
        assert set(tube["depths"].values()) == {10.0}
        assert [one["by"] for one in tube["loosenings"]] == [10.0, 10.0]
        assert tube["easing"]["stress_mpa"] is None
    into = [one["run"] for one in told["steps"] if "run" in one]
    assert into == told["taking_out"][::-1]
    assert told["steps"][-1]["fixed"] == ["block"]
    assert told["stuck"] == []
    assert told["ended"] == "done"


@pytest.mark.parametrize(
    ("stated", "stuck"),
    [
        (Assembly(movable=("block",)), 0),
        (Assembly(last=("block",)), 0),
        (Assembly(movable=("memory",)), 2),
        (Assembly(), 2),
    ],
)
def test_what_may_be_moved_is_heeded(stated, stuck, plan) -> None:
    """With the block loose both tubes go in; with nothing of theirs loose neither."""
    read = Plan.read(plan)
    of = assembly(replace(read, scene=replace(read.scene, assembly=stated)))
    assert of.is_stated
    assert len(of.stuck) == stuck
    assert all("block" in one.helpful for one in of.stuck)
    told = " ".join(order_sentences(of))
    assert told.count("does not go in, whatever else is in") == stuck
    steps = list(assembly_steps(of, replace(read.scene, assembly=stated)))
    assert steps[-1].parts == (("block",) if not stuck else ())
    assert (steps[-1].how[0].startswith("Last of all")) == bool(stated.last)


def test_the_scene_file_says_what_may_be_moved(tmp_path, capsys) -> None:
    path = routed(tmp_path, f'{SCENE}\n[assembly]\nmovable = ["radiator"]\n')
    told = as_json(capsys, str(path))
    assert told["is_stated"]
    assert set(told["loose"]) <= {"radiator"}


def test_a_scene_in_place_of_a_plan_is_told(plan, capsys) -> None:
    assert main(["assemble", str(plan.with_name("wren.toml"))]) == 2
    assert "route" in capsys.readouterr().err


def test_a_run_without_a_tube_is_told(plan, tmp_path, capsys) -> None:
    """Exit status 3, and what there is is still told."""
    told = json.loads(plan.read_text(encoding="utf-8"))
    told["runs"][0].update(candidates=[], chosen=None, why="left out by hand")
    told["loop"] = None
    (tmp_path / "wren.toml").write_text(SCENE, encoding="utf-8")
    path = tmp_path / "wren.plan.json"
    path.write_text(json.dumps(told), encoding="utf-8")
    assert main(["assemble", str(path)]) == 3
    said = capsys.readouterr()
    assert "block to radiator" in said.err
    assert "radiator to block" in said.out
