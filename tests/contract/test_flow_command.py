"""What ``loopsolver flow`` prints, writes and returns."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from loopsolver.cli.main import main
from loopsolver.scene.doubts import doubts
from loopsolver.scene.reader import scene_from_text
from tests.builders.routed_demo import routed_demo
from tests.commands import SCENES

HEADINGS = ("flow", "speed", "Reynolds", "drop", "least", "most", "share")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A routed demonstration, with what its scene says of its coolant."""
    return routed_demo("robin", tmp_path_factory.mktemp("flow"))


def run(folder: Path, *more: str) -> list[str]:
    return ["flow", str(folder / "robin.plan.json"), *more]


def test_every_tube_and_part_is_told(folder, capsys):
    assert main(run(folder)) == 0
    told = capsys.readouterr().out
    assert all(heading in told for heading in HEADINGS)
    for name in ("pump", "pump to block", "block", "block to card", "card"):
        assert name in told
    assert "L/min (" in told  # a band
    assert "of straight tube (" in told
    assert "hottest tube" in told
    assert "velocity heads" in told


def test_no_line_is_wider_than_a_terminal(folder, capsys):
    main(run(folder))
    assert max(map(len, capsys.readouterr().out.splitlines())) <= 80


def test_json_holds_the_same(folder, capsys):
    assert main(run(folder, "--json")) == 0
    told = json.loads(capsys.readouterr().out)
    (circuit,) = told["circuits"]
    assert circuit["flow"]["least"] < circuit["flow"]["main"] < circuit["flow"]["most"]
    assert circuit["entry"] == "pump"
    kinds = [stage["kind"] for stage in circuit["passages"]]
    assert kinds == ["part", "tube"] * 4
    shares = sum(stage["share"] for stage in circuit["passages"])
    assert shares == pytest.approx(1.0)
    assert circuit["bend_prices"]


def test_the_same_plan_prints_the_same(folder, capsys):
    main(run(folder, "--json"))
    first = capsys.readouterr().out
    main(run(folder, "--json"))
    assert capsys.readouterr().out == first


def test_compare_has_a_column_for_it(folder, capsys):
    plan = str(folder / "robin.plan.json")
    assert main(["compare", plan]) == 0
    told = capsys.readouterr().out
    assert told.count(" drop") >= 4  # a heading a run
    assert "- drop: the tubes take" in told
    assert main(["compare", plan, "--json"]) == 0
    runs = json.loads(capsys.readouterr().out)["runs"]
    drops = [one["drop"] for run in runs for one in run["candidates"]]
    assert all(0.0 < one["least"] <= one["main"] <= one["most"] for one in drops)


def test_a_flow_of_ones_own(folder, capsys):
    """90 L/h are 1.5 L/min."""
    for written in ("1.5", "90 L/h"):
        assert main(run(folder, "--flow", written, "--json")) == 0
        (circuit,) = json.loads(capsys.readouterr().out)["circuits"]
        assert circuit["flow"]["main"] == 1.5
        assert circuit["crossings"] == []


@pytest.mark.parametrize("written", ["0", "-2", "much", "3 bar", "nan", "1000"])
def test_a_flow_that_is_none(folder, written, capsys):
    assert main(run(folder, f"--flow={written}")) == 2
    told = capsys.readouterr().err
    assert repr(written) in told
    assert "0.01 to 100 L/min" in told


def test_a_scene_without_pump_or_flow(tmp_path, capsys):
    scene = tmp_path / "wren.toml"
    text = (SCENES / "wren.toml").read_text(encoding="utf-8")
    scene.write_text(text, encoding="utf-8")
    plan = tmp_path / "wren.plan.json"
    assert main(["route", str(scene), "-o", str(plan)]) == 0
    capsys.readouterr()
    assert main(["flow", str(plan)]) == 2
    told = capsys.readouterr().err
    for words in ("coolant.flow", "no pump curve in block, radiator", "--flow"):
        assert words in told


@pytest.mark.parametrize("ending", [".svg", ".pdf"])
def test_a_picture(folder, tmp_path, ending, capsys):
    picture = tmp_path / f"curves{ending}"
    assert main(run(folder, "--picture", str(picture))) == 0
    data = picture.read_bytes()
    assert main(run(folder, "--picture", str(picture))) == 0  # its own, written over
    assert picture.read_bytes() == data
    picture.write_bytes(data + b"mine")
    assert main(run(folder, "--picture", str(picture))) == 2
    assert picture.read_bytes() == data + b"mine"
    assert "--force" in capsys.readouterr().err
    assert main(run(folder, "--picture", str(picture), "--force")) == 0
    assert picture.read_bytes() == data
    if ending == ".svg":
        words = [one.text for one in ET.fromstring(data).iter() if one.text]
        assert {"flow, L/min", "pressure, kPa", "pump"} <= set(words)


def test_a_picture_of_another_kind(folder, tmp_path, capsys):
    assert main(run(folder, "--picture", str(tmp_path / "curves.bmp"))) == 2
    assert ".svg or .pdf" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_picture_in_the_place_of_the_plan(folder, capsys):
    plan = folder / "robin.plan.json"
    aim = folder / "aim.svg"
    aim.symlink_to(plan)
    before = plan.read_bytes()
    assert main(run(folder, "--picture", str(aim), "--force")) == 2
    assert plan.read_bytes() == before


def test_check_doubts_a_pump_that_rises():
    """A curve that rises near no flow can meet a loop more than once."""
    text = (SCENES / "robin.toml").read_text(encoding="utf-8")
    (curve,) = re.findall(r"pump = \[\[.*?\]\]", text)
    told = doubts(scene_from_text(text, file="robin.toml"))
    assert not [one for one in told if one.kind == "pump curve"]
    rising = text.replace(curve, "pump = [[0, 20], [2, 24], [8, 5]]")
    (doubt,) = [
        one
        for one in doubts(scene_from_text(rising, file="robin.toml"))
        if one.kind == "pump curve"
    ]
    assert doubt.where == "components.pump.water.pump"
    for words in ("20 kPa at 0 L/min", "24 kPa at 2 L/min", "measure"):
        assert words in doubt.message
