"""Who measures in inches reads inches: no length stands in millimetres alone.

The cases are the demonstration scene in inches, with slips and tight rules put into it;
the other scenes turned into inches, altered at random; a plan with every fault of its own.
"""

from __future__ import annotations

import random
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from loopsolver.cli.main import main
from loopsolver.errors import PlanError
from loopsolver.plan import Plan
from loopsolver.scene.schema import SceneFile
from loopsolver.scene.starter import STARTER
from tests.contract.broken import SOUND
from tests.contract.inches import alone, in_inches
from tests.contract.test_plan_file_faults import FAULTS
from tests.contract.test_scene_mutants import CHANGES
from tests.contract.true_plan import CANDIDATE, SCENE, Change, setting, written
from tests.full import IS_FULL, few_or_all

SCENES = Path(__file__).parents[2] / "scenes"
ROBIN, WREN, HERON = (
    (SCENES / f"{name}.toml").read_text("utf-8") for name in ("robin", "wren", "heron")
)


def changed(*changes: tuple[str, str]) -> str:
    text = ROBIN
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


CLEARANCE = 'clearance = "1/8 in"'
RADIUS = 'bend_radius = "3/4 in"'
STOCK = "stock_length = 24"
TRIM = 'trim_allowance = "1 1/4 in"'


def test_millimetres_alone_are_found() -> None:
    assert alone("a gap of 3.0 mm") == ["of 3.0 mm"]
    assert alone("a gap of\n0.118 in (3.0 mm) and 2 mm more") == ["and 2 mm"]
    assert alone('0.118 in (3.0 mm); found "3 mm" (0.11811 in, 3 mm)') == []


@pytest.mark.parametrize(
    ("change", "words"),
    # 25.4 mm an inch: 20, 3000 and 100 mm are 0.7874, 118.11 and 3.937 in.
    [
        (
            ("inner = [7,", "inner = [0.5,"),
            "found 0.5 in (12.7 mm); wanted a length from 0.7874 in (20 mm) to "
            "118.11 in (3000 mm)",
        ),
        (
            (CLEARANCE, 'clearance = "127 mm"'),
            'found "127 mm" (5 in, 127 mm); wanted a length from 0 in (0 mm) to '
            "3.937 in (100 mm)",
        ),
        (
            ("inner = [7,", "inner = nan # [7,"),
            "found nan; wanted the free inside along x, y, z: three lengths",
        ),
        (
            ("outer_diameter = ", "outer_diameter = 0 # "),
            "found 0 in (0 mm); wanted a length above 0 and at most 3.937 in (100 mm)",
        ),
        (
            (RADIUS, "bend_radius = 0.1"),
            "found 0.1 in (2.54 mm); wanted a bend radius above half the outer "
            "diameter, 0.1875 in (4.7625 mm), or",
        ),
        (
            ("inner_diameter = 0.315", "inner_diameter = 0.4"),
            "found 0.4 in (10.16 mm); wanted less than the outer diameter, 0.375 in "
            "(9.525 mm)",
        ),
        (
            (STOCK, "stock_length = 2"),
            "found 2 in (50.8 mm); wanted more than the trim allowance at both ends "
            "together, 2.5 in (63.5 mm)",
        ),
        (
            ("depth = 0.4", "depth = 0.8"),
            "found 0.8 in (20.32 mm); wanted at most the height, 0.7 in (17.78 mm), or",
        ),
        (
            ("depth = 0.4", "depth = 0.4\nreach = 1"),
            "found 1 in (25.4 mm); wanted turn = 90",
        ),
        (
            ("diameter = 0.7", "diameter = 0.3"),
            "found 0.3 in (7.62 mm); wanted at least the tube's outer diameter, 0.375 in "
            "(9.525 mm)",
        ),
    ],
)
def test_what_is_wrong_in_the_file(
    here: Path,
    capsys: pytest.CaptureFixture[str],
    change: tuple[str, str],
    words: str,
) -> None:
    here.joinpath("robin.toml").write_text(changed(change), "utf-8")
    assert main(["check", "robin.toml"]) == 2
    told = capsys.readouterr().err
    assert words in told
    assert alone(told) == []


@pytest.mark.parametrize(
    "changes",
    [
        (),
        ((CLEARANCE, 'clearance = "1/8 mm"'), ("inner = [7,", "inner = [70,")),
        ((RADIUS, "bend_radius = [0.5, 9]"), (STOCK, "stock_length = 240")),
        (
            ("position = [0.45, 0.1, 2.45]", "position = [0.3, 7.8, 3]"),
            ("position = [4.95, 4.8, 1.05]", "position = [4.9, [4.5, 4.8], 1.3]"),
        ),
    ],
)
def test_what_is_doubtful(
    here: Path, capsys: pytest.CaptureFixture[str], changes: tuple[tuple[str, str], ...]
) -> None:
    here.joinpath("robin.toml").write_text(changed(*changes), "utf-8")
    assert main(["check", "robin.toml"]) == 0
    told = capsys.readouterr()
    assert " in" in told.out
    assert alone(told.out) == []


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ((), "Cut a blank of"),
        (((CLEARANCE, "clearance = 0.6"),), "too near"),
        (((STOCK, "stock_length = 7"),), "blank"),
        (((TRIM, "trim_allowance = 0.3\ngrip = 1.5"),), "the grip of"),
    ],
)
def test_routes_and_why_there_are_none(
    here: Path,
    capsys: pytest.CaptureFixture[str],
    changes: tuple[tuple[str, str], ...],
    words: str,
) -> None:
    here.joinpath("robin.toml").write_text(changed(*changes), "utf-8")
    assert main(["route", "robin.toml", "--run", "card to radiator"]) in {0, 3}
    for command in (["compare"], ["bends"], ["sheets", "-o", "sheets"]):
        assert main([*command, "robin.plan.json"]) in {0, 3}
    told = capsys.readouterr()
    assert words in " ".join(told.out.split())
    assert alone(told.out) == []
    assert alone(told.err) == []


@pytest.mark.parametrize("name", few_or_all(["wren"], ["wren", "heron"]))
def test_the_other_demonstrations_in_inches(
    here: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    text = (SCENES / f"{name}.toml").read_text("utf-8")
    here.joinpath(f"{name}.toml").write_text(in_inches(text), "utf-8")
    plan = f"{name}.plan.json"
    for command in (["check", f"{name}.toml"], ["route", f"{name}.toml"]):
        assert main(command) == 0
    kerf = ["--kerf", "1/8 in", "--spares", "1"]
    looks = ([name, plan] for name in ("measure", "compare", "bends"))
    for command in (*looks, ["sheets", plan, "-o", "s"]):
        assert main([*command, *(kerf if "sheets" in command else ())]) == 0
    told = capsys.readouterr()
    assert " in" in told.out
    assert alone(told.out) == []
    assert alone(told.err) == []


@pytest.mark.parametrize("seed", range(1000 if IS_FULL else 10))
def test_scenes_altered_at_random(
    here: Path, capsys: pytest.CaptureFixture[str], seed: int
) -> None:
    """Ten a seed; one whose own unit is gone is not read in inches."""
    chance = random.Random(seed)
    texts = [ROBIN, *map(in_inches, (WREN, HERON, STARTER, SOUND))]
    for _ in range(10):
        lines = chance.choice(texts).splitlines()
        for _ in range(chance.choice((1, 1, 2, 3))):
            if lines:
                chance.choice(CHANGES)(lines, chance)
        text = "\n".join(lines)
        if _unit_of(text) != "in":
            continue
        here.joinpath("s.toml").write_text(text, "utf-8")
        main(["check", "s.toml"])
        told = capsys.readouterr()
        assert alone(told.out + told.err) == [], text


def _unit_of(text: str) -> object:
    try:
        return tomllib.loads(text).get("units")
    except (tomllib.TOMLDecodeError, RecursionError):
        return "in"


LENGTH = re.compile(
    r"\.(?:length|blank|trim_allowance|gap|bend_radius|straight|at|mouth|clearance|"
    r"\w+_diameter|stock_length|vertices\[\d\]): found [-[\d]"
)
"""What tells of a length that stands in a plan file."""


@pytest.mark.parametrize("name", FAULTS)
def test_a_plan_with_a_fault(name: str, tmp_path: Path) -> None:
    """A fault of the file's shape is told before its scene is read: "[mm]" as wanted."""
    change, _ = FAULTS[name]
    assert Plan.read(written(tmp_path, scene=in_inches(SCENE))).runs
    with pytest.raises(PlanError) as caught:
        Plan.read(written(tmp_path, change, scene=in_inches(SCENE)))
    for line in str(caught.value).splitlines():
        assert alone(line) == []
        if LENGTH.search(line) and "[mm]" not in line:
            assert " in (" in line


@pytest.mark.parametrize(
    ("change", "words"),
    # 25.4 mm an inch: 412.7 mm are 16.248 in, 265.964594 mm 10.471 in, 28 mm 1.1024 in.
    [
        (
            setting(412.7, *CANDIDATE, "length"),
            "length: found 16.248 in (412.7 mm); wanted 10.471 in (265.964594 mm), as the",
        ),
        (
            setting(70, *CANDIDATE, "bend_radius"),
            "found a leg 1.9685 in (50 mm) too short for its bends; wanted legs that leave "
            "room for bends of radius 2.7559 in (70 mm)",
        ),
        (
            setting([70, 251, 70], *CANDIDATE, "ends", 0, "mouth"),
            "found [2.7559, 9.8819, 2.7559] in ([70, 251, 70] mm); wanted [2.7559, 9.8425, "
            "2.7559] in ([70, 250, 70] mm), as",
        ),
        (
            FAULTS["straight too short for its collar"][0],
            "found straight 1 (between the tube's start and bend 1) of 0.55118 in (14 mm), "
            "0.11811 in (3 mm) too short; wanted at least 0.66929 in (17 mm), as",
        ),
    ],
)
def test_what_is_wrong_in_a_plan(change: Change, words: str, tmp_path: Path) -> None:
    with pytest.raises(PlanError) as caught:
        Plan.read(written(tmp_path, change, scene=in_inches(SCENE)))
    assert words in str(caught.value)


@pytest.mark.parametrize("kerf", ["-1 mm", "-1/8 in", "1", "1 yard", "", "1,5 mm"])
def test_a_saw_cut_that_cannot_be(
    here: Path, capsys: pytest.CaptureFixture[str], kerf: str
) -> None:
    assert main(["sheets", "robin.plan.json", "-o", "s", f"--kerf={kerf}"]) == 2
    told = capsys.readouterr().err
    assert "--kerf" in told
    assert alone(told) == []


def test_defaults_in_the_schema_carry_their_unit() -> None:
    """A plain number would be read in the unit of the scene."""
    tables: dict[str, Any] = SceneFile.model_json_schema(by_alias=True)["$defs"]
    defaults = {
        f"{table}.{key}": field["default"]
        for table, shape in tables.items()
        for key, field in shape["properties"].items()
        if field.get("type") == ["number", "string"]
        and field.get("default") is not None
    }
    # What the house takes where nothing is written; common practice, no source.
    assert defaults == {
        "ReadingTable.zero": "0 mm",
        "SpreadTable.reading": "0.5 mm",
        "SpreadTable.straight": "1 mm",
        "SpreadTable.bore": "0.1 mm",
        "AcceptsTable.sideways": "0.5 mm",
        "RulesTable.clearance": "3 mm",
        "RulesTable.straight_between_bends": "15 mm",
        "TubeTable.stock_length": "500 mm",
    }
