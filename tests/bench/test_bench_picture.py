"""How long the first picture of a plan takes against one of a box, as its library draws.

Each is a process of its own, measured from outside: start, imports, drawing and file.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from loopsolver.view.rendering import OFF_SCREEN
from tests.commands import SCENES
from tests.full import only_in_full
from tests.interleaved import Measured, in_turn

pytestmark = pytest.mark.bench

BOX = """
import sys, pyvista
plotter = pyvista.Plotter(off_screen=True, window_size=(1600, 1000))
plotter.add_mesh(pyvista.Box())
plotter.screenshot(sys.argv[1])
"""


@only_in_full
def test_the_first_picture_of_six_runs_against_one_of_a_box(
    tmp_path: Path, measured: Measured
) -> None:
    """Wanted is 1.5; as other work may go on meanwhile, more is let pass.

    Both have their modules compiled before, as an installed program has.
    """
    kept = {**os.environ, **OFF_SCREEN, "PYTHONPYCACHEPREFIX": str(tmp_path / "kept")}
    kept.pop("PYTHONDONTWRITEBYTECODE", None)

    def python(*arguments: str) -> None:
        subprocess.run(
            [sys.executable, *arguments],
            cwd=tmp_path,
            env=kept,
            capture_output=True,
            check=True,
        )

    loopsolver, plan = ("-m", "loopsolver"), "heron.plan.json"
    python(*loopsolver, "route", str(SCENES / "heron.toml"), "-o", plan)
    drawn = ("view", plan, "--screenshot", "heron.png")
    pair = in_turn(
        {
            "six runs": lambda: python(*loopsolver, *drawn),
            "a box": lambda: python("-c", BOX, "box.png"),
        },
        pairs=3,
        warm=1,
    )
    assert (tmp_path / "heron.png").stat().st_size > 0
    measured("first picture", pair, most=1.7)
    assert (
        pair.ratio <= 1.7
    )  # 1.85 where a child process tries first whether it can draw
