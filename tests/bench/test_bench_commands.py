"""How long commands take against each other, and what memory they hold.

Measured from outside, each command a process of its own.
"""

from __future__ import annotations

import json
import subprocess
import sys
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.routing.problem import RouteProblem
from tests.builders import texts
from tests.commands import SCENES
from tests.full import only_in_full
from tests.interleaved import Measured, in_turn
from tests.unit.routing.full_cases import INNER, random_problem

pytestmark = pytest.mark.bench


SEED = 4
"""A case of 120 bodies in which routes are found, and one of 40."""

MOST_MEMORY = 1024.0
"""What a command may hold [MiB]; this does not grow where a machine is slow."""

HELD = """
import resource, subprocess, sys
done = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0)
sys.exit(done.returncode)
"""
"""Runs a command as the only child of a process, so that its memory can be told."""


def command(*arguments: str, where: Path) -> Callable[[], object]:
    """The command with these arguments as work that can be measured."""
    return lambda: subprocess.run(
        [sys.executable, "-m", "loopsolver", *arguments],
        cwd=where,
        capture_output=True,
        check=True,
    )


def mebibytes(*arguments: str, where: Path) -> float:
    """The most memory that a command holds at once."""
    done = subprocess.run(
        [sys.executable, "-c", HELD, sys.executable, "-m", "loopsolver", *arguments],
        cwd=where,
        capture_output=True,
        text=True,
        check=True,
    )
    return float(done.stdout)


def scene_text(problem: RouteProblem) -> str:
    """A random case as a scene file: a body a component, a port at either end."""
    from scipy.spatial.transform import Rotation

    parts = []
    for number, obstacle in enumerate(problem.obstacles):
        solid = obstacle.solid
        if not isinstance(solid, Box | Cylinder):
            continue
        with warnings.catch_warnings():
            # Where two of the three angles turn about one axis, any pair of them does.
            warnings.filterwarnings("ignore", message="Gimbal lock")
            turn = Rotation.from_matrix(solid.frame.rotation).as_euler(
                "xyz", degrees=True
            )
        at = solid.frame.origin
        body = (
            texts.box(solid.size, [0, 0, 0])
            if isinstance(solid, Box)
            else texts.cylinder(
                diameter=solid.diameter, height=solid.height, centre=[0, 0, 0]
            )
        )
        parts.append(texts.part(f"part{number}", at, body, rotation=turn.tolist()))
    for name, end in (("start", problem.start), ("goal", problem.goal)):
        # The seat lies height less depth in front of the port.
        face = np.array(end.seat) - 8.0 * np.array(end.direction)
        port = texts.port("out", [0, 0, 0], end.direction)
        parts.append(texts.part(name, face.tolist(), port))
    head = texts.head(
        first={"title": "A case full of bodies"},
        inner=INNER,
        tube={
            **texts.TUBE,
            "bend_radius": problem.bend_radius,
            "stock_length": 1000,
        },
        rules={
            "clearance": problem.clearance,
            "straight_between_bends": problem.straight_between_bends,
        },
    )
    return "".join([head, *parts, texts.run("start.out", "goal.out", name="run")])


def route_of(name: str) -> tuple[str, ...]:
    return ("route", name, "-o", "of.plan.json", "--force")


@only_in_full
def test_a_case_of_120_bodies_against_one_of_40(
    tmp_path: Path, measured: Measured
) -> None:
    for bodies in (40, 120):
        problem = random_problem(SEED, bodies=bodies, largest=45.0)
        scene = tmp_path / f"{bodies}.toml"
        scene.write_text(scene_text(problem), encoding="utf-8")
    names = ("120.toml", "40.toml")
    pair = in_turn(
        {name: command(*route_of(name), where=tmp_path) for name in names}, pairs=3
    )
    memory = mebibytes(*route_of("120.toml"), where=tmp_path)
    plan = json.loads((tmp_path / "of.plan.json").read_text(encoding="utf-8"))
    assert plan["runs"][0]["candidates"], "the measured scene has no route"
    measured("route", pair, most=12.0, MiB=round(memory))
    assert pair.ratio <= 12.0
    assert memory < MOST_MEMORY


@only_in_full
def test_check_against_what_it_imports(tmp_path: Path, measured: Measured) -> None:
    """As a command, held to 2.5 times; a pair in a crowd of processes may lie above."""
    imports = "import numpy; from pydantic import BaseModel"
    pair = in_turn(
        {
            "check heron": command("check", str(SCENES / "heron.toml"), where=tmp_path),
            "numpy, pydantic": lambda: subprocess.run(
                [sys.executable, "-c", imports], check=True
            ),
        },
        pairs=9,
        warm=1,
    )
    measured("check", pair, most=3.0)
    assert pair.ratio <= 3.0  # 3.7 with a graph library and all tables' sources read


def test_the_demo_of_six_runs_against_that_of_two(
    tmp_path: Path, measured: Measured
) -> None:
    heron, wren = (str(SCENES / f"{name}.toml") for name in ("heron", "wren"))
    pair = in_turn(
        {
            "heron": command(*route_of(heron), where=tmp_path),
            "wren": command(*route_of(wren), where=tmp_path),
        },
        pairs=3,
    )
    memory = mebibytes(*route_of(heron), where=tmp_path)
    measured("route", pair, most=9.0, MiB=round(memory))
    assert pair.ratio <= 9.0  # three times the runs, and three times that for the loop
    assert memory < MOST_MEMORY


@only_in_full
def test_the_demo_of_six_runs_with_any_turn_against_the_lattice(
    tmp_path: Path, measured: Measured
) -> None:
    """Wanted is twice as long, as other work may go on meanwhile three times that."""
    free = (SCENES / "heron.toml").read_text(encoding="utf-8")
    square = free.replace("[rules]", "[rules]\nturn_step = 90", 1)
    assert square != free
    for name, text in (("free.toml", free), ("square.toml", square)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    pair = in_turn(
        {
            "any turn": command(*route_of("free.toml"), where=tmp_path),
            "lattice": command(*route_of("square.toml"), where=tmp_path),
        },
        pairs=3,
    )
    measured("route of six runs", pair, most=6.0)
    assert pair.ratio <= 6.0


def test_help_takes_less_than_to_import_numpy(
    tmp_path: Path, measured: Measured
) -> None:
    """What is heavy is imported late: half as long, on a quiet machine."""
    pair = in_turn(
        {
            "--help": command("--help", where=tmp_path),
            "import numpy": lambda: subprocess.run(
                [sys.executable, "-c", "import numpy"], cwd=tmp_path, check=True
            ),
        },
        warm=1,
    )
    measured("start", pair, most=1.5)
    assert pair.ratio <= 1.5
