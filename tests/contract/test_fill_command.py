"""What ``loopsolver fill`` prints and returns, and what ``check`` doubts of filling."""

from __future__ import annotations

import contextlib
import io
import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from loopsolver.cli.main import main
from loopsolver.hydraulics.filling import fill_plan
from loopsolver.lengths import MILLIMETRES
from loopsolver.plan import Plan
from loopsolver.report.filling import air_sentences, drain_sentences
from loopsolver.scene.doubts import doubts
from loopsolver.scene.reader import scene_from_text
from loopsolver.scene.water import Filling, OpenPlace
from loopsolver.workshop.tilt_pages import tilt_pages
from tests.commands import SCENES

SCENE = (SCENES / "robin.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A routed demonstration."""
    folder = tmp_path_factory.mktemp("fill")
    (folder / "robin.toml").write_text(SCENE, encoding="utf-8")
    path = folder / "robin.plan.json"
    assert main(["route", str(folder / "robin.toml"), "-o", str(path)]) == 0
    return path


@pytest.fixture(scope="module")
def told(plan: Path) -> dict[str, Any]:
    """What the command prints as JSON."""
    with contextlib.redirect_stdout(io.StringIO()) as out:
        assert main(["fill", str(plan), "--spare", "20", "--json"]) == 0
    found: dict[str, Any] = json.loads(out.getvalue())
    return found


def printed(capsys, *words: str) -> str:
    """What the command printed, in one line."""
    assert main(["fill", *words]) == 0
    return " ".join(capsys.readouterr().out.split())


def test_cautions_come_first_and_then_volumes_air_and_drain(plan, capsys) -> None:
    told = printed(capsys, str(plan))
    places = [
        told.index(words)
        for words in (
            "only the pump powered",
            "Never tilt a loop with an open port over the board",
            "the loop",
            "Mix ",
            "Filled by pump.fill, the machine as it is used:",
            "Level within 1°",
            "Wisner",
            "Nothing published covers inside diameters under",
            "The loop is lowest in radiator.",
            "Without a drain there is no answer",
        )
    ]
    assert places == sorted(places)


def test_json_adds_up(told) -> None:
    """Stated: 45, 190 and 230 mL; 62 g of water at 998.2 kg/m3 are 62.1 mL."""
    assert told["parts_ml"] == {
        "block": 45.0,
        "card": pytest.approx(62.11, abs=0.01),
        "radiator": 190.0,
        "pump": 230.0,
    }
    known = sum([*told["tubes_ml"].values(), *told["parts_ml"].values()])
    assert told["known_ml"] == pytest.approx(known + told["fittings_ml"])
    assert told["mix_ml"] == pytest.approx(1.2 * told["known_ml"])
    left = [step["left_ml"] for step in told["air"]]
    assert left == sorted(left, reverse=True)
    assert len(told["air"]) <= 4
    sides = {side for step in told["air"] for tilt in step["tilts"] for side in tilt}
    assert sides <= {"right", "away", "near", "down"}
    assert told["drain"] is None
    for step in told["air"]:
        assert step["left_ml"] == pytest.approx(
            sum(one["volume_ml"] for one in step["left"])
        )


def test_tubes_hold_their_length_times_their_bore(plan, told) -> None:
    """Pappus, from the lengths in the plan: 8.001 mm (0.315 in) inside."""
    for run in json.loads(plan.read_text())["runs"]:
        length = run["candidates"][run["chosen"] - 1]["length"]
        by_hand = 0.25 * math.pi * 8.001**2 * length / 1000.0
        assert told["tubes_ml"][run["name"]] == pytest.approx(by_hand, rel=1e-4)


def test_a_drain_in_the_radiator_s_lid_leaves_the_radiator_full(plan) -> None:
    """Its ports are in its lid, so its 190 mL stay.

    Upside down it is on top, and they run into block and pump, away from the drain.
    """
    read = Plan.read(plan)
    port = read.scene.port("radiator.out")
    drain = OpenPlace(name=port.name, position=port.position, direction=port.direction)
    filling = Filling(drain=drain, tilts=("up",))
    drained = replace(read, scene=replace(read.scene, filling=filling))
    of = fill_plan(drained)
    assert of.air == ()
    in_radiator = [one for one in of.drain[0].left if "radiator" in one.parts]
    assert sum(one.volume_ml for one in in_radiator) >= 189.0
    words = list(drain_sentences(of, drained.scene, lengths=MILLIMETRES))
    assert words[0] == "The loop is lowest in radiator."
    assert words[1].startswith("Drained by radiator.out, the machine as it is used: ")
    assert words[2] == "No tilts of the 2 ways it may stand and lie leave less."
    pages = tilt_pages(drained, of.draining, is_air=False)
    assert len(pypdfium2.PdfDocument(pages)) == len(of.draining) == 1


@pytest.mark.parametrize(
    ("name", "kept_ml"), [("side", 28.75), ("+x+y+z", 0.0), ("fill", 19.69)]
)
def test_a_vent_may_be_a_point(plan, name, kept_ml) -> None:
    """By hand: the store's 230 mL fill 4 in evenly, and a point 1/2 in under its lid
    keeps an eighth of it. A port there opens up to 4 mm higher, of 101.6 mm.
    """
    read = Plan.read(plan)
    text = SCENE.replace("pump.fill", f"pump.{name}").replace(
        "ports.fill =", "points.side = [2.4, 1.2, 3.5]\nports.fill ="
    )
    filling = scene_from_text(text, file="robin.toml").filling
    of = fill_plan(replace(read, scene=replace(read.scene, filling=filling)))
    in_pump = [one.volume_ml for one in of.air[0].left if "pump" in one.parts]
    assert sum(in_pump) == pytest.approx(kept_ml, abs=0.5)


def test_a_search_that_was_stopped_does_not_say_that_there_is_nothing_better(
    plan,
) -> None:
    read = Plan.read(plan)
    whole, cut_off = fill_plan(read), fill_plan(read, stopped=lambda: True)
    assert (whole.is_stopped, cut_off.is_stopped) == (False, True)
    assert len(cut_off.air) == 1
    words = " ".join(air_sentences(cut_off, read.scene, lengths=MILLIMETRES))
    assert "The search was stopped: other tilts of the 11 ways" in words
    assert "leave less" not in words.replace("may leave less", "")
    words = " ".join(air_sentences(whole, read.scene, lengths=MILLIMETRES))
    assert "the best found of the 11 ways" in words


@pytest.mark.parametrize("text", ["-1", "101", "ten", ""])
def test_a_spare_that_is_none_is_told(text, plan, capsys) -> None:
    assert main(["fill", str(plan), f"--spare={text}"]) == 2
    assert "per cent" in capsys.readouterr().err


def test_a_scene_in_place_of_a_plan_is_told(plan, capsys) -> None:
    assert main(["fill", str(plan.with_name("robin.toml"))]) == 2
    assert "route" in capsys.readouterr().err


def test_the_leak_test_takes_volume_and_limits_from_the_plan(
    plan, told, capsys
) -> None:
    """No part states a limit: 30 kPa unless asked for, and never above 50."""
    assert main(["leak-test", str(plan), "--json"]) == 0
    test = json.loads(capsys.readouterr().out)
    assert test["pressure_kpa"] == 30.0
    assert test["volume_ml"] == told["known_ml"]
    assert main(["leak-test", str(plan), "--pressure", "0.6 bar"]) == 2
    assert "water.limit" in capsys.readouterr().err


# ------------------------------------------------------------------------- doubts


def filling_doubts(text: str) -> list[str]:
    """The doubts about filling in a scene."""
    scene = scene_from_text(text, file="robin.toml")
    return [f"{one}" for one in doubts(scene) if one.kind == "filling"]


def test_the_demonstration_leaves_no_doubt() -> None:
    assert filling_doubts(SCENE) == []


def test_a_pump_above_its_tank_is_doubted() -> None:
    """With the vent in the radiator on the floor the pump stands 3 in above it."""
    (told,) = filling_doubts(
        SCENE.replace('vent = "pump.fill"', 'vent = "radiator.in"')
    )
    assert told.startswith(
        "pump: stands 3.00 in (76.2 mm) higher than the bottom of radiator"
    )
    assert "runs dry" in told


def test_a_part_with_both_ports_low_is_doubted() -> None:
    """The block's ports 0.5 in above its bottom: 2.3 in of its 2.8 are above them."""
    low = SCENE.replace("position = [1, 1.95, 1.4]", "position = [1, 1.95, 0.5]")
    low = low.replace("position = [1, 0.85, 1.4]", "position = [1, 0.85, 0.5]")
    (told,) = filling_doubts(low)
    assert told.startswith("block: all its ports are low: air in the 2.30 in")


def test_without_a_word_on_filling_nothing_is_doubted() -> None:
    low = SCENE.replace("position = [1, 1.95, 1.4]", "position = [1, 1.95, 0.5]")
    low = low.replace("position = [1, 0.85, 1.4]", "position = [1, 0.85, 0.5]")
    before, _, after = low.partition("[filling]")
    assert filling_doubts(f"{before}{after.partition('near')[2][2:]}") == []


# ------------------------------------------------------------------------ pictures


def test_pictures_show_every_lie_in_order(plan, told, tmp_path, capsys) -> None:
    """A page for the filled loop and for each lie, with what is left at each."""
    folder = tmp_path / "tilts"  # made where there is none
    printed(capsys, str(plan), "--pictures", str(folder))
    assert [path.name for path in folder.iterdir()] == ["air.pdf"]
    pages = list(pypdfium2.PdfDocument(folder / "air.pdf"))
    stages = told["bleeding"]
    assert len(pages) == len(stages)
    assert stages[0]["left_ml"] == pytest.approx(told["air"][0]["left_ml"])
    assert stages[-1]["left_ml"] == pytest.approx(told["air"][-1]["left_ml"])
    for page, stage in zip(pages, stages, strict=True):
        words = " ".join(page.get_textpage().get_text_bounded().split())
        left = stage["left_ml"]
        assert f"Now {left:.0f} mL of air left" in words or left < 10.0
        assert "cap the vent before each tilt" in words


def test_a_folder_that_cannot_be_made_is_told_before_tilts_are_sought(
    plan, tmp_path, capsys
) -> None:
    assert main(["fill", str(plan), "--pictures", str(tmp_path / "no" / "no")]) == 2
    assert "there is no folder" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_what_stands_in_the_folder_and_is_not_ours_stays(
    plan, tmp_path, capsys
) -> None:
    mine = tmp_path / "air.pdf"
    mine.write_bytes(b"mine")
    assert main(["fill", str(plan), "--pictures", str(tmp_path)]) == 2
    assert mine.read_bytes() == b"mine"
    assert "--force" in capsys.readouterr().err
