"""What ``loopsolver jigs`` writes, prints and refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest

from loopsolver.cli.main import main
from loopsolver.plan import Plan
from loopsolver.workshop.folder import LIST_NAME
from tests.builders.small_build import plan_with
from tests.commands import SCENES
from tests.unit.workshop import measured_print

SCENE = SCENES / "wren.toml"
FOR_EVERYBODY = {"chamfer-stop.stl", "template-stand.stl", "jigs.pdf"}


@pytest.fixture
def plan(monkeypatch) -> Plan:
    """A plan by hand: two runs of two bends, a straight one, and one without a tube."""
    plan = plan_with(unrouted="the block is in the way")
    monkeypatch.setattr("loopsolver.cli.jigs.read_either", lambda path: plan)
    return plan


@pytest.fixture
def cradles_alone(plan, monkeypatch) -> None:
    """Leave out what every run is worked with, which takes its time to draw."""
    home = "loopsolver.workshop.jigs.parts.bench_jigs"
    monkeypatch.setattr(home, lambda scene, printer: ())


def written(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()} - {LIST_NAME}


def page_words(path: Path) -> str:
    pages = pypdfium2.PdfDocument(path)
    return " ".join(
        " ".join(page.get_textpage().get_text_range() for page in pages).split()
    )


def test_plan_gives_cradles_too(plan, tmp_path, capsys) -> None:
    out = tmp_path / "out"
    # One of its runs has no tube: what there is is written, and it says why.
    assert main(["jigs", "any.json", "-o", str(out)]) == 3
    cradles = {f"cradle-run-{number}-bends-1-2.stl" for number in (1, 2)}
    assert written(out) == FOR_EVERYBODY | cradles
    told = capsys.readouterr()
    assert "no cradle for run 'run 3': it has 0 bends" in told.err
    assert "the block is in the way" in told.err
    assert "4 parts in" in told.out
    for name in written(out) - {"jigs.pdf"}:
        part = measured_print.read((out / name).read_bytes())
        assert (
            f"{name}: {' x '.join(f'{one:.0f}' for one in part.extents)} mm" in told.out
        )
    words = page_words(out / "jigs.pdf")
    assert "bend 2: points 90° clockwise of bend 1 (as seen along" in words.lower()
    assert "for cold tube: a freshly heated one softens" in words
    assert "CAUTION" not in words


def test_former_only_with_its_caution(tmp_path) -> None:
    out = tmp_path / "out"
    main(["jigs", str(SCENE), "-o", str(out), "--former"])
    formers = {name for name in written(out) if "former" in name}
    assert formers == {"former-24mm-softens-under-hot-tube.stl"}
    caution = "common printing plastics soften under a freshly heated tube"
    words = page_words(out / "jigs.pdf")
    assert words.count(f"CAUTION: {caution}") == 2  # over all, and beside the former
    assert "120 to 160 °C" in words  # a sheet supplier's range for PETG
    # Without it the next time, it goes.
    main(["jigs", str(SCENE), "-o", str(out)])
    assert not any("former" in name for name in written(out))


def test_groove_and_bed_are_as_asked(cradles_alone, tmp_path) -> None:
    out = tmp_path / "out"
    asked = ["--play", "0.02 in", "--bed", "120 mm", "--run", "run 2"]
    assert main(["jigs", "any.json", "-o", str(out), *asked]) == 0
    held = [
        leg
        for name in sorted(written(out))
        if name.startswith("cradle")
        for leg in measured_print.legs(measured_print.read((out / name).read_bytes()))
    ]
    assert [2.0 * leg.radius for leg in held] == pytest.approx(
        [14.0 + 0.508] * len(held), abs=2e-3
    )


def test_scene_gives_what_every_run_is_worked_with(tmp_path, capsys) -> None:
    out = tmp_path / "out"
    assert main(["jigs", str(SCENE), "-o", str(out)]) == 0
    assert written(out) == FOR_EVERYBODY
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    assert main(["jigs", str(SCENE), "-o", str(out)]) == 0
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    capsys.readouterr()
    assert main(["jigs", str(SCENE), "-o", str(out), "--run", "block to radiator"]) == 2
    assert "found a scene, which has no tubes" in capsys.readouterr().err


def test_one_run_leaves_the_cradles_of_others(cradles_alone, tmp_path) -> None:
    out = tmp_path / "out"
    for run in ("run 1", "run 2"):
        assert main(["jigs", "any.json", "-o", str(out), "--run", run]) == 0
    assert {name for name in written(out) if name.startswith("cradle")} == {
        f"cradle-run-{number}-bends-1-2.stl" for number in (1, 2)
    }


def test_what_is_not_ours_stays(tmp_path, capsys) -> None:
    out = tmp_path / "out"
    out.mkdir()
    mine = out / "chamfer-stop.stl"
    mine.write_text("solid mine")
    assert main(["jigs", str(SCENE), "-o", str(out)]) == 2
    assert "chamfer-stop.stl stand there already" in capsys.readouterr().err
    assert [path.name for path in out.iterdir()] == ["chamfer-stop.stl"]
    assert main(["jigs", str(SCENE), "-o", str(out), "--force"]) == 0
    listed = json.loads((out / LIST_NAME).read_bytes())["files"]
    assert set(listed) == FOR_EVERYBODY


@pytest.mark.parametrize(
    ("option", "value", "wanted"),
    [
        ("--play", "-0.1 mm", "wanted 0 to 2 mm"),
        ("--play", "3 mm", "wanted 0 to 2 mm"),
        ("--bed", "50 mm", "wanted 100 to 1000 mm"),
        ("--bed", "200", "without a unit"),
    ],
)
def test_odd_lengths_are_refused(option, value, wanted, tmp_path, capsys) -> None:
    command = ["jigs", str(SCENE), "-o", str(tmp_path / "out"), f"{option}={value}"]
    assert main(command) == 2
    assert wanted in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
