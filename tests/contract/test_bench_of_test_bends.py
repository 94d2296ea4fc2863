"""Test bends go from the scene to every mark, blank and sheet, and each time once."""

from __future__ import annotations

import csv
import json
import math
import re
import shutil
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest

from loopsolver.cli.main import main
from tests.contract.broken import SOUND

SHARE = 1.05
ARC = 28.0 * math.pi / 2.0
TABLE = "".join(
    f"[[test_bends]]\nbent = 93.5\ngot = 90\nblank = {200.0 - 56.0 + SHARE * ARC!r}\n"
    "legs = [100, 100]\n"
    for _ in range(20)
)
"""Legs of 100 mm less 28 each, and 1.05 of the arc: twenty times, so that it is known."""


def run(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(list(argv)) == 0
    return capsys.readouterr().out


def chosen(file: str) -> dict[str, dict[str, Any]]:
    plan = json.loads(Path(file).read_text("utf-8"))
    return {one["name"]: one["candidates"][one["chosen"] - 1] for one in plan["runs"]}


@pytest.fixture(scope="module")
def routed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a scene and its plan, and both of a tested tube."""
    folder = tmp_path_factory.mktemp("tests")
    for name, text in (("bare", SOUND), ("tested", SOUND + TABLE)):
        scene = folder / f"{name}.toml"
        scene.write_text(text.replace('"petg"', '"acrylic"'), encoding="utf-8")
        plan = folder / f"{name}.plan.json"
        assert main(["route", str(scene), "-o", str(plan)]) == 0
    return folder


@pytest.fixture
def both(routed: Path, here: Path) -> Path:
    """Return a working folder with a copy of the same."""
    for file in routed.iterdir():
        shutil.copy(file, here)
    return here


def test_what_a_bend_takes_up_is_in_blanks_marks_and_cut_plan_once(
    both: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each square bend of radius 28 takes up 1.05 x 43.98 mm, to half a per cent."""
    bare, tested = chosen("bare.plan.json"), chosen("tested.plan.json")
    for name, one in tested.items():
        more = (SHARE - 1.0) * ARC * one["bends"]
        assert one["vertices"] == bare[name]["vertices"]
        assert one["length"] == bare[name]["length"]
        assert one["blank"] - bare[name]["blank"] == pytest.approx(more, rel=0.05)
        assert one["take_up"] == pytest.approx(SHARE, abs=0.005)
        tube = _bends(name, capsys)
        assert tube["blank"] == pytest.approx(one["blank"], abs=1e-4)
        assert tube["finished"] == pytest.approx(one["blank"] - 60.0, abs=1e-4)
        rows = [row for row in one["bend_table"] if "angle" in row]
        at = 30.0
        for row, mark in zip(rows, tube["marks"], strict=True):
            at += row["straight"]
            assert mark["start"] == pytest.approx(at, abs=1e-4)
            at += one["take_up"] * ARC
            assert mark["end"] == pytest.approx(at, abs=1e-4)
    run(capsys, "sheets", "tested.plan.json", "-o", "s")
    with (both / "s" / "cut-plan.csv").open(encoding="utf-8") as file:
        cut = [row for row in csv.reader(file) if len(row) > 2]
    told = {
        float(cell) for row in cut for cell in row if re.fullmatch(r"\d+\.\d+", cell)
    }
    for one in tested.values():
        assert any(abs(one["blank"] - length) < 0.06 for length in told)


def _bends(name: str, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    text = run(capsys, "bends", "tested.plan.json", "--run", name, "--json")
    (tube,) = json.loads(text)["runs"]
    return tube


def test_what_to_hold_is_printed_and_written(
    both: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Twenty times 3.5 degrees for 90: 93.5 to a tenth; each bend here is square."""
    name = next(iter(chosen("tested.plan.json")))
    holds = _bends(name, capsys)["hold"]
    assert holds
    for one in holds:
        assert one["angle"] == pytest.approx(90.0)
        assert one["hold"] == pytest.approx(93.5, abs=0.1)
        assert 0.0 < one["spread"] < 0.3
    printed = run(capsys, "bends", "tested.plan.json", "--run", name)
    assert re.search(r"angle +hold\n", printed)
    assert re.search(r"^ +1 .* 90\.0 +93\.5", printed, flags=re.M)
    bare = run(capsys, "bends", "bare.plan.json", "--run", name)
    assert not re.search(r"angle +hold\n", bare)
    text = run(capsys, "bends", "bare.plan.json", "--run", name, "--json")
    assert json.loads(text)["runs"][0]["hold"] is None
    run(capsys, "sheets", "tested.plan.json", "-o", "s")
    run(capsys, "sheets", "bare.plan.json", "-o", "t")
    page, other = (_words(both / folder / "pump-to-tank.pdf") for folder in "st")
    assert "hold at 93.5° for 90°" in page
    assert "hold 93.5°, R 28.0 mm" in page
    assert "[[test_bends]]" not in page
    assert "[[test_bends]]" in other
    assert "hold at" not in other


def _words(file: Path) -> str:
    document = pdfium.PdfDocument(file)
    try:
        pages = [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()
    return " ".join(" ".join(pages).split())


def test_a_plan_of_another_take_up_is_refused(
    both: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = both / "tested.plan.json"
    plan = json.loads(path.read_text("utf-8"))
    (one, *_) = plan["runs"][0]["candidates"]
    arcs = (one["blank"] - one["length"] - 60.0) / (one["take_up"] - 1.0)
    one["take_up"] += 0.02
    one["blank"] += 0.02 * arcs
    path.write_text(json.dumps(plan), encoding="utf-8")
    assert main(["bends", "tested.plan.json"]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "take_up: found 1.0" in told
    assert "as the scene's test bends say" in told
