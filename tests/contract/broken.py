"""Scenes that are broken in one thing, and what they are held to."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import pytest

from loopsolver.cli.main import main
from loopsolver.errors import SceneError
from loopsolver.scene.reader import scene_from_text

SOUND = """\
format = 1
title = "Siskin: two parts and a tube"
units = "mm"
[case]
inner = [200, 300, 250]
up = "+z"
[tube]
material = "petg"
outer_diameter = 14
inner_diameter = 10
bend_radius = 28
stock_length = 500
trim_allowance = 30
[rules]
clearance = 3
straight_between_bends = 15
bend_angles = [90]
max_bends = 5
candidates = 6
[fittings.collar]
height = 20
depth = 12
diameter = 22
straight_beyond = 5
[fittings.elbow]
height = 18
depth = 12
diameter = 22
straight_beyond = 5
turn = 90
reach = 20
[components.pump]
position = [20, 20, 0]
rotation = [0, 0, 90]
[[components.pump.bodies]]
box = [60, 50, 40]
centre = [30, -25, 20]
[components.pump.ports.out]
position = [60, -25, 20]
direction = "+x"
fitting = "collar"
flow = "out"
[components.tank]
position = [100, 200, 0]
[[components.tank.bodies]]
cylinder = { diameter = 60, height = 150 }
centre = [30, 30, 75]
axis = "+z"
[components.tank.ports.in]
position = [30, 30, 150]
direction = [0, 0, 2]
fitting = ["collar", "elbow"]
[components.fan]
position = [0, 275, 60]
[[components.fan.bodies]]
box = [120, 25, 120]
centre = [60, 12.5, 60]
[[keep_outs]]
name = "side panel swing"
box = [20, 300, 250]
centre = [190, 150, 125]
[[runs]]
name = "pump to tank"
from = "pump.out"
to = "tank.in"
max_bends = 4
"""


@dataclass(frozen=True)
class Broken:
    """A broken scene: `old` in the sound text becomes `new`; the fault it must give.

    `at` is a text on the line that the fault has to name; '' where no line can be.
    """

    old: str
    new: str
    key: str
    at: str
    says: tuple[str, ...]

    @property
    def text(self) -> str:
        assert SOUND.count(self.old) == 1, self.old
        return SOUND.replace(self.old, self.new)

    @property
    def line(self) -> int | None:
        if not self.at:
            return None
        lines = [
            number
            for number, line in enumerate(self.text.split("\n"), start=1)
            if self.at in line
        ]
        assert len(lines) == 1, (self.at, lines)
        return lines[0]


def faults_of(text: str) -> SceneError:
    with pytest.raises(SceneError) as caught:
        scene_from_text(text, file="build/siskin.toml")
    return caught.value


def assert_told(broken: Broken) -> None:
    """Hold the message to naming fault, key and line, and no more."""
    error = faults_of(broken.text)
    assert [fault.key_path for fault in error.faults] == [broken.key]
    (fault,) = error.faults
    place = "build/siskin.toml"
    assert fault.line == broken.line
    if broken.at:
        place += f":{broken.line}"
    assert str(error).startswith(f"{place}: {broken.key}")
    for words in broken.says:
        assert words in str(error)
    assert not re.search(r"pydantic|Traceback|Error\(|input_value", str(error))


def assert_refused_whole(
    text: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Hold the commands to refusing a scene, in the working folder, and writing nothing."""
    Path("siskin.toml").write_text(text, encoding="utf-8")
    assert_refused(["route", "siskin.toml", "-o", "plan.json"], capsys)
    assert_refused(["check", "siskin.toml"], capsys)
    assert [path.name for path in folder.iterdir()] == ["siskin.toml"]


def assert_refused(argv: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """Run the command line, hold it to refusing, and return its message."""
    assert main(argv) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert argv[1] in said.err
    assert "Traceback" not in said.err
    return said.err
