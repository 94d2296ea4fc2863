"""What ``measure`` prints, writes and refuses."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pypdfium2
import pytest

from loopsolver.cli.main import main
from tests.builders.measured_case import measured_case
from tests.builders.texts import table


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "three.toml"
    path.write_text(measured_case(), encoding="utf-8")
    return path


def test_what_to_measure_is_printed(scene: Path, capsys) -> None:
    assert main(["measure", str(scene)]) == 0
    out = capsys.readouterr().out
    assert (
        "pump to card: card.in from pump.out is known to 1.7 mm, with these to" in out
    )
    assert "block.in" in out
    assert "If you measure only one more: number " in out


def test_json_holds_every_length_once(scene: Path, capsys) -> None:
    assert main(["measure", str(scene), "--json", "--run", "pump to card"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["units"] == "mm"
    assert told["readings_of_each"] == 3
    (run,) = told["runs"]
    assert (run["name"], run["from"], run["to"]) == (
        "pump to card",
        "pump.out",
        "card.in",
    )
    lengths = {one["along"]: one["about"] for one in run["lengths"]}
    assert lengths == pytest.approx({None: 50.0, "+x": 30.0, "+y": 40.0, "+z": 0.0})
    assert told["best"] in [one["number"] for one in run["lengths"]]
    assert told["not_taken"] == []


def test_of_a_plan_the_ports_are_those_that_are_chosen(scene: Path, capsys) -> None:
    plan = scene.with_name("three.plan.json")
    assert main(["route", str(scene), "-o", str(plan)]) in {0, 3}
    capsys.readouterr()
    assert main(["measure", str(plan), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["plan"] == str(plan)
    assert {run["name"] for run in told["runs"]} == {"pump to card", "card to block"}
    missed = [run["missed"] for run in told["runs"]]
    assert missed == sorted(missed, reverse=True)


def test_form_and_empty_readings_are_written(scene: Path, capsys) -> None:
    form, empty = scene.with_name("form.pdf"), scene.with_name("empty.toml")
    words = ["measure", str(scene), "-o", str(form), "--empty", str(empty)]
    assert main(words) == 0
    err = capsys.readouterr().err
    assert f"written to {form}" in err
    assert f"written to {empty}" in err
    assert len(pypdfium2.PdfDocument(form)) >= 2
    readings = tomllib.loads(empty.read_text(encoding="utf-8"))["readings"]
    assert [one["value"] for one in readings] == [[]] * 7
    kept = form.read_bytes(), empty.read_bytes()
    assert main(words) == 0  # as they were written: over them again
    assert (form.read_bytes(), empty.read_bytes()) == kept


def test_readings_that_were_filled_in_are_not_written_over(scene: Path, capsys) -> None:
    """And the form beside them, which could be, is left as well."""
    form, empty = scene.with_name("form.pdf"), scene.with_name("empty.toml")
    words = ["measure", str(scene), "-o", str(form), "--empty", str(empty)]
    empty.write_text(table("[[readings]]", {"value": [3]}), encoding="utf-8")
    filled = empty.read_bytes()
    assert main(words) == 2
    assert "--force" in capsys.readouterr().err
    assert empty.read_bytes() == filled
    assert not form.exists()
    assert main([*words, "--force"]) == 0
    assert empty.read_bytes() != filled


@pytest.mark.parametrize("option", ["-o", "--empty"])
def test_the_scene_itself_is_never_written_over(
    scene: Path, capsys, option: str
) -> None:
    before = scene.read_bytes()
    assert main(["measure", str(scene), option, str(scene), "--force"]) == 2
    assert "the file that is read" in capsys.readouterr().err
    assert scene.read_bytes() == before


def test_wrong_runs_and_none_are_told(scene: Path, capsys) -> None:
    assert main(["measure", str(scene), "--run", "nowhere"]) == 2
    assert "no run 'nowhere'; there are 'pump to card'" in capsys.readouterr().err
    scene.write_text(measured_case(runs=False), encoding="utf-8")
    assert main(["measure", str(scene)]) == 2
    assert "no run whose ports are known" in capsys.readouterr().err


def test_a_reading_that_was_not_filled_in_is_named(scene: Path, capsys) -> None:
    ends = {"from": "pump.out", "to": "card.in", "along": "+x"}
    empty = table("[[readings]]", {**ends, "value": []})
    scene.write_text(measured_case(empty), encoding="utf-8")
    assert main(["measure", str(scene)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "not taken: pump.out to card.in along x." in out


def test_a_choice_of_ports_is_told(scene: Path, capsys) -> None:
    text = scene.read_text(encoding="utf-8").replace('to = "card.in"', 'to = "card"')
    scene.write_text(text, encoding="utf-8")
    assert main(["measure", str(scene)]) == 0
    said = capsys.readouterr()
    assert "Run 'pump to card' leaves a choice of ports" in said.err
    assert "pump to card: card.in from pump.out" in said.out
