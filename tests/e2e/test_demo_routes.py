"""The demonstration builds, routed by the command and checked without the package."""

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver import load_scene
from loopsolver.clearance.obstacles import Gap
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import problems_of
from loopsolver.tube.centreline import Centreline
from tests.commands import SCENES, program
from tests.unit.routing.full_cases import complaints, least_sampled_gap

DEMOS = {"wren": 2, "robin": 4, "heron": 6}
"""How many runs each build has."""

WRITTEN = 1e-6
"""Vertices are written to a millionth of a millimetre."""


@pytest.fixture(scope="module", params=sorted(DEMOS))
def demo(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, dict[str, Any]]:
    """A demo's name and the plan that `loopsolver route` writes for it."""
    name = str(request.param)
    folder = tmp_path_factory.mktemp(name)
    done = program("route", SCENES / f"{name}.toml", folder=folder)
    assert done.returncode == 0, done.stderr
    text = (folder / f"{name}.plan.json").read_text(encoding="utf-8")
    return name, json.loads(text)


def test_every_run_has_a_route(demo: tuple[str, dict[str, Any]]) -> None:
    name, plan = demo
    assert len(plan["runs"]) == DEMOS[name]
    for run in plan["runs"]:
        assert run["candidates"], run["name"]
        assert run["chosen"] is not None


def test_every_candidate_keeps_to_its_scene(demo: tuple[str, dict[str, Any]]) -> None:
    """Seats, straights, square bends, clearance: from the written vertices alone."""
    name, plan = demo
    scene = load_scene(SCENES / f"{name}.toml")
    for request, run in zip(scene.runs, plan["runs"], strict=True):
        assert run["name"] == request.name
        (problem,) = problems_of(scene, request)
        for entry in run["candidates"]:
            vertices = tuple(tuple(vertex) for vertex in entry["vertices"])
            candidate = Candidate(
                centreline=Centreline(vertices=vertices, radius=entry["bend_radius"]),
                gap=Gap(distance=entry["gap"], name="", at=(0.0, 0.0, 0.0)),
                trim_allowance=scene.tube.trim_allowance,
            )
            where = f"{run['name']}, candidate {entry['rank']}"
            assert complaints(candidate, problem, rounded=WRITTEN) == [], where
            sampled = least_sampled_gap(candidate, problem)
            assert entry["gap"] == pytest.approx(sampled, abs=2e-4), where


def test_bend_tables_bent_one_after_the_other_end_in_the_far_seat(
    demo: tuple[str, dict[str, Any]],
) -> None:
    """Each row as a bender takes it: feed, turn the tube, bend; by scipy's rotations."""
    _, plan = demo
    for run in plan["runs"]:
        for entry in run["candidates"]:
            wanted = np.array(entry["vertices"])
            laid = bent(entry, wanted)
            assert laid == pytest.approx(wanted[-1], abs=1e-3), run["name"]


def bent(entry: dict[str, Any], vertices: np.ndarray) -> np.ndarray:
    """Where the tube ends that a bend table gives from the start."""
    travel = vertices[1] - vertices[0]
    travel /= np.linalg.norm(travel)
    at, radius = vertices[0].copy(), entry["bend_radius"]
    normal = np.cross(travel, vertices[2] - vertices[1])
    normal /= np.linalg.norm(normal)
    *rows, closing = entry["bend_table"]
    for row in rows:
        at += row["straight"] * travel
        normal = Rotation.from_rotvec(np.radians(row["rotation"]) * travel).apply(
            normal
        )
        centre = at + radius * np.cross(normal, travel)
        turn = Rotation.from_rotvec(np.radians(row["angle"]) * normal)
        at, travel = centre + turn.apply(at - centre), turn.apply(travel)
    return at + closing["straight"] * travel


def counted(entry: dict[str, Any]) -> float:
    """A candidate's length, with what README says that its odd turns count as."""
    turns = [row["rotation"] for row in entry["bend_table"][1:-1]]
    off_45, off_90 = (
        sum(abs(math.remainder(turn, step)) > 0.05 for turn in turns)
        for step in (45, 90)
    )
    return float(entry["length"]) + 100.0 * off_45 + 10.0 * (off_90 - off_45)


def test_lengths_add_up_and_ranks_go_by_bends(
    demo: tuple[str, dict[str, Any]],
) -> None:
    _, plan = demo
    for run in plan["runs"]:
        order = [(c["bends"], round(counted(c), 3)) for c in run["candidates"]]
        assert order == sorted(order), run["name"]
        assert [c["rank"] for c in run["candidates"]] == list(range(1, len(order) + 1))
        for entry in run["candidates"]:
            straight = sum(row["straight"] for row in entry["bend_table"])
            arcs = entry["bends"] * entry["bend_radius"] * np.pi / 2.0
            assert entry["length"] == pytest.approx(straight + arcs, abs=1e-4)


def test_routing_twice_writes_the_same_plan(tmp_path: Path) -> None:
    scene = str(SCENES / "wren.toml")
    command = [sys.executable, "-m", "loopsolver", "route", scene]
    written = []
    for number in (1, 2):
        plan = tmp_path / f"{number}.plan.json"
        subprocess.run(
            [*command, "-o", str(plan)],
            cwd=tmp_path,
            check=True,
            capture_output=True,
        )
        written.append(plan.read_bytes())
    assert written[0] == written[1]
