"""Over how many cores a search goes changes nothing that it finds, and leaves nothing."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from loopsolver.cli.main import main
from loopsolver.routing import processes, solve
from loopsolver.routing.problem import Found
from loopsolver.routing.solve import Task
from tests.builders.ring_cases import ring
from tests.builders.scene_files import scene_text
from tests.builders.scenes import wanted
from tests.commands import ROOT
from tests.contract.searching_long import CHILDREN


@pytest.fixture
def four_pairs(here: Path) -> Path:
    """A run from either port of one part to either port of another."""
    case = ring(0, parts=2, flow="either")
    start, goal = (tuple(port.name for port in part.ports) for part in case.components)
    run = replace(wanted("on", start[0], goal[0]), from_ports=start, to_ports=goal)
    path = here / "pairs.toml"
    path.write_text(scene_text(replace(case, runs=(run,))), encoding="utf-8")
    return path


def test_the_plan_is_the_same_over_however_many_cores(
    four_pairs: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(processes, "START", 0.0)
    by_processes: list[Task] = []

    def noted(task: Task, found: Found) -> None:
        by_processes.append(task)
        solve.remember(task, found)

    monkeypatch.setattr(processes, "remember", noted)
    told = []
    for jobs in ("1", "3"):
        assert not by_processes
        solve.forget()
        status = main(["route", str(four_pairs), "--jobs", jobs, "-o", "ring.json"])
        printed = capsys.readouterr()
        told.append((status, printed, Path("ring.json").read_bytes()))
    assert (
        len(by_processes) == 3
    )  # of four pairs of ports; the first tells what they take
    assert told[0] == told[1]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_no_process_outlives_who_started_it(number: signal.Signals) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "tests.contract.searching_long"],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    ) as parent:
        assert parent.stdout is not None
        children = [int(parent.stdout.readline()) for _ in range(CHILDREN)]
        assert all(map(is_alive, children))
        parent.send_signal(number)
    # Half a second is what they take to see it; a machine may be slow.
    looks = list(until_gone(children))
    assert not looks[-1]


def until_gone(children: list[int]) -> Iterator[list[int]]:
    """Which of them are alive, time after time, until none is or it is far too late."""
    for _ in range(600):
        alive = [child for child in children if is_alive(child)]
        yield alive
        if not alive:
            return
        time.sleep(0.05)


def is_alive(child: int) -> bool:
    """Whether a process runs; one that has ended and is not waited for does not."""
    try:
        state = Path(f"/proc/{child}/stat").read_text(encoding="ascii")
    except OSError:
        return False
    return state.rpartition(")")[2].split()[0] not in {"Z", "X"}


@pytest.mark.parametrize("jobs", ["0", "-1", "two", "65", "1.5"])
def test_what_is_no_number_of_cores_is_refused(
    jobs: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["route", "any.toml", "--jobs", jobs]) == 2
    assert f"found '{jobs}'" in capsys.readouterr().err
