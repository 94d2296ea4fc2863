"""Who measures in inches reads inches: no length stands in millimetres alone.

The cases are the demonstration scene in inches, with slips and tight rules put into it.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from loopsolver.cli.main import main

ROBIN = (Path(__file__).parents[2] / "scenes" / "robin.toml").read_text("utf-8")
BESIDE = re.compile(r"[0-9.]+ in(?: \(|, )-?[0-9.]+ mm\)|\"[^\"]*\"")
"""An inch with its millimetres, and what was written in the file."""


def alone(text: str) -> list[str]:
    """Return the millimetres that stand without inches."""
    joined = " ".join(text.split())
    return re.findall(r"\S* \S+ mm\b|\S+ \d+mm\b|millimet\S+", BESIDE.sub("", joined))


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
