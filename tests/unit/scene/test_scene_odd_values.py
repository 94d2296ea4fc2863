"""Any value at any key: a scene or a SceneError that names the key, never a crash."""

from __future__ import annotations

import math

import pytest

from loopsolver.errors import SceneError
from loopsolver.scene.doubts import doubts
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from tests.contract.broken import SOUND

MEASURED = """\
[components.block.place]
point = "in"
from = "tank.in"
offset = [10, -60, "?"]
[components.block.points]
hole = [1, 2, 3]
[[components.block.bodies]]
box = [30, 40, 50]
corner = [0, 0, 5]
[[components.block.bodies]]
cylinder = { diameter = 20, height = 30 }
base = [15, 20, 55]
axis = "+z"
[components.block.ports.in]
position = [30, 20, 30]
direction = "+x"
flow = "in"
[components.shelf]
position = ["8 from -x", "35 from +y", 150]
[[components.shelf.bodies]]
box = [100, 50, 2]
[spread]
reading = 0.7
square = 1
[[readings]]
from = "wall -z"
to = "block.-z"
along = "+z"
value = [90, 91]
spread = 1
zero = 0.5
[[readings]]
from = "datum"
to = "block.+x-y+z"
value = 200
"""
"""What was measured, a key a line."""

LINES = (SOUND + MEASURED).split("\n")
VALUE_LINES = [
    number for number, line in enumerate(LINES) if " = " in line and line[0] != "#"
]

ODD = [
    "nan",
    "-inf",
    "1e308",
    "-1e308",
    "5e-324",
    "-0.0",
    "0",
    "1",
    "-1",
    f"0x{'f' * 600}",
    "true",
    '""',
    '" "',
    f'"{"x" * 3000}"',
    '"\\u0000\\n\\u202e"',
    '"any"',
    '"1/0 in"',
    '"99999999999999999999 in"',
    "[]",
    "[[]]",
    "[[[1, 2, 3]]]",
    "[1, 2, 3]",
    "[1e308, 1e308, 1e308]",
    "[5e-324, 0, 0]",
    "[nan, 1, 1]",
    '["a", 1, {}]',
    f"[{'1, ' * 1000}]",
    "{}",
    '{ "" = { "a.b" = [{}] } }',
    "{ diameter = 1, height = 1e-300 }",
    "1979-05-27T07:32:00Z",
    "07:32:00",
]


def read(text: str) -> Scene | SceneError:
    try:
        return scene_from_text(text, file="odd.toml")
    except SceneError as error:
        return error


@pytest.mark.parametrize("number", VALUE_LINES)
def test_any_value_at_a_key_is_read_or_refused(number):
    key = LINES[number].split(" = ")[0].strip()
    for odd in ODD:
        text = "\n".join([*LINES[:number], f"{key} = {odd}", *LINES[number + 1 :]])
        result = read(text)
        if isinstance(result, SceneError):
            # the odd value's own line, or that of one which contradicts it
            assert all(fault.line for fault in result.faults)
            assert all(fault.key_path for fault in result.faults)
            assert len(str(result)) < 4000
        else:
            assert all(math.isfinite(side) for side in result.case_inner or ())
            for doubt in doubts(result):
                assert "nan" not in doubt.message
                assert "inf " not in doubt.message


def test_most_odd_values_are_refused_on_their_own_line():
    refused = 0
    for number in VALUE_LINES:
        key = LINES[number].split(" = ")[0].strip()
        text = "\n".join([*LINES[:number], f"{key} = nan", *LINES[number + 1 :]])
        result = read(text)
        assert isinstance(result, SceneError)
        refused += any(fault.line == number + 1 for fault in result.faults)
    assert refused == len(VALUE_LINES)


@pytest.mark.parametrize("number", range(len(LINES)))
def test_a_file_cut_short_is_read_or_refused(number):
    text = "\n".join(LINES[:number])
    for cut in (text, text[:-3]):
        result = read(cut)
        assert isinstance(result, Scene) or "odd.toml" in str(result)
