"""What `flow` costs, and what the column for the drop adds to `compare`."""

from __future__ import annotations

import contextlib
import io
from collections.abc import Callable
from pathlib import Path

import pytest

from loopsolver import load_scene, route_scene
from loopsolver.cli.main import main
from loopsolver.plan import Plan
from tests.builders.wet_loops import coolant, water
from tests.commands import SCENES
from tests.interleaved import Measured, in_turn

pytestmark = pytest.mark.bench

WET = "".join(
    [
        coolant(liquid="propylene glycol", share=25, temperature=35),
        water("pump", pump=[[0, "3.9 m"], [5, "3.0 m"], [10, "1.2 m"]]),
        water("block", loss=[[4, 9.5]], heat=120),
        water("card", loss=[[2, 3.1], [4, 10.8]], heat=210),
        water("meter", loss=[[4, 1.1]]),
        water("roof", loss=[[4, 4.2]], heat="rest"),
        water("front", loss=[[4, 4.9]], heat="rest"),
    ]
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration of six runs as it is, and with figures for its coolant."""
    folder = tmp_path_factory.mktemp("wet")
    text = (SCENES / "heron.toml").read_text(encoding="utf-8")
    runs = None
    for name, own in (("dry", text), ("wet", text + WET)):
        path = folder / f"{name}.toml"
        path.write_text(own, encoding="utf-8")
        scene = load_scene(path)
        runs = runs or route_scene(scene).runs
        plan = Plan(scene=scene, runs=runs)
        plan.write(folder / f"{name}.plan.json", scene_path=path)
    return folder


def quiet(*arguments: str) -> Callable[[], object]:
    """Return what runs a command in this process, its output thrown away."""

    def work() -> None:
        with contextlib.redirect_stdout(io.StringIO()):
            assert main(list(arguments)) == 0

    return work


def test_the_column_for_the_drop(folder: Path, measured: Measured) -> None:
    """Wanted: at most a tenth more. Held: half more, in this process."""
    pair = in_turn(
        {
            f"compare {name}": quiet("compare", str(folder / f"{name}.plan.json"))
            for name in ("wet", "dry")
        },
        pairs=9,
        warm=1,
    )
    measured("compare with drops", pair, most=1.5)
    assert pair.ratio <= 1.5


def test_flow_against_compare(folder: Path, measured: Measured) -> None:
    plan = str(folder / "wet.plan.json")
    pair = in_turn(
        {"flow": quiet("flow", plan), "compare": quiet("compare", plan)},
        pairs=9,
        warm=1,
    )
    measured("flow", pair, most=2.0)
    assert pair.ratio <= 2.0
