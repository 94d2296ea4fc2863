"""What ``loopsolver assemble`` prints and returns."""

from __future__ import annotations

import contextlib
import io
import json
from argparse import Namespace
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from loopsolver.assembly.order import assembly
from loopsolver.cli.main import main
from loopsolver.cli.sheets import _assembly
from loopsolver.plan import Plan
from loopsolver.report.assembling import (
    assembly_steps,
    order_sentences,
    together_words,
)
from loopsolver.scene.model import Assembly
from loopsolver.workshop.sheets import file_stems
from tests.commands import SCENES

SCENE = (SCENES / "wren.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A routed demonstration of two runs, whose scene does not say what may be moved."""
    path, said = routed(tmp_path_factory.mktemp("assemble"), SCENE)
    assert "go together" not in said
    assert "goes together" not in said
    return path


def routed(folder: Path, text: str) -> tuple[Path, str]:
    """Return the plan of a scene, routed in a folder, and what was printed of it."""
    (folder / "wren.toml").write_text(text, encoding="utf-8")
    path = folder / "wren.plan.json"
    with contextlib.redirect_stdout(io.StringIO()) as out:
        assert main(["route", str(folder / "wren.toml"), "-o", str(path)]) == 0
    return path, " ".join(out.getvalue().split())


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
    told = " ".join(order_sentences(of, read.scene))
    assert together_words(of).startswith(
        "The loop does not go together" if stuck else "The loop goes together"
    )
    assert told.count("does not go in, whatever else is in") == stuck
    steps = list(assembly_steps(of, replace(read.scene, assembly=stated)))
    assert steps[-1].parts == (("block",) if not stuck else ())
    assert (steps[-1].how[0].startswith("Last of all")) == bool(stated.last)


def test_route_adds_one_line_where_the_scene_says_what_may_be_moved(
    plan, tmp_path, capsys
) -> None:
    """The plan stays as it was; with the memory alone loose the loop does not go in."""
    path, said = routed(tmp_path, f'{SCENE}\n[assembly]\nmovable = ["block"]\n')
    assert "The loop goes together in this order: " in said
    assert "block loose meanwhile" in said
    runs = [json.loads(one.read_text(encoding="utf-8"))["runs"] for one in (plan, path)]
    assert runs[0] == runs[1]
    told = as_json(capsys, str(path))
    assert told["is_stated"]
    assert told["loose"] == ["block"]


def test_a_sheet_has_a_numbered_step_for_each(plan, tmp_path, capsys) -> None:
    """Cautions, and every step of what is printed with its words."""
    path = tmp_path / "how.pdf"
    printed(capsys, str(plan), "-o", str(path))
    document = pypdfium2.PdfDocument(path)
    words = " ".join(
        page.get_textpage().get_text_bounded().replace("\r\n", " ") for page in document
    )
    words = " ".join(words.split())
    assert "Mains off" in words
    told = as_json(capsys, str(plan))
    for step in told["steps"]:
        assert step["head"] in words
        assert all(how in words for how in step["how"])
    before = path.read_bytes()
    assert main(["assemble", str(plan), "-o", str(path)]) == 0
    assert path.read_bytes() == before
    path.write_bytes(b"mine")
    assert main(["assemble", str(plan), "-o", str(path)]) == 2
    assert path.read_bytes() == b"mine"


def test_the_sheet_joins_the_others_where_the_scene_says_what_may_be_moved(
    plan, tmp_path
) -> None:
    read = Plan.read(plan)
    stated = replace(read.scene, assembly=Assembly(movable=("block",)))
    args = Namespace(paper="a4")
    assert _assembly(read, args) == ()
    (sheet,) = _assembly(replace(read, scene=stated), args)
    assert sheet.name == "assembly.pdf"
    assert len(pypdfium2.PdfDocument(sheet.content)) == sheet.pages
    assert "assembly" not in file_stems(["assembly", "b"])


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
