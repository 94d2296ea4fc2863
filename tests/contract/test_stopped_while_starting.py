"""Ctrl-C while a command is still being imported: status 130, a line or none."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.full import IS_FULL

ROOT = Path(__file__).parents[2]

# Forks once for every place; each child starts the program anew, and presses Ctrl-C when
# so many modules were asked for after those by which the program takes the key over.
DRIVER = """
import json, os, signal, sys

entry, places, argv = json.loads(sys.argv[1])

def press_at(place):
    seen = -1
    def hook(event, details):
        nonlocal seen
        if event == "import":
            if seen >= 0 or details[0] == "loopsolver.cli.main":
                seen += 1
            if seen == place:
                os.kill(os.getpid(), signal.SIGINT)
    sys.addaudithook(hook)

import runpy
for place in places:
    child = os.fork()
    if not child:
        told = os.open(f"told-{place}", os.O_WRONLY | os.O_CREAT)
        os.dup2(told, 2)
        sys.argv = ["loopsolver", *argv]
        press_at(place)
        if entry == "-m":
            runpy.run_module("loopsolver", run_name="__main__", alter_sys=True)
        else:
            module, name = entry.split(":")
            exec(f"from {module} import {name}; sys.exit({name}())")
        os._exit(99)
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    with open("results", "a") as results:
        print(json.dumps([place, status, open(f"told-{place}").read()]), file=results)
"""


def script_entry() -> str:
    """What the console script calls, as the package says."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    entry = project["scripts"]["loopsolver"]
    assert isinstance(entry, str)
    return entry


WHOLE = {"check": "Next: `loopsolver route wren.toml`.\n", "bends": ""}
"""What a command tells that is not stopped."""

PLACES = tuple(range(0, 400, 10 if IS_FULL else 110))


@pytest.mark.parametrize("start", ["-m", "script"])
@pytest.mark.parametrize("command", ["check", "bends"] if IS_FULL else ["check"])
def test_a_stop_at_an_import_leaves_a_line_at_most(
    tmp_path: Path, start: str, command: str
) -> None:
    shutil.copy(ROOT / "scenes" / "wren.toml", tmp_path)
    subject = "wren.toml"
    if command == "bends":
        argv = [sys.executable, "-m", "loopsolver", "route", subject]
        subprocess.run(argv, cwd=tmp_path, check=True, capture_output=True)
        subject = "wren.plan.json"
    entry = "-m" if start == "-m" else script_entry()
    subprocess.run(
        [sys.executable, "-c", DRIVER, json.dumps([entry, PLACES, [command, subject]])],
        cwd=tmp_path,
        capture_output=True,
        check=True,
        timeout=600,
    )
    lines = (tmp_path / "results").read_text().splitlines()
    results = [json.loads(line) for line in lines]
    assert len(results) == len(PLACES)
    for place, status, told in results:
        if status == 0:  # all was done by the time the import was
            assert told == WHOLE[command]
        else:
            assert status == 130, (place, status, told)
            assert told in {"", "loopsolver: stopped\n"}, place
    assert results[0][1] == 130


def test_it_stays_ignored_in_a_shells_background(tmp_path: Path) -> None:
    """A shell without job control starts `command &` with Ctrl-C ignored."""
    shutil.copy(ROOT / "scenes" / "wren.toml", tmp_path)
    code = (
        "import os, signal, sys, loopsolver.__main__ as m\n"
        "sys.addaudithook(lambda event, _: "
        "event == 'import' and os.kill(os.getpid(), signal.SIGINT))\n"
        "sys.argv = ['loopsolver', 'check', 'wren.toml']; m.run()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_IGN),
    )
    assert done.returncode == 0, done.stderr
    assert "wren.toml" in done.stdout


# A module that presses Ctrl-C while it is imported, and one thing more afterwards.
PRESSES = "import os, signal; os.kill(os.getpid(), signal.SIGINT); is_whole = True"
IN_COMMAND = """
import os, signal, sys, time
from loopsolver.cli.stopping import tidy_up_in

def command():
    try:
        {body}
        time.sleep(60)
    except KeyboardInterrupt:
        print("tidied", getattr(sys.modules.get("presses"), "is_whole", None))

tidy_up_in(command.__code__)
command()
{after}
print("still there")
"""


@pytest.mark.parametrize(
    ("body", "after", "printed", "status"),
    [
        ("os.kill(os.getpid(), signal.SIGINT)", "", "tidied None\nstill there\n", 0),
        ("import presses", "", "tidied True\nstill there\n", 0),
        (
            "raise KeyboardInterrupt",
            "print(end='', flush=True); os.kill(os.getpid(), 2)",
            "tidied None\n",
            130,
        ),
    ],
    ids=["in a command", "in an import of a command", "after it"],
)
def test_a_command_tidies_up_but_finishes_imports(
    tmp_path: Path, body: str, after: str, printed: str, status: int
) -> None:
    (tmp_path / "presses.py").write_text(PRESSES)
    done = subprocess.run(
        [sys.executable, "-c", IN_COMMAND.format(body=body, after=after)],
        env={**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{tmp_path}"},
        capture_output=True,
        text=True,
        check=False,
        timeout=50,
    )
    assert (done.stdout, done.returncode, done.stderr) == (printed, status, "")
