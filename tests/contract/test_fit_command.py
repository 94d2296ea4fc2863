"""What ``loopsolver fit`` prints, writes and returns, and what stands in ``compare``."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest

from loopsolver import load_scene
from loopsolver.cli.main import main
from loopsolver.plan import Plan
from tests.builders.routed_demo import routed_demo
from tests.commands import SCENES

NAME = "block to card"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A routed demonstration."""
    return routed_demo("robin", tmp_path_factory.mktemp("fit"))


def run(folder: Path, *more: str) -> list[str]:
    return ["fit", str(folder / "robin.plan.json"), *more]


def test_every_run_is_told_as_an_estimate(folder, capsys):
    assert main(run(folder)) == 0
    told = capsys.readouterr().out
    plan = json.loads((folder / "robin.plan.json").read_text(encoding="utf-8"))
    for one in plan["runs"]:
        assert f"{one['name']}, candidate {one['chosen']}:" in told
    assert told.count("an estimate from stated spreads") == len(plan["runs"])
    assert told.count("best of all") == len(plan["runs"])
    assert "Do not force a tube into line" in told
    assert max(map(len, told.splitlines())) <= 80


def test_the_same_input_gives_the_same_output(folder, capsys):
    texts = []
    for _ in range(2):
        assert main(run(folder, "--json")) == 0
        texts.append(capsys.readouterr().out)
    assert texts[0] == texts[1]


def test_json_holds_chances_and_three_causes(folder, capsys):
    assert main(run(folder, "--json", "--run", NAME, "--candidate", "2")) == 0
    (one,) = json.loads(capsys.readouterr().out)["runs"]
    assert (one["name"], one["candidate"]) == (NAME, 2)
    fit = one["fit"]
    assert 0.0 <= fit["least"] <= fit["likely"] <= fit["most"] <= 1.0
    assert fit["times_stated_spread"] > 0.0
    assert fit["is_estimate"] is True
    parts = [cause["part"] for cause in one["decided_by"]]
    assert len(parts) == 3
    assert parts == sorted(parts, reverse=True)


def test_several_runs_by_name(folder, capsys):
    names = [NAME, "pump to block"]
    assert main(run(folder, "--json", "--run", *names)) == 0
    told = json.loads(capsys.readouterr().out)["runs"]
    assert [one["name"] for one in told] == names


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--run", "pump to moon"], "no run 'pump to moon'"),
        (["--candidate", "2"], "candidate 2 of which run?"),
        (["--run", NAME, "--candidate", "40"], "has no candidate 40"),
    ],
)
def test_what_is_not_there_is_named(folder, more, words, capsys):
    assert main(run(folder, *more)) == 2
    assert words in capsys.readouterr().err


def test_a_bore_decides(folder, tmp_path, capsys):
    """0.1 mm of play or 0.5: what is stated of a fitting is what is asked of a tube."""
    text = (SCENES / "robin.toml").read_text(encoding="utf-8")
    runs = Plan.read(folder / "robin.plan.json").runs
    likely = []
    for bore in ("0.379 in", "0.395 in"):  # of a tube of 3/8 in
        scene, plan = tmp_path / "robin.toml", tmp_path / "robin.plan.json"
        head = "[fittings.sleeve]\n"
        scene.write_text(
            text.replace(head, f'{head}bore = "{bore}"\n', 1), encoding="utf-8"
        )
        held = Plan(scene=load_scene(scene), runs=runs)
        held.write(plan, scene_path=scene, force=True)
        assert main(["fit", str(plan), "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        likely.append([one["fit"]["likely"] for one in told["runs"]])
        assert any("bores narrower" in words for words in told["basis"])
    assert all(less < more for less, more in zip(*likely, strict=True))


def test_a_tube_as_built_is_told_as_one(folder, tmp_path, capsys):
    """What it is has been decided: it is as drawn, so it goes in and has all its room."""
    runs = Plan.read(folder / "robin.plan.json").runs
    scene, plan = folder / "robin.toml", tmp_path / "robin.plan.json"
    built = [replace(one, built=one.chosen_candidate) for one in runs]
    Plan(scene=load_scene(scene), runs=tuple(built)).write(plan, scene_path=scene)
    assert main(["fit", str(plan), "--run", NAME]) == 0
    told = capsys.readouterr().out
    assert f"{NAME}, as built: it goes in" in " ".join(told.split())
    assert main(["fit", str(plan), "--run", NAME, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["runs"] == []
    assert told["built"][NAME] == pytest.approx(1.0, abs=0.02)


def test_compare_has_a_column_and_sorts_by_it(folder, capsys):
    plan = str(folder / "robin.plan.json")
    assert main(["compare", plan, "--run", NAME]) == 0
    told = capsys.readouterr().out
    assert "of 10" in told
    assert "an estimate from stated spreads" in " ".join(told.split())
    assert main(["compare", plan, "--run", NAME, "--by", "fit", "--json"]) == 0
    (one,) = json.loads(capsys.readouterr().out)["runs"]
    stands = [each["fit"]["times_stated_spread"] for each in one["candidates"]]
    assert stands == sorted(stands, reverse=True)


def test_route_sorts_by_no_such_key(folder, capsys):
    """What a search has not laid yet has no chance."""
    assert main(["route", str(folder / "robin.toml"), "--by", "fit"]) == 2
    assert "found 'fit'" in capsys.readouterr().err


def test_the_bench_sheet_has_a_line(folder, tmp_path, capsys):
    out = tmp_path / "sheets"
    plan = str(folder / "robin.plan.json")
    assert main(["sheets", plan, "-o", str(out), "--run", NAME]) == 0
    document = pypdfium2.PdfDocument(out / "block-to-card.pdf")
    words = " ".join(page.get_textpage().get_text_bounded() for page in document)
    assert "an estimate from stated spreads" in " ".join(words.split())


@pytest.mark.parametrize("ending", [".svg", ".pdf"])
def test_a_picture(folder, tmp_path, ending, capsys):
    picture = tmp_path / f"ends{ending}"
    assert main(run(folder, "--picture", str(picture))) == 0
    data = picture.read_bytes()
    assert main(run(folder, "--picture", str(picture))) == 0  # its own, written over
    assert picture.read_bytes() == data
    picture.write_bytes(data + b"mine")
    assert main(run(folder, "--picture", str(picture))) == 2
    assert picture.read_bytes() == data + b"mine"
    assert "--force" in capsys.readouterr().err
    if ending == ".svg":
        words = " ".join(one.text for one in ET.fromstring(data).iter() if one.text)
        assert f"{NAME}, candidate" in words
        assert "200 far ends as bent" in words
        assert "estimate from stated spreads" in words


def test_a_picture_of_another_kind(folder, tmp_path, capsys):
    assert main(run(folder, "--picture", str(tmp_path / "ends.bmp"))) == 2
    assert ".svg or .pdf" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
