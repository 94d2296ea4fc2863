"""Slips in a scene are told by `check` and by `route`, which goes on all the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from loopsolver.cli.main import main
from loopsolver.scene.starter import STARTER
from tests.builders.texts import box, part, port, run
from tests.commands import SCENES

BORE = (
    "tube.inner_diameter: 1 mm is 0.071 times the tube's outer diameter of 14 mm, where "
    'at least 0.25 times is usual; if 1 cm was meant (10 mm), write "1 cm"'
)
TAKEN = "no port is left for it: tank.out is taken by 'tank to block'"
SECOND = part(
    "drain",
    [20, 265, 0],
    box([30, 30, 30], [15, 15, 15]),
    port("in", [15, 15, 30], "+z", fitting="collar"),
) + run("tank.out", "drain.in")


def test_a_unit_that_was_forgotten_is_told_before_the_search(
    here: Path, capsys: pytest.CaptureFixture[str]
):
    text = STARTER.replace("inner_diameter = 10", "inner_diameter = 1")
    (here / "s.toml").write_text(text, encoding="utf-8")
    assert main(["check", "s.toml", "--json"]) == 0
    (doubt,) = json.loads(capsys.readouterr().out)["doubts"]
    assert f"{doubt['where']}: {doubt['message']}" == BORE
    assert main(["route", "s.toml"]) == 0
    assert f"- {BORE}\n" in capsys.readouterr().err


def test_a_port_that_two_runs_want_is_told_with_what_to_do(
    here: Path, capsys: pytest.CaptureFixture[str]
):
    (here / "s.toml").write_text(STARTER + SECOND, encoding="utf-8")
    assert main(["route", "s.toml"]) == 3
    printed = capsys.readouterr()
    assert "- tank.out: the runs 'tank to block', 'tank to drain' end at" in printed.err
    plan = json.loads((here / "s.plan.json").read_text("utf-8"))
    (why,) = (run["why"] for run in plan["runs"] if run["chosen"] is None)
    assert plan["loop"]["tried"].startswith("no other port, bend angle, order")
    assert why.startswith(TAKEN)
    assert "join them at a piece with three ports" in why
    assert " mm into " not in why


@pytest.mark.parametrize("name", ["wren", "robin"])
def test_the_demonstrations_give_no_warning(
    here: Path, capsys: pytest.CaptureFixture[str], name: str
):
    del here
    assert main(["route", str(SCENES / f"{name}.toml")]) == 0
    assert "Look at this again" not in capsys.readouterr().err
