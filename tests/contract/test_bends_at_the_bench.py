"""What `bends` prints, read as a person reads it: from either end the same tube."""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from loopsolver.cli.main import main
from tests.commands import SCENES

RUNS = {"robin": "pump to block", "heron": "meter to block"}
ROUNDED = 0.06  # mm: half of the last printed digit, in each of a few figures


@dataclass(frozen=True)
class Printed:
    """What a person takes from the page: lengths in mm, angles in degrees."""

    first_end: str
    straights: list[float]
    angles: list[float]
    turns: list[float]  # clockwise above zero, as seen along the tube; one a bend


def read(text: str) -> Printed:
    """Return what the words and columns of one tube say."""
    per_unit = 25.4 if re.search(r"^\s+bend +in ", text, flags=re.M) else 1.0
    table = text[text.index("Bend table") : text.index("Marks along")]
    straights, angles, turns = [], [], []
    for row in re.finditer(
        r"^ +(\d+) +([\d.]+) +(-?[\d.]+) +([\d.]+) *(.*)$", table, flags=re.M
    ):
        number, straight, _, angle, way = row.groups()
        straights.append(per_unit * float(straight))
        angles.append(float(angle))
        said = re.search(
            rf"Bend {number}\s+points\s+([\d.]+)\s+degrees\s+(\w+)\s+of", table
        )
        if said:
            turns.append(float(said[1]) * (1 if said[2] == "clockwise" else -1))
        else:
            turns.append(180.0 if way.startswith("opposite") else 0.0)
    closing = re.search(r"Closing straight: ([\d.]+)", table)
    seen = re.search(r"seen\s+from\s+the\s+first\s+end\s+\((.*?)\)", table)
    assert closing is not None
    assert seen is not None
    straights.append(per_unit * float(closing[1]))
    return Printed(seen[1], straights, angles, turns)


def laid(tube: Printed, radius: float) -> np.ndarray:
    """Return the vertices of a tube that is bent as it was read.

    Travelling along +y with the first inside straight up; clockwise goes from up to
    the right hand, which is travel x up.
    """
    travel, inside = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
    outs = [radius * math.tan(math.radians(angle) / 2.0) for angle in tube.angles]
    at = np.zeros(3)
    points = [at]
    for n, (angle, turn) in enumerate(zip(tube.angles, tube.turns, strict=True)):
        right = np.cross(travel, inside)
        clock = math.radians(turn)
        inside = inside * math.cos(clock) + right * math.sin(clock)
        at = at + travel * ((outs[n - 1] if n else 0.0) + tube.straights[n] + outs[n])
        points.append(at)
        bend = math.radians(angle)
        travel, inside = (
            travel * math.cos(bend) + inside * math.sin(bend),
            inside * math.cos(bend) - travel * math.sin(bend),
        )
    points.append(at + travel * (outs[-1] + tube.straights[-1]))
    return np.array(points)


def furthest_apart(one: np.ndarray, other: np.ndarray) -> float:
    """Return by how much points miss others after the best move, mirroring left out.

    W. Kabsch, Acta Crystallographica A 32 (1976) 922.
    """
    a, b = one - one.mean(axis=0), other - other.mean(axis=0)
    left, _, right = np.linalg.svd(a.T @ b)
    flip = np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))])
    return float(np.abs(a @ left @ flip @ right - b).max())


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("plans")
    made = {}
    for scene, run in RUNS.items():
        made[scene] = folder / f"{scene}.plan.json"
        route = ["route", str(SCENES / f"{scene}.toml"), "--run", run]
        assert main([*route, "-o", str(made[scene])]) == 0
    return made


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    capsys.readouterr()
    assert main(["bends", *arguments]) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("scene", RUNS)
def test_read_from_either_end_it_is_the_tube_of_the_plan(
    scene: str, plans: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    plan = json.loads(plans[scene].read_text(encoding="utf-8"))
    (run,) = plan["runs"]
    candidate = run["candidates"][run["chosen"] - 1]
    wanted = np.array(candidate["vertices"])
    for options, vertices, port in (
        ((), wanted, run["from"]),
        (("--other-end",), wanted[::-1], run["to"]),
    ):
        tube = read(printed(capsys, str(plans[scene]), *options))
        assert tube.first_end == port
        found = laid(tube, candidate["bend_radius"])
        assert furthest_apart(found, vertices) < ROUNDED
        assert furthest_apart(found * (1.0, 1.0, -1.0), vertices) > 1.0


@pytest.mark.parametrize("scene", RUNS)
def test_marks_from_the_other_end_are_the_same_places(
    scene: str, plans: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """What starts at x from one end of the blank ends at the blank less x."""
    plan = str(plans[scene])
    (one,) = json.loads(printed(capsys, plan, "--json"))["runs"]
    (other,) = json.loads(printed(capsys, plan, "--json", "--other-end"))["runs"]
    assert (one["other_end"], other["other_end"]) == (False, True)
    assert (other["from"], other["to"]) == (one["to"], one["from"])
    assert other["blank"] == one["blank"]
    pairs = [("start", "end"), ("centre", "centre"), ("end", "start")]
    if scene == "heron":
        pairs += [("heated_from", "heated_to"), ("heated_to", "heated_from")]
    for here, there in zip(one["marks"], reversed(other["marks"]), strict=True):
        for name, opposite in pairs:
            assert here[name] + there[opposite] == pytest.approx(one["blank"], abs=2e-6)


def test_who_reads_from_the_other_end_is_told_that_the_sheets_do_not(
    plans: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    words = " ".join(printed(capsys, str(plans["heron"]), "--other-end").split())
    assert "the first end is the one at block.in" in words
    assert "The sheets count from the end at meter.out" in words
    assert "sheets" not in printed(capsys, str(plans["heron"]))


def test_copper_is_bent_cold_and_says_how_the_bender_is_set(
    plans: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """The marks of copper bound no heat; the clip's side goes with the first end."""
    copper = printed(capsys, str(plans["robin"]))
    assert "heat from" not in copper
    words = " ".join(copper.split())
    assert "the clip holds the tube on the side of its first end (pump.out)" in words
    assert "the start mark meets the bender's zero" in words
    back = " ".join(printed(capsys, str(plans["robin"]), "--other-end").split())
    assert "on the side of its first end (block.in)" in back
    (run,) = json.loads(printed(capsys, str(plans["robin"]), "--json"))["runs"]
    assert {"bend", "start", "centre", "end"} == set(run["marks"][0])
    acrylic = printed(capsys, str(plans["heron"]))
    assert "heat from" in acrylic
    assert "bender" not in acrylic


def test_a_doubt_is_told_wherever_the_candidate_is_shown(
    plans: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """17 mm before block.in: 12 mm are gripped and 14 mm get hot, so 9 mm are both."""
    plan = str(plans["heron"])
    says = "heat reaches what a fitting grips: 9.0 mm at block.in"
    assert f"{says}; shade the tube there" in " ".join(printed(capsys, plan).split())
    assert main(["compare", plan]) == 0
    assert says in " ".join(capsys.readouterr().out.split())
    assert main(["compare", plan, "--json"]) == 0
    (compared,) = json.loads(capsys.readouterr().out)["runs"]
    (run,) = json.loads(printed(capsys, plan, "--json"))["runs"]
    wanted = {"kind": "heat in fitting", "end": 1, "bend": 3, "length": 9.0}
    assert run["doubts"] == compared["candidates"][0]["doubts"] == [wanted]
    (back,) = json.loads(printed(capsys, plan, "--json", "--other-end"))["runs"]
    assert back["doubts"] == [{**wanted, "end": 0, "bend": 1}]
