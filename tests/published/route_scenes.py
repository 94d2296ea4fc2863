"""Scenes with one run in a roomy case, so that a published example can be routed.

Tube ends lie in the ports themselves: the fitting is as deep as it is high.
"""

import numpy as np
from numpy.typing import NDArray

from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import Outcome, solve_run
from loopsolver.scene.reader import scene_from_text

MM = {"in": 25.4, "mm": 1.0}

SCENE = """
format = 1
title = "A published example"
units = "{units}"

[case]
inner = {inner}

[tube]
material = "copper"
outer_diameter = {diameter}
inner_diameter = {bore}
bend_radius = {radius}
stock_length = "10000 mm"
trim_allowance = 0

[rules]
clearance = {clearance}
straight_between_bends = 0
bend_angles = {angles}
turn_step = {turn_step}
max_bends = {max_bends}

[fittings.flush]
height = {flush}
depth = {flush}
diameter = {diameter}
straight_beyond = 0

[components.near]
position = {start}
[components.near.ports.out]
position = [0, 0, 0]
direction = "{out}"

[components.far]
position = {goal}
[components.far.ports.in]
position = [0, 0, 0]
direction = "{home}"

[[runs]]
name = "example"
from = "near.out"
to = "far.in"
"""


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
    turn_step: str = '"any"',
) -> Outcome:
    """What the search finds for a run from `start`, leaving along `out`, to `goal`."""
    text = SCENE.format(
        units=units,
        inner=list(inner),
        start=list(start),
        out=out,
        goal=list(goal),
        home=home,
        radius=radius,
        angles=angles,
        turn_step=turn_step,
        diameter=diameter,
        bore=0.8 * diameter,
        flush=diameter,
        max_bends=max_bends,
        clearance=clearance,
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
