"""Scenes with one run in a roomy case, so that a published example can be routed.

Tube ends lie in the ports themselves: the fitting is as deep as it is high.
"""

import numpy as np
from numpy.typing import NDArray

from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import Outcome, solve_run
from loopsolver.scene.model import TurnStep
from loopsolver.scene.reader import scene_from_text
from tests.builders.texts import head, part, port, run

MM = {"in": 25.4, "mm": 1.0}


def routed(
    *,
    units: str,
    inner: tuple[float, float, float],
    start: tuple[float, float, float],
    out: str,
    goal: tuple[float, float, float],
    home: str,
    radius: float,
    angles: list[float],
    diameter: float,
    max_bends: int = 2,
    clearance: float = 0.0,
    bodies: str = "",
    turn_step: TurnStep = "any",
) -> Outcome:
    """What the search finds for a run from `start`, leaving along `out`, to `goal`."""
    flush = {
        "height": diameter,
        "depth": diameter,
        "diameter": diameter,
        "straight_beyond": 0,
    }
    text = "".join(
        [
            head(
                first={"title": "A published example", "units": units},
                inner=inner,
                tube={
                    "material": "copper",
                    "outer_diameter": diameter,
                    "inner_diameter": 0.8 * diameter,
                    "bend_radius": radius,
                    "stock_length": "10000 mm",
                    "trim_allowance": 0,
                },
                rules={
                    "clearance": clearance,
                    "straight_between_bends": 0,
                    "bend_angles": angles,
                    "turn_step": turn_step,
                    "max_bends": max_bends,
                },
                fittings={"flush": flush},
            ),
            part("near", start, port("out", [0, 0, 0], out)),
            part("far", goal, port("in", [0, 0, 0], home)),
            run("near.out", "far.in", name="example"),
        ]
    )
    scene = scene_from_text(text + bodies, file="example.toml")
    return solve_run(scene, scene.runs[0])


def vertices(candidate: Candidate, units: str) -> NDArray[np.float64]:
    """The vertices from tube end to tube end, in the example's unit."""
    return np.array(candidate.centreline.vertices) / MM[units]


def legs(candidate: Candidate, units: str) -> NDArray[np.float64]:
    """The lengths from vertex to vertex, in the example's unit."""
    steps = np.diff(vertices(candidate, units), axis=0)
    return np.linalg.norm(steps, axis=1)
