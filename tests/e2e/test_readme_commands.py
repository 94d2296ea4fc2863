"""What README and DEVELOPERS say is what there is."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from dataclasses import dataclass
from doctest import ELLIPSIS, OutputChecker
from pathlib import Path

import pytest

from loopsolver.scene.starter import STARTER
from tests.commands import python

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

SETUP_AND_ROUTE = (
    "python3 -m venv .venv && .venv/bin/python -m pip install -e . "
    "&& .venv/bin/loopsolver route scenes/heron.toml"
)
SETUP_AND_TEST = (
    "python3 -m venv .venv && .venv/bin/python -m pip install -e '.[test]' "
    "&& .venv/bin/python -m pytest"
)
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "loopsolver",
    "tests",
    "scenes",
    "notebooks",
}
LARGEST_PAGE = 6_000_000  # bytes, for six runs: a tablet takes it from a stick at once
LARGEST_PICTURE = 250_000  # bytes, so that a page with three of them opens at once


def blocks(text: str, language: str) -> list[str]:
    """Return the fenced blocks of one language, in order."""
    return re.findall(rf"^```{language}\n(.*?)^```$", text, flags=re.M | re.S)


@dataclass(frozen=True)
class Session:
    """One command of a console block, and what it is said to print."""

    command: str
    printed: str


def sessions(text: str) -> list[Session]:
    """Return every ``$ command`` of the console blocks with the lines below it."""
    found = []
    for block in blocks(text, "console"):
        for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
            command, _, printed = part.partition("\n")
            found.append(Session(command, printed))
    return found


SESSIONS = sessions(README)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demonstration scenes in it, as a reader has it."""
    folder = tmp_path_factory.mktemp("bench")
    shutil.copytree(ROOT / "scenes", folder / "scenes")
    return folder


@pytest.fixture(scope="module")
def results(bench: Path) -> dict[str, subprocess.CompletedProcess[str]]:
    """Every command of the README, run in its order: later ones read earlier plans."""
    program = str(Path(sys.executable).with_name("loopsolver"))
    done = {}
    for session in SESSIONS:
        first, *arguments = shlex.split(session.command)
        assert first == "loopsolver"
        done[session.command] = subprocess.run(
            [program, *arguments],
            cwd=bench,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
            timeout=300,
            env={**os.environ, "COLUMNS": "80", "PYTHONIOENCODING": "utf-8"},
        )
    return done


def test_both_commands_of_a_fresh_machine_are_in_the_readme() -> None:
    commands = [
        line for block in blocks(README, "sh") for line in block.splitlines() if line
    ]
    assert SETUP_AND_ROUTE in commands
    assert SETUP_AND_TEST in commands


def test_the_script_of_all_checks_runs_the_readmes_test_command() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert any(
        line.removesuffix(" || exit") == SETUP_AND_TEST for line in script.splitlines()
    )


def test_the_script_of_all_checks_installs_what_the_readme_asks_for() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    line = re.search(r"apt-get install (?:-y )?([^`]+)`", README)
    assert line is not None
    for package in line[1].split():
        assert re.search(rf"^  (.* )?{re.escape(package)}( |$)", script, flags=re.M)


def test_there_are_sessions_to_check() -> None:
    used = {shlex.split(session.command)[1] for session in SESSIONS}
    assert {"check", "route", "compare", "bends"} <= used


@pytest.mark.parametrize("session", SESSIONS, ids=lambda session: session.command)
def test_readme_shows_what_the_program_prints(
    session: Session, results: dict[str, subprocess.CompletedProcess[str]]
) -> None:
    result = results[session.command]
    assert result.returncode == 0, result.stderr
    assert OutputChecker().check_output(session.printed, result.stdout, ELLIPSIS), (
        f"README says:\n{session.printed}\nprinted was:\n{result.stdout}"
    )


def test_the_page_of_the_demonstration_is_small(
    bench: Path, results: dict[str, subprocess.CompletedProcess[str]]
) -> None:
    assert any("--html heron.html" in command for command in results)
    assert (bench / "heron.html").stat().st_size < LARGEST_PAGE


def test_readme_python_runs(bench: Path) -> None:
    (code,) = blocks(README, "python")
    result = python("-W", "error", "-c", code, folder=bench)
    assert result.returncode == 0, result.stderr
    (said,) = re.findall(
        r"^```python\n.*?^```\n+```text\n(.*?)^```$", README, flags=re.M | re.S
    )
    assert result.stdout == said


def test_readme_lists_the_commands_there_are() -> None:
    listed = re.findall(r"^\| `loopsolver (\w+)", README, flags=re.M)
    helped = subprocess.run(
        [sys.executable, "-m", "loopsolver", "--help"],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "COLUMNS": "80"},
    ).stdout
    section = helped.partition("commands:\n")[2].partition("\n\n")[0]
    assert listed == re.findall(r"^    (\w+)", section, flags=re.M)


def test_readme_quotes_the_demonstration_and_the_starter_scene() -> None:
    quoted = blocks(README, "toml")
    scene = (ROOT / "scenes" / "heron.toml").read_text(encoding="utf-8")
    assert quoted
    assert all(block in scene or block in STARTER for block in quoted)


def test_the_command_that_developers_are_shown_works(bench: Path) -> None:
    """The two modules of the worked example, laid over the package and run."""
    modules = {
        "plan": next(one for one in blocks(DEVELOPERS, "python") if "math.fsum" in one),
        "cli": next(
            one for one in blocks(DEVELOPERS, "python") if "add_options" in one
        ),
    }
    for package, code in modules.items():
        (bench / package).mkdir()
        (bench / package / "tally.py").write_text(code, encoding="utf-8")
    script = """
import argparse, sys
from pathlib import Path
import loopsolver.cli, loopsolver.plan
from loopsolver import load_scene, route_scene

loopsolver.cli.__path__.append("cli")
loopsolver.plan.__path__.append("plan")
from loopsolver.cli import tally
from loopsolver.cli.options import add_command

scene = Path("scenes/wren.toml")
plan = route_scene(load_scene(scene))
plan.write(Path("tally.plan.json"), scene_path=scene)
parser = argparse.ArgumentParser()
add_command(parser.add_subparsers(), tally, "add up the tube a plan needs.")
args = parser.parse_args(["tally", "tally.plan.json"])
status = args.command(args)
print(*(run.chosen_candidate.blank for run in plan.runs), file=sys.stderr)
sys.exit(status)
"""
    result = python("-W", "error", "-c", script, folder=bench)
    assert result.returncode == 0, result.stderr
    total = sum(float(blank) for blank in result.stderr.split())
    assert result.stdout == f"Tube needed: {total:.1f} mm\n"


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_everything_linked_is_there(text: str) -> None:
    targets = re.findall(r"\]\(([^)#]+)\)", text)
    assert targets
    for target in targets:
        if not target.startswith("https://"):
            assert (ROOT / target).is_file(), target


def test_pictures_are_small() -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    assert pictures
    for picture in pictures:
        assert (ROOT / picture).stat().st_size < LARGEST_PICTURE, picture


def test_top_level_holds_what_it_should() -> None:
    if not (ROOT / ".git").exists() or shutil.which("git") is None:
        pytest.skip("no git checkout")
    files = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    names = {file.split("/", 1)[0] for file in files}
    assert {name for name in names if not name.startswith(".")} == TOP_LEVEL
