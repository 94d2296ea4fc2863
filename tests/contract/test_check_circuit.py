"""``check`` says what the runs make of the components, and ends with status 0."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from loopsolver.cli.main import main
from tests.builders.texts import TUBE, head, part, port

PARTS = head(
    inner=[300, 300, 300], tube={**TUBE, "material": "petg"}, fittings={}
) + "".join(
    part(
        name,
        [place, 0, 0],
        port("in", [0, 0, 0], "+x", flow="in"),
        port("out", [0, 20, 0], "+x", flow="out"),
    )
    for place, name in ((10, "pump"), (90, "card"), (180, "front"))
)


def check(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> tuple[str, dict[str, Any]]:
    path = tmp_path / "siskin.toml"
    path.write_text(PARTS + text, encoding="utf-8")
    assert main(["check", str(path)]) == 0
    words = " ".join(capsys.readouterr().out.split())
    assert main(["check", str(path), "--json"]) == 0
    content: dict[str, Any] = json.loads(capsys.readouterr().out)
    return words, content


def test_a_loop_in_order(tmp_path, capsys):
    words, content = check(
        '[loop]\norder = ["pump", "front", "card"]\n', tmp_path, capsys
    )
    assert "loop in this order: pump, front, card" in words
    assert "circuit one closed circuit: pump, front, card and back to pump" in words
    assert "pump to front: pump.out to front.in" in words
    assert content["loop"] == {"order": ["pump", "front", "card"]}
    assert content["circuit"]["is_closed"] is True
    assert content["circuit"]["circuits"] == [["pump", "front", "card"]]
    assert len(content["runs"]) == 3


def test_a_loop_in_any_order(tmp_path, capsys):
    words, content = check('[loop]\norder = "any"\n', tmp_path, capsys)
    assert "runs those of the loop" in words
    assert "any order of pump, card, front" in words
    assert content["loop"] == {"order": "any"}
    assert content["circuit"]["is_closed"] is True
    assert content["runs"] == []


def test_a_part_left_out_is_told_and_doubtful(tmp_path, capsys):
    words, content = check('[loop]\norder = ["pump", "card"]\n', tmp_path, capsys)
    assert "no run uses a port of front" in words
    assert content["circuit"]["left_out"] == ["front"]
    where = {each["where"] for each in content["doubts"] if each["kind"] == "circuit"}
    assert where == {"front"}


def test_a_run_against_the_flow_is_told_with_its_ports(tmp_path, capsys):
    run = '[[runs]]\nname = "x"\nfrom = "card.in"\nto = "pump.out"\n'
    words, content = check(run, tmp_path, capsys)
    assert 'starts from card.in, which has flow = "in"' in words
    assert 'goes to pump.out, which has flow = "out"' in words
    assert content["loop"] is None
    assert content["circuit"]["against_flow"] == ["x"]


def test_without_runs_nothing_is_said_of_a_circuit(tmp_path, capsys):
    words, _ = check("", tmp_path, capsys)
    assert "circuit" not in words
