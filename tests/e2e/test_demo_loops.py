"""Whole loops through the command: every run laid, no tube too near to anything."""

import json
from copy import deepcopy
from typing import Any

import numpy as np
import pytest

from loopsolver import load_scene
from loopsolver.scene.model import Scene
from tests.builders.scene_files import scene_text
from tests.builders.windowed_cases import three_windows
from tests.commands import SCENES, program
from tests.e2e.chosen_tubes import complaints
from tests.e2e.test_demo_routes import counted
from tests.full import few_or_all

RUNS = {"heron": 6, "robin": 4, "windows": 3, "dipper": 8}
"""Six runs in a tower, four in a crowded case, three that shut each other in, eight."""


@pytest.fixture(
    scope="module", params=few_or_all(["heron", "robin", "windows"], sorted(RUNS))
)
def routed(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Scene, dict[str, Any]]:
    """A scene and the plan that `loopsolver route` writes for it."""
    name = str(request.param)
    folder = tmp_path_factory.mktemp(name)
    file = SCENES / f"{name}.toml"
    if name == "windows":
        file = folder / "windows.toml"
        file.write_text(scene_text(three_windows()), encoding="utf-8")
    done = program("route", file, "-o", "plan.json", folder=folder)
    assert done.returncode == 0, done.stderr
    plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    assert len(plan["runs"]) == RUNS[name]
    return load_scene(file), plan


def test_no_chosen_tube_is_too_near_to_anything(
    routed: tuple[Scene, dict[str, Any]],
) -> None:
    scene, plan = routed
    assert all(run["chosen"] is not None for run in plan["runs"])
    assert complaints(plan, scene) == []


def test_what_is_too_near_would_be_seen(routed: tuple[Scene, dict[str, Any]]) -> None:
    """The check itself: a tube moved to touch another one is complained of."""
    scene, plan = routed
    moved = deepcopy(plan)
    one, two = (
        run["candidates"][run["chosen"] - 1]["vertices"] for run in moved["runs"][:2]
    )
    middles = [np.mean(vertices[:2], axis=0) for vertices in (one, two)]
    shift = middles[1] - middles[0] + 2.0 * scene.tube.radius / np.sqrt(3.0)
    for vertex in one:
        vertex[:] = (np.array(vertex) + shift).tolist()
    names = [run["name"] for run in moved["runs"][:2]]
    found = complaints(moved, scene)
    assert any(words.startswith(f"{names[0]} and {names[1]}") for words in found)


def test_the_total_told_is_that_of_the_chosen_tubes(
    routed: tuple[Scene, dict[str, Any]],
) -> None:
    _, plan = routed
    chosen = [run["candidates"][run["chosen"] - 1] for run in plan["runs"]]
    bends = sum(len(entry["vertices"]) - 2 for entry in chosen)
    # Square bends: each is a quarter turn in place of two take-outs of its radius.
    length = sum(
        np.linalg.norm(np.diff(entry["vertices"], axis=0), axis=1).sum()
        - (len(entry["vertices"]) - 2) * (2.0 - np.pi / 2.0) * entry["bend_radius"]
        for entry in chosen
    )
    length += sum(counted(entry) - entry["length"] for entry in chosen)
    assert plan["loop"]["total"][:2] == pytest.approx([bends, length], abs=1e-4)
    assert plan["loop"]["bound"] <= plan["loop"]["total"]
