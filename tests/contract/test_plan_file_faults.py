"""A plan file that is not what it says is refused: file, key, found, wanted."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from loopsolver.errors import PlanError
from loopsolver.plan import Plan

SCENE = """\
format = 1

[case]
inner = [300, 300, 300]

[tube]
material = "acrylic"
outer_diameter = 14
inner_diameter = 10
stock_length = 500

[fittings.collar]
height = 20
depth = 12
diameter = 22
straight_beyond = 5

[components.pump]
position = [50, 200, 50]
[components.pump.ports.out]
position = [20, 0, 20]
direction = "-y"

[components.card]
position = [200, 40, 50]
[components.card.ports.in]
position = [0, 20, 20]
direction = "-x"

[[runs]]
name = "pump to card"
from = "pump.out"
to = "card.in"
"""

# Legs of 60, 90 and 140 mm and two bends of 90 degrees round 28 mm: two quarter arcs of
# 43.982297 mm and straights of 32, 34 and 112 mm.
GOOD: dict[str, Any] = {
    "format": 1,
    "loopsolver": "0.1.0",
    "scene": "invented.toml",
    "scene_sha256": "",
    "units": "mm",
    "tube": {
        "material": "acrylic",
        "outer_diameter": 14,
        "inner_diameter": 10,
        "stock_length": 500,
    },
    "clearance": 3,
    "runs": [
        {
            "name": "pump to card",
            "from": "pump.out",
            "to": "card.in",
            "chosen": 1,
            "candidates": [
                {
                    "rank": 1,
                    "bends": 2,
                    "planes": 1,
                    "length": 265.964594,
                    "blank": 325.964594,
                    "trim_allowance": 30,
                    "gap": 6.2,
                    "nearest": {"name": "tank", "at": [90, -100, 0]},
                    "bend_radius": 28.0,
                    "vertices": [[0, 0, 0], [0, -60, 0], [90, -60, 0], [90, -200, 0]],
                    "bend_table": [
                        {"straight": 32, "rotation": 0, "angle": 90},
                        {"straight": 34, "rotation": 180, "angle": 90},
                        {"straight": 112},
                    ],
                }
            ],
        }
    ],
}

Change = Callable[[dict[str, Any]], None]


def setting(value: Any, *keys: Any) -> Change:
    """Return what puts a value at a place of the file."""

    def change(content: Any) -> None:
        for key in keys[:-1]:
            content = content[key]
        content[keys[-1]] = value

    return change


def dropping(*keys: Any) -> Change:
    """Return what takes a key out of the file."""

    def change(content: Any) -> None:
        for key in keys[:-1]:
            content = content[key]
        del content[keys[-1]]

    return change


RUN = ("runs", 0)
CANDIDATE = (*RUN, "candidates", 0)
HERE = "runs[1].candidates[1]"

FAULTS: dict[str, tuple[Change, str]] = {
    "units": (setting("in", "units"), "units: found \"in\"; wanted 'mm'"),
    "format 0": (setting(0, "format"), "format: found 0; wanted 1"),
    "format of later": (setting(2, "format"), "format: found 2, of a newer loopsolver"),
    "no units": (dropping("units"), "units: found nothing; wanted 'mm'"),
    "no runs": (dropping("runs"), "runs: found nothing; wanted the runs"),
    "runs no list": (setting("x", "runs"), 'runs: found "x"; wanted the runs'),
    "run no object": (setting([3], "runs"), "runs[1]: found 3; wanted the runs"),
    "length as text": (
        setting("266 mm", *CANDIDATE, "length"),
        f'{HERE}.length: found "266 mm"; wanted the developed length [mm]',
    ),
    "letters that move the line": (
        setting("mm\x85\n", "units"),
        "units: found \"mm\\x85\\n\"; wanted 'mm'",
    ),
    "length of bool": (
        setting(True, *CANDIDATE, "length"),  # noqa: FBT003
        f"{HERE}.length: found true; wanted the developed length [mm]",
    ),
    "bends as float": (
        setting(2.5, *CANDIDATE, "bends"),
        f"{HERE}.bends: found 2.5; wanted the number of bends",
    ),
    "no nearest name": (
        dropping(*CANDIDATE, "nearest", "name"),
        f"{HERE}.nearest.name: found nothing; wanted the name of the nearest thing",
    ),
    "not a number": (
        setting(float("nan"), *CANDIDATE, "gap"),
        f"{HERE}.gap: found NaN; wanted the least gap",
    ),
    "endless": (
        setting(float("inf"), *CANDIDATE, "vertices", 1, 2),
        f"{HERE}.vertices[2][3]: found Infinity; wanted tube end, bend vertices",
    ),
    "two coordinates": (
        setting([1, 2], *CANDIDATE, "vertices", 1),
        f"{HERE}.vertices[2][3]: found nothing; wanted tube end, bend vertices",
    ),
    "one vertex": (
        setting([[0, 0, 0]], *CANDIDATE, "vertices"),
        f"{HERE}.vertices: found [[0, 0, 0]]; wanted tube end, bend vertices",
    ),
    "no radius": (
        setting(0, *CANDIDATE, "bend_radius"),
        f"{HERE}.bend_radius: found 0; wanted the centre-line radius of every bend",
    ),
    "radius too large for its legs": (
        setting(70, *CANDIDATE, "bend_radius"),
        f"{HERE}.vertices: found a leg 50 mm too short for its bends; wanted",
    ),
    "vertex twice": (
        setting([0, 0, 0], *CANDIDATE, "vertices", 1),
        f"{HERE}.vertices: found what no tube can follow",
    ),
    "length edited": (
        setting(412.7, *CANDIDATE, "length"),
        f"{HERE}.length: found 412.7; wanted 265.964594, as the vertices give",
    ),
    "blank edited": (
        setting(300, *CANDIDATE, "blank"),
        f"{HERE}.blank: found 300.0; wanted 325.964594, as the vertices give",
    ),
    "bends edited": (
        setting(3, *CANDIDATE, "bends"),
        f"{HERE}.bends: found 3; wanted 2, as the vertices give",
    ),
    "planes edited": (
        setting(2, *CANDIDATE, "planes"),
        f"{HERE}.planes: found 2; wanted 1, as the vertices give",
    ),
    "angle edited": (
        setting(89, *CANDIDATE, "bend_table", 1, "angle"),
        f"{HERE}.bend_table[2].angle: found 89.0; wanted 90.0, as the vertices give",
    ),
    "rotation edited": (
        setting(0, *CANDIDATE, "bend_table", 1, "rotation"),
        f"{HERE}.bend_table[2].rotation: found 0.0; wanted 180.0, as the vertices",
    ),
    "angle missing": (
        dropping(*CANDIDATE, "bend_table", 0, "angle"),
        f"{HERE}.bend_table[1].angle: found nothing; wanted 90.0, as the vertices",
    ),
    "closing row with an angle": (
        setting(90, *CANDIDATE, "bend_table", 2, "angle"),
        f"{HERE}.bend_table[3].angle: found 90.0; wanted nothing",
    ),
    "row missing": (
        dropping(*CANDIDATE, "bend_table", 0),
        f"{HERE}.bend_table: found 2 rows; wanted 3",
    ),
    "rank edited": (setting(2, *CANDIDATE, "rank"), f"{HERE}.rank: found 2; wanted 1"),
    "chosen too high": (
        setting(2, *RUN, "chosen"),
        "runs[1].chosen: found 2; wanted the rank of a candidate, 1 to 1",
    ),
    "chosen null": (
        setting(None, *RUN, "chosen"),
        "runs[1].chosen: found null; wanted the rank of a candidate, 1 to 1",
    ),
    "chosen of none": (
        setting([], *RUN, "candidates"),
        "runs[1].chosen: found 1; wanted null, for a run without candidates",
    ),
    "run of another scene": (
        setting("tank to card", *RUN, "name"),
        "runs[1].name: found 'tank to card'; wanted a run of the scene: 'pump to card'",
    ),
    "port of another run": (
        setting("card.out", *RUN, "from"),
        "runs[1].from: found 'card.out'; wanted pump.out, as in the scene",
    ),
}


def written(folder: Path, change: Change) -> Path:
    scene = folder / "invented.toml"
    scene.write_text(SCENE, encoding="utf-8")
    content = copy.deepcopy(GOOD)
    content["scene_sha256"] = hashlib.sha256(scene.read_bytes()).hexdigest()
    change(content)
    path = folder / "bad.plan.json"
    path.write_text(json.dumps(content), encoding="utf-8")
    return path


def test_the_good_file_is_read(tmp_path: Path) -> None:
    plan = Plan.read(written(tmp_path, lambda _: None))
    (run,) = plan.runs
    assert run.chosen_candidate is not None
    assert run.chosen_candidate.gap.name == "tank"


def test_keys_of_later_versions_are_left_alone(tmp_path: Path) -> None:
    def grown(content: dict[str, Any]) -> None:
        content["later"] = {"x": 1}
        content["runs"][0]["later"] = 2
        content["runs"][0]["candidates"][0]["elbows"] = 0

    assert len(Plan.read(written(tmp_path, grown)).runs) == 1


def test_a_rotation_of_minus_a_half_turn_is_a_half_turn(tmp_path: Path) -> None:
    change = setting(-180, *CANDIDATE, "bend_table", 1, "rotation")
    assert len(Plan.read(written(tmp_path, change)).runs) == 1


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_told_with_file_key_found_and_wanted(
    name: str, tmp_path: Path
) -> None:
    change, told = FAULTS[name]
    path = written(tmp_path, change)
    with pytest.raises(PlanError) as caught:
        Plan.read(path)
    assert f"{path}: {told}" in str(caught.value)


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    def several(content: dict[str, Any]) -> None:
        setting(1.0, *CANDIDATE, "length")(content)
        setting(9, *RUN, "chosen")(content)

    with pytest.raises(PlanError) as caught:
        Plan.read(written(tmp_path, several))
    assert len(str(caught.value).splitlines()) == 2


def test_a_run_twice_is_told(tmp_path: Path) -> None:
    def twice(content: dict[str, Any]) -> None:
        content["runs"].append(copy.deepcopy(content["runs"][0]))

    with pytest.raises(
        PlanError, match=r"runs\[2\].name: found 'pump to card'; wanted"
    ):
        Plan.read(written(tmp_path, twice))


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "found what is not JSON, at column 1"),
        (b"format = 1\n", "found what is not JSON, at column 1"),
        (b'{"format": 1,\n "loopsolver"', ":2: found what is not JSON, at column 14"),
        (b"\xff\xfe\x00", "found bytes that are not UTF-8 text"),
        (b"[]", "found JSON that is no plan"),
        (b'{"some": "other"}', "found JSON that is no plan"),
        (b"[" * 100_000, "nested too deep"),
        (b'{"loopsolver": "9", "format": 9}', "of a newer loopsolver (9)"),
    ],
)
def test_what_is_no_plan_is_told(content: bytes, told: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.plan.json"
    path.write_bytes(content)
    with pytest.raises(PlanError) as caught:
        Plan.read(path)
    assert str(path) in str(caught.value)
    assert told in str(caught.value)


def test_a_missing_plan_and_a_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(PlanError, match="there is no such file; wanted a plan"):
        Plan.read(tmp_path / "none.plan.json")
    with pytest.raises(PlanError, match="could not be read: Is a directory"):
        Plan.read(tmp_path)
