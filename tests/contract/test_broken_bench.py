"""Broken scenes of the keys for bending, fitting and assembling.

As `test_broken_scenes`: one thing is changed in a sound scene, and the message names it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.contract.broken import (
    SOUND,
    Broken,
    assert_refused_whole,
    assert_told,
    faults_of,
)

RUNS = "[[runs]]\n"
TEST_BEND = """\
[[test_bends]]
bent = 90
got = 86.5
blank = 200
legs = [105.5, 105]
"""
REACH = "reach = 20\n"


def spread(line: str, *says: str) -> Broken:
    """Return a scene with one line in [spread]."""
    key = line.split(" ", maxsplit=1)[0]
    return Broken(RUNS, f"[spread]\n{line}\n{RUNS}", f"spread.{key}", line, says)


def tube(line: str, *says: str) -> Broken:
    """Return a scene with one line more in [tube]; the tube is of PETG."""
    key = line.split(" ", maxsplit=1)[0]
    return Broken("[rules]\n", f"{line}\n[rules]\n", f"tube.{key}", line, says)


def fitting(lines: str, key: str, *says: str) -> Broken:
    """Return a scene with lines more in [fittings.elbow]."""
    at = lines.rsplit("\n", 1)[-1]
    return Broken(REACH, f"{REACH}{lines}\n", f"fittings.elbow.{key}", at, says)


def bend(old: str, new: str, key: str, *says: str) -> Broken:
    """Return a scene with one test bend, one line of it changed."""
    assert TEST_BEND.count(old) == 1, old
    table = TEST_BEND.replace(old, new)
    name = key.partition("[")[0]
    lines = [line for line in table.splitlines() if line.startswith(name)]
    at = lines[0] if lines else "[[test_bends]]"
    return Broken(RUNS, table + RUNS, f"test_bends[1].{key}", at, says)


def assembly(line: str, key: str, *says: str) -> Broken:
    """Return a scene with one line in [assembly]."""
    return Broken(RUNS, f"[assembly]\n{line}\n{RUNS}", f"assembly.{key}", line, says)


SPREADS = {
    "straight of nothing": spread("straight = 0", "above 0"),
    "straight below nought": spread("straight = -1", "-1 mm", "above 0"),
    "straight of a word": spread('straight = "short"', "a length"),
    "angle below nought": spread("angle = -1", "degrees from 0.01 to 45"),
    "angle of nothing": spread("angle = 0", "degrees from 0.01 to 45"),
    "turn below nought": spread("turn = -0.5", "degrees from 0.01 to 45"),
    "turn of a text": spread('turn = "1"', "degrees"),
    "bias below nought": spread("bias = -0.5", "degrees from 0 to 45"),
    "bore below nought": spread("bore = -0.1", "-0.1 mm", "0 mm to 10 mm"),
    "bore in the wrong unit": spread("bore = 100", "100 mm", "0 mm to 10 mm"),
    "a spread that is not known": spread(
        "angles = 1", "does not know", "nearest: 'angle'"
    ),
}

TUBES = {
    "temperatures reversed": tube("temperatures = [45, 20]", "[20, 45]", "not below"),
    "one temperature": tube("temperatures = 45", "two temperatures"),
    "three temperatures": tube("temperatures = [20, 30, 45]", "two temperatures"),
    "a made of PETG": tube('made = "cast"', '"petg"', 'material = "acrylic" alone'),
    "a made that is none": tube('made = "blown"', '"extruded" or "cast"'),
    "a temperature of no unit": Broken(
        "[rules]\n",
        'temperatures = ["20 K", 45]\n[rules]\n',
        "tube.temperatures[1]",
        "temperatures",
        ('"20 K"', "°C"),
    ),
    "a temperature that melts it": Broken(
        "[rules]\n",
        "temperatures = [20, 300]\n[rules]\n",
        "tube.temperatures[2]",
        "temperatures",
        ("300", "from -40 to 100"),
    ),
}

FITTINGS = {
    "bore under the tube": fitting(
        "bore = 13.9", "bore", "13.9 mm", "outer diameter, 14 mm", "leave bore out"
    ),
    "bore of the tube itself": fitting("bore = 14", "bore", "more than the tube's"),
    "bore as wide as the body": fitting("bore = 22", "bore", "less than the diameter"),
    "bore of nothing": fitting("bore = 0", "bore", "above 0"),
    "bore and accepts": fitting(
        "bore = 14.2\naccepts = { tilt = 1 }", "accepts", "beside bore", "one of them"
    ),
    "accepts no tilt": fitting("accepts = { tilt = 0 }", "accepts.tilt", "from 0.01"),
    "accepts less than nothing": fitting(
        "accepts = { sideways = -0.5 }", "accepts.sideways", "above 0"
    ),
    "accepts a number": fitting("accepts = 0.5", "accepts", "a table accepts = {"),
    "accepts what it does not know": fitting(
        "accepts = { askew = 1 }", "accepts.askew", "does not know", "sideways, tilt"
    ),
}

TEST_BENDS = {
    "test bends in single brackets": Broken(
        RUNS,
        TEST_BEND.replace("[[test_bends]]", "[test_bends]") + RUNS,
        "test_bends",
        "[test_bends]",
        ("[[test_bends]]",),
    ),
    "no angle held": bend("bent = 90\n", "", "bent", "nothing", "held"),
    "no angle got": bend("got = 86.5\n", "", "got", "nothing", "then had"),
    "bent to nothing": bend("bent = 90", "bent = 0", "bent", "above 0 and below 180"),
    "got a text": bend("got = 86.5", 'got = "86.5"', "got", "an angle above 0"),
    "legs without blank": bend("blank = 200\n", "", "legs", "without blank", "neither"),
    "blank without legs": bend(
        "legs = [105.5, 105]\n", "", "blank", "without legs", "neither"
    ),
    "one leg": bend("[105.5, 105]", "[105.5]", "legs", "two lengths"),
    "a leg below nought": bend("105.5, 105]", "-105.5, 105]", "legs[1]", "above 0"),
    "a blank of a word": bend("blank = 200", 'blank = "all"', "blank", "a length"),
    "a key of a reading": bend(
        "got = 86.5", "value = 86.5\ngot = 86", "value", "does not know"
    ),
}

ASSEMBLIES = {
    "a movable part that is not there": assembly(
        'movable = ["pumpe"]', "movable[1]", '"pumpe"', "pump, tank, fan", "'pump'"
    ),
    "a last part that is not there": assembly(
        'last = ["fan", "front"]', "last[2]", '"front"', "pump, tank, fan"
    ),
    "a part in no list": assembly(
        'movable = "pump"', "movable", "a list", "components"
    ),
    "a part by a number": assembly("movable = [1]", "movable[1]", "components"),
    "a port in place of a part": assembly(
        'movable = ["pump.out"]', "movable[1]", '"pump.out"', "nearest: 'pump'"
    ),
    "what assembly does not know": assembly("first = []", "first", "movable, last"),
}

BROKEN = SPREADS | TUBES | FITTINGS | TEST_BENDS | ASSEMBLIES


@pytest.mark.parametrize("name", BROKEN)
def test_the_message_names_fault_key_and_line(name: str) -> None:
    assert_told(BROKEN[name])


@pytest.mark.parametrize("name", list(BROKEN)[::9])
def test_the_command_line_refuses_and_writes_nothing(
    name: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert_refused_whole(BROKEN[name].text, tmp_path, capsys)


def test_two_faults_of_a_test_bend_are_told_at_once() -> None:
    table = TEST_BEND.replace("90", "190").replace("86.5", "-1")
    told = [fault.key_path for fault in faults_of(SOUND + table).faults]
    assert told == ["test_bends[1].bent", "test_bends[1].got"]
