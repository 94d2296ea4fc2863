"""Commands that are printed can be pasted into a shell, whatever a file is called."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from loopsolver.cli.main import main

WREN = Path(__file__).parents[2] / "scenes" / "wren.toml"


def as_typed(line: str) -> list[str]:
    """What a real shell makes of a line that calls loopsolver: its arguments."""
    script = f"""loopsolver() {{ printf '%s\\0' "$@"; }}; {line}"""
    done = subprocess.run(
        ["sh", "-c", script], capture_output=True, text=True, check=True, timeout=10
    )
    return done.stdout.split("\0")[:-1]


def next_commands(told: str) -> list[list[str]]:
    """The commands in a message, each with what stands behind it."""
    found = re.findall(r"`(loopsolver .*)`( -o \w+)?", told)  # one a line
    assert found, told
    return [as_typed("".join(parts)) for parts in found]


@pytest.mark.parametrize(
    "name", ["-rf", "--help", "my case", "it's $HOME `ls`", "-o x; ls", "~root", "#1"]
)
def test_what_comes_next_can_be_pasted(
    name: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    scene = f"./{name}.toml"

    def told(argv: list[str]) -> str:
        assert main(argv) == 0, argv
        return capsys.readouterr().err

    for argv in next_commands(told(["new", scene])):
        assert argv[0] == "check"
        assert Path(argv[1]).samefile(scene)
        told(argv)
    shutil.copy(WREN, scene)
    (route,) = next_commands(told(["check", scene]))
    after = next_commands(told(route))
    assert [argv[0] for argv in after] == ["compare", "view", "bends", "sheets"]
    for argv in after:
        assert Path(argv[1]).samefile(f"{name}.plan.json")
        if argv[0] != "view":
            told(argv)
    Path(scene).write_bytes(WREN.read_bytes() + b"\n")
    assert main(["bends", *after[0][1:]]) == 2
    (again,) = next_commands(capsys.readouterr().err)
    assert again[0] == "route"
    assert Path(again[1]).samefile(scene)
