"""What `fit` costs for every candidate of the demonstration, and its column `compare`."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path
from unittest import mock

import pytest

from loopsolver import load_scene, route_scene
from loopsolver.cli.main import main
from loopsolver.plan import Plan
from loopsolver.report import fit
from tests.commands import SCENES
from tests.interleaved import Measured, in_turn

pytestmark = pytest.mark.bench


@pytest.fixture(scope="module")
def plan_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration of six runs, routed."""
    path = tmp_path_factory.mktemp("fit") / "heron.plan.json"
    scene_file = Path(SCENES / "heron.toml")
    scene = load_scene(scene_file)
    plan = Plan(scene=scene, runs=route_scene(scene).runs)
    plan.write(path, scene_path=scene_file)
    return path


def test_fit_of_all_candidates(plan_file: Path, measured: Measured) -> None:
    """Wanted: 0.5 s on one quiet core. Held: twice what reading the plan takes."""
    plan = Plan.read(plan_file)
    pair = in_turn(
        {
            "fit of all": lambda: fit.fits(plan),
            "plan read": lambda: Plan.read(plan_file),
        },
        pairs=7,
        warm=1,
    )
    measured("fit of all candidates", pair, most=2.0)
    assert len(fit.fits(plan).chances) == sum(len(run.candidates) for run in plan.runs)
    assert pair.ratio <= 2.0


def test_the_column_for_the_fit(plan_file: Path, measured: Measured) -> None:
    """Wanted: at most a quarter more. Held: three quarters more, in this process."""

    def compare() -> None:
        with contextlib.redirect_stdout(io.StringIO()):
            assert main(["compare", str(plan_file)]) == 0

    def without() -> None:
        with mock.patch.object(fit, "fits", return_value=fit.Fits()):
            compare()

    pair = in_turn({"compare": compare, "compare without": without}, pairs=7, warm=1)
    measured("compare with chances of fit", pair, most=1.75)
    assert pair.ratio <= 1.75
