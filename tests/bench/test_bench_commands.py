"""How long commands take and what memory they hold, measured from outside.

Numbers are printed (`pytest -m bench -s`); what is asserted leaves a wide margin, since
other work may be going on beside the tests.
"""

import json
import subprocess
import sys
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.routing.problem import RouteProblem
from tests.unit.routing.full_cases import INNER, random_problem

pytestmark = pytest.mark.bench

ROOT = Path(__file__).parents[2]

SEED = 4
"""A case of 120 bodies in which routes are found."""

MEASURED = """
import os, resource, subprocess, sys, time
begin = time.perf_counter()
done = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL)
took = time.perf_counter() - begin
most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
print(took, most / 1024.0, done.returncode)
"""
"""Runs a command as the only child of a process, so that its memory can be told."""


@dataclass(frozen=True)
class Cost:
    seconds: float
    mebibytes: float


def cost_of(arguments: list[str], *, where: Path, repeats: int) -> Cost:
    """The least of several: time, and most memory held at once."""
    measured = [sys.executable, "-c", MEASURED]
    command = [sys.executable, "-m", "loopsolver"]
    costs = []
    for _ in range(repeats):
        done = subprocess.run(
            [*measured, *command, *arguments],
            cwd=where,
            capture_output=True,
            text=True,
            check=True,
        )
        took, most, status = done.stdout.split()
        assert status == "0", done.stderr
        costs.append(Cost(seconds=float(took), mebibytes=float(most)))
    return min(costs, key=lambda cost: cost.seconds)


def scene_text(problem: RouteProblem) -> str:
    """A random case as a scene file: a body a component, a port at either end."""
    from scipy.spatial.transform import Rotation

    lines = [
        'format = 1\ntitle = "A case full of bodies"\n',
        f"[case]\ninner = {list(INNER)}\n",
        '[tube]\nmaterial = "acrylic"\nouter_diameter = 14\ninner_diameter = 10',
        f"bend_radius = {problem.bend_radius}\nstock_length = 1000\n",
        f"[rules]\nclearance = {problem.clearance}",
        f"straight_between_bends = {problem.straight_between_bends}",
        "bend_angles = [90]\nmax_bends = 5\ncandidates = 6\n",
        "[fittings.collar]\nheight = 20\ndepth = 12\ndiameter = 22\nstraight_beyond = 5\n",
    ]
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
        shape = (
            f"box = {list(solid.size)}"
            if isinstance(solid, Box)
            else f"cylinder = {{ diameter = {solid.diameter}, height = {solid.height} }}"
        )
        lines.append(
            f"[components.part{number}]\nposition = {list(solid.frame.origin)}\n"
            f"rotation = {turn.tolist()}\n[[components.part{number}.bodies]]\n{shape}\n"
            "centre = [0, 0, 0]\n"
        )
    for name, end in (("start", problem.start), ("goal", problem.goal)):
        # The seat lies height less depth in front of the port.
        port = np.array(end.seat) - 8.0 * np.array(end.direction)
        lines.append(
            f"[components.{name}]\nposition = {port.tolist()}\n"
            f"[components.{name}.ports.out]\nposition = [0, 0, 0]\n"
            f"direction = {list(end.direction)}\n"
        )
    lines.append('[[runs]]\nname = "run"\nfrom = "start.out"\nto = "goal.out"\n')
    return "\n".join(lines)


def test_whole_route_command_with_120_bodies(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    problem = random_problem(SEED, bodies=120, largest=45.0)
    scene = tmp_path / "full.toml"
    scene.write_text(scene_text(problem), encoding="utf-8")
    cost = cost_of(
        ["route", str(scene), "-o", "full.plan.json", "--force"],
        where=tmp_path,
        repeats=3,
    )
    plan = json.loads((tmp_path / "full.plan.json").read_text(encoding="utf-8"))
    candidates = plan["runs"][0]["candidates"]
    assert candidates, "the measured scene has no route"
    with capsys.disabled():
        sys.stdout.write(
            f"\nloopsolver route, 120 bodies: {cost.seconds:.2f} s, "
            f"{cost.mebibytes:.0f} MiB, {len(candidates)} candidates\n"
        )
    assert cost.seconds < 8.0
    assert cost.mebibytes < 1024.0


def test_whole_route_command_on_the_six_run_demo(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scene = ROOT / "scenes" / "heron.toml"
    cost = cost_of(
        ["route", str(scene), "-o", "heron.plan.json", "--force"],
        where=tmp_path,
        repeats=3,
    )
    with capsys.disabled():
        sys.stdout.write(
            f"\nloopsolver route, six-run demo: {cost.seconds:.2f} s, "
            f"{cost.mebibytes:.0f} MiB\n"
        )
    assert cost.seconds < 10.0
    assert cost.mebibytes < 1024.0


def test_help_comes_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cost = cost_of(["--help"], where=tmp_path, repeats=5)
    with capsys.disabled():
        sys.stdout.write(f"\nloopsolver --help: {cost.seconds:.3f} s\n")
    assert cost.seconds < 1.0
