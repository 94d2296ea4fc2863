"""Ctrl-C while ``route`` runs, at a real terminal: what it leaves behind."""

from __future__ import annotations

import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from loopsolver.plan import Plan
from tests.builders.flat_case import tangled
from tests.commands import program

PATIENCE = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """What a process left: its status and what it wrote, without control codes."""

    status: int
    out: str
    terminal: str

    @property
    def words(self) -> str:
        return " ".join(self.out.split())


HELD = """
import functools, importlib, os, signal, sys
from loopsolver.cli.main import run
from loopsolver.cli.progress import ProgressLine

_, words, again, *argv = sys.argv
tell = ProgressLine.tell
came, comes = os.pipe()
os.set_blocking(comes, False)
signal.set_wakeup_fd(comes)

def tells_and_waits(progress, event):
    before = progress.text
    tell(progress, event)
    if words in progress.text and progress.text != before:
        os.read(came, 1)

ProgressLine.tell = tells_and_waits
if again:
    module, _, path = again.partition(":")
    *holder, name = path.split(".")
    place = functools.reduce(getattr, holder, importlib.import_module(module))
    work = getattr(place, name)

    def stopped_first(*given, **more):
        signal.raise_signal(signal.SIGINT)
        return work(*given, **more)

    setattr(place, name, stopped_first)
sys.argv = ["loopsolver", *argv]
run()
"""
"""The command, which waits where its bar says some words until a signal comes.

So Ctrl-C always finds it there, however fast the machine is: a signal writes a byte,
which is read whether it came before or after the reading began. Where `again` names a
function, Ctrl-C comes a second time when that is called.
"""


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """A folder with scenes of five runs, and of twelve, of which every two cross."""
    (tmp_path / "tangled.toml").write_text(tangled(5), encoding="utf-8")
    (tmp_path / "many.toml").write_text(tangled(12), encoding="utf-8")
    return tmp_path


def stopped(folder: Path, *argv: str, at: str, again: str = "") -> Left:
    """Run a command until its terminal shows some words, then press Ctrl-C.

    Once, or a second time where it calls `again`, a function as ``module:name``.
    """
    before = names(folder)
    ours, theirs = pty.openpty()
    with (
        os.fdopen(ours, "rb", buffering=0) as terminal,
        _started(at, again, *argv, folder=folder, terminal=theirs) as process,
    ):
        assert process.stdout is not None
        shown = bytearray()
        for some in _read(terminal.fileno()):
            shown += some
            if at.encode() in shown:
                break
            assert names(folder) == before, "something is written before it is done"
        process.send_signal(signal.SIGINT)
        for some in _read(terminal.fileno()):
            shown += some
        out = process.stdout.read().decode()
        status = process.wait(PATIENCE)
    plain = re.sub(rb"\x1b\[[0-9;?]*[A-Za-z]", b"", bytes(shown)).decode()
    return Left(status=status, out=out, terminal=plain)


def _read(terminal: int) -> Iterator[bytes]:
    """Yield what a terminal shows, until nobody holds its other end."""
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        if select.select([terminal], [], [], 0.1)[0]:
            try:
                some = os.read(terminal, 4096)
            except OSError:
                return
            if not some:
                return
            yield some
    pytest.fail("the process shows nothing more and does not end")


@contextmanager
def _started(
    *argv: str, folder: Path, terminal: int
) -> Iterator[subprocess.Popen[bytes]]:
    """Start a process with a terminal for its messages; it is ended at the latest here."""
    with subprocess.Popen(
        [sys.executable, "-c", HELD, *argv],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=terminal,
        env={**os.environ, "COLUMNS": "80", "TERM": "xterm"},
    ) as process:
        os.close(terminal)
        try:
            yield process
        finally:
            process.kill()


def names(folder: Path) -> list[str]:
    return sorted(one.name for one in folder.iterdir())


def test_in_the_choice_the_best_so_far_is_written_and_said_to_be_that(
    bench: Path,
) -> None:
    left = stopped(bench, "route", "tangled.toml", at="best so far")
    assert left.status == 3  # of tubes that all cross, one can be laid
    assert re.search(
        r"(first choice|round \d+): best so far \d+ bends?, \d+ mm in 1 run",
        left.terminal,
    )
    assert "You stopped the search" in left.terminal
    assert "Ctrl-C ended the search" in left.words
    assert "--seconds" not in left.words  # more time is not what it lacked
    assert "Traceback" not in left.terminal
    assert names(bench) == ["many.toml", "tangled.plan.json", "tangled.toml"]
    plan = Plan.read(bench / "tangled.plan.json")
    assert plan.loop is not None
    assert plan.loop.ended == "stopped"
    assert len([run for run in plan.runs if run.chosen]) == 1
    compared = program("compare", "tangled.plan.json", folder=bench)
    assert compared.returncode == 3
    assert "Ctrl-C ended the search" in compared.stdout


@pytest.mark.parametrize(
    ("again", "is_written"),
    [
        ("loopsolver.routing.loop.solving:untried", False),
        ("loopsolver.plan:Plan.write", False),
        ("loopsolver.cli.comparing:say_runs", True),
    ],
)
def test_pressed_again_it_goes_and_leaves_no_half_a_plan(
    bench: Path, again: str, is_written: bool
) -> None:
    """Before it is told why runs are left out, before the plan, and after it."""
    left = stopped(bench, "route", "tangled.toml", at="best so far", again=again)
    assert left.status == 130  # 128 + SIGINT, as shells have it
    assert "loopsolver: stopped" in left.terminal
    assert "Traceback" not in left.terminal
    written = {*names(bench)} - {"many.toml", "tangled.toml"}
    assert written == ({"tangled.plan.json"} if is_written else set())
    if written:
        assert len(Plan.read(bench / "tangled.plan.json").runs) == 5


@pytest.mark.parametrize("number", [2, 12])
def test_while_runs_are_routed_those_that_are_done_are_kept(
    bench: Path, number: int
) -> None:
    """Ctrl-C comes when so many runs less one are routed."""
    left = stopped(bench, "route", "many.toml", at=f"({number} of 12)")
    assert left.status == 3  # some runs have no route, and the plan says why
    plan = json.loads((bench / "many.plan.json").read_text("utf-8"))
    assert plan["loop"]["ended"] == "stopped early"
    routed = [bool(run["candidates"]) for run in plan["runs"]]
    assert routed == [place < number for place in range(1, 13)]
    assert "stopped before this run was routed" in plan["runs"][-1]["why"]
    assert "before all runs were routed" in left.words
    Plan.read(bench / "many.plan.json")


def test_before_any_run_is_routed_nothing_is_written(bench: Path) -> None:
    left = stopped(bench, "route", "many.toml", at="(1 of 12)")
    assert left.status == 130
    assert "loopsolver: stopped" in left.terminal
    assert "Traceback" not in left.terminal
    assert names(bench) == ["many.toml", "tangled.toml"]


def test_a_plan_that_stands_there_is_not_lost_to_one_with_fewer_runs(
    bench: Path,
) -> None:
    options = ("-o", "tangled.plan.json")
    first = stopped(bench, "route", "tangled.toml", *options, at="best so far")
    assert first.status == 3
    before = (bench / "tangled.plan.json").read_bytes()
    left = stopped(bench, "route", "many.toml", *options, at="(3 of 12)")
    assert left.status == 130
    assert "tangled.plan.json stays as it was" in left.terminal
    assert (bench / "tangled.plan.json").read_bytes() == before
    assert names(bench) == ["many.toml", "tangled.plan.json", "tangled.toml"]
