"""How long `loopsolver route` takes for whole loops that are known to have a solution.

The tubes were laid first and the case was then filled with bodies round them
(`known_loops`), once in a case as tight as it can be filled, once in a roomy one.
Numbers are printed (`pytest -m bench -s`). What is asserted is the processor time of the
command's own process, which other work beside the tests does not lengthen much.
"""

import json
import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.unit.routing.known_loops import random_loop
from tests.unit.routing.loop_files import scene_text

pytestmark = pytest.mark.bench


@dataclass(frozen=True)
class Load:
    """How many runs among how many bodies, and within what time [s]."""

    runs: int
    bodies: int
    side: float
    stretch: float
    seconds: float

    @property
    def name(self) -> str:
        return f"{self.runs} runs, {self.bodies} bodies, {self.side:.0f} mm"


LOADS = (
    Load(runs=6, bodies=40, side=190.0, stretch=0.5, seconds=4.0),
    Load(runs=6, bodies=40, side=300.0, stretch=0.3, seconds=4.0),
    Load(runs=10, bodies=60, side=240.0, stretch=0.4, seconds=15.0),
    Load(runs=10, bodies=60, side=330.0, stretch=0.3, seconds=15.0),
)

SEEDS = range(8) if os.environ.get("LOOPSOLVER_FULL") == "1" else (0, 4)
"""Seed 4 is the slowest of the eight."""

SHARED = 1.5
"""The slowest loop may take so much longer: a machine with other work on it is slower,
and its processor time grows as well. The median keeps to the limit itself.
"""


@dataclass(frozen=True)
class Spent:
    """What one command took, and what it found."""

    wall: float
    processor: float
    chosen: int


def spent_on(load: Load, seed: int, where: Path) -> Spent:
    """What routing one known loop takes in a process of its own [s]."""
    scene, _ = random_loop(
        seed, side=load.side, runs=load.runs, bodies=load.bodies, stretch=load.stretch
    )
    bodies = sum(len(part.bodies) for part in scene.components) + len(scene.keep_outs)
    assert bodies == load.bodies
    assert len(scene.runs) == load.runs
    file = where / f"loop{seed}.toml"
    file.write_text(scene_text(scene), encoding="utf-8")
    plan = where / f"loop{seed}.plan.json"
    command = [sys.executable, "-m", "loopsolver", "route", str(file), "-o", str(plan)]
    before, begun = _of_children(), time.perf_counter()
    done = subprocess.run(command, cwd=where, check=False, capture_output=True)
    wall, processor = time.perf_counter() - begun, _of_children() - before
    assert done.returncode == 0, done.stderr.decode()
    runs = json.loads(plan.read_text(encoding="utf-8"))["runs"]
    chosen = sum(run["chosen"] is not None for run in runs)
    return Spent(wall=wall, processor=processor, chosen=chosen)


def _of_children() -> float:
    """Processor time of all processes started and ended so far [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _told(load: Load, spent: list[Spent]) -> Iterator[str]:
    for name, times in (
        ("wall", [each.wall for each in spent]),
        ("processor", [each.processor for each in spent]),
    ):
        yield f"{name} median {statistics.median(times):.2f} s, most {max(times):.2f} s"
    yield f"of {len(spent)}, held to {load.seconds:g} s"


@pytest.mark.parametrize("load", LOADS, ids=lambda load: load.name)
def test_whole_loops_are_routed_in_time(
    load: Load, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spent = [spent_on(load, seed, tmp_path) for seed in SEEDS]
    with capsys.disabled():
        sys.stdout.write(f"\n{load.name}: {'; '.join(_told(load, spent))}\n")
    assert all(each.chosen == load.runs for each in spent)
    processor = [each.processor for each in spent]
    assert statistics.median(processor) <= load.seconds
    assert max(processor) <= SHARED * load.seconds
