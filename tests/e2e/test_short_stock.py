"""A blank longer than the stock is said, not hidden."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from loopsolver.cli.main import main
from tests.commands import SCENES


def test_tubes_longer_than_the_stock_are_shown_and_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    text = (SCENES / "wren.toml").read_text(encoding="utf-8")
    lines = [
        "stock_length = 300" if line.startswith("stock_length") else line
        for line in text.splitlines()
    ]
    Path("short.toml").write_text("\n".join(lines), encoding="utf-8")
    assert main(["route", "short.toml"]) == 0
    printed = capsys.readouterr().out
    plan = json.loads(Path("short.plan.json").read_text(encoding="utf-8"))
    for run in plan["runs"]:
        assert run["chosen"] == 1
        assert all(one["blank"] > 300.0 for one in run["candidates"])
    assert printed.count("longer than the stock of 300.0 mm") >= len(plan["runs"])
