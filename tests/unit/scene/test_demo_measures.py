"""The demonstration scenes as they are measured are the cases that were worked out by hand.

Source: `worked_out/` holds the same three cases with every centre and every length from
the datum corner reckoned by hand, as they were written before scenes took measurements.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from loopsolver.geometry.solids import bounds
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import load_scene

HERE = Path(__file__).parent
SCENES = Path(__file__).parents[3] / "scenes"
SAME = 0.001
"""Places may differ by so much [mm]."""


def places(scene: Scene) -> dict[str, np.ndarray]:
    """Return the bounds of all solids, and all ports' positions and directions."""
    bodies = [body for part in scene.components for body in part.bodies]
    ports = [port for part in scene.components for port in part.ports]
    return {
        **{
            one.name: np.array(bounds(one.solid)) for one in (*bodies, *scene.keep_outs)
        },
        **{one.name: np.array([one.position, one.direction]) for one in ports},
        "case": np.array(scene.case_inner),
    }


@pytest.mark.parametrize("name", ["wren", "heron", "robin"])
def test_measured_and_worked_out_are_the_same_case(name: str) -> None:
    measured = places(load_scene(SCENES / f"{name}.toml"))
    by_hand = places(load_scene(HERE / "worked_out" / f"{name}.toml"))
    assert measured.keys() == by_hand.keys()
    assert len(measured) > 10
    for what, place in measured.items():
        assert place == pytest.approx(by_hand[what], abs=SAME), what
