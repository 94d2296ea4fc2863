"""Short tubes between two ports, to be put into words."""

from __future__ import annotations

import math
from dataclasses import replace

from loopsolver.clearance.obstacles import Gap
from loopsolver.plan import PlannedRun
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.stock import Tube

Points = tuple[tuple[float, float, float], ...]
GAIN = 28.0 * (2.0 - math.pi / 2.0)  # two legs less their arc, at 90 degrees

STRAIGHT: Points = ((0, 0, 0), (200, 0, 0))
ONE_BEND: Points = ((0, 0, 0), (100, 0, 0), (100, 100, 0))
TWO_PLANES: Points = ((0, 0, 0), (100, 0, 0), (100, 80, 0), (100, 80, 80))


def made(
    vertices: Points, *, gap: float = 5.0, name: str = "tank", radius: float = 28.0
) -> Candidate:
    return Candidate(
        centreline=Centreline(vertices=vertices, radius=radius),
        gap=Gap(distance=gap, name=name, at=vertices[0]),
        trim_allowance=30.0,
    )


def run_of(*candidates: Candidate, chosen: int = 1) -> PlannedRun:
    return PlannedRun(
        name="a to b",
        from_port="a.out",
        to_port="b.in",
        candidates=candidates,
        chosen=chosen,
    )


def tube(stock: float) -> Tube:
    return Tube(
        material="acrylic",
        outer_diameter=14.0,
        inner_diameter=10.0,
        bend_radii=(28.0,),
        stock_length=stock,
        trim_allowance=30.0,
    )


SCENE = """\
format = 1
[case]
inner = [300, 300, 300]
[tube]
material = "acrylic"
outer_diameter = 14
inner_diameter = 10
[fittings.collar]
height = 20
depth = 12
diameter = 22
straight_beyond = 5
[components.a]
position = [0, 0, 0]
[components.a.ports.out]
position = [0, 100, 100]
direction = "+x"
[components.b]
position = [0, 0, 0]
[components.b.ports.in]
position = [100, 100, 0]
direction = "+z"
"""


def scene_of(**changes: object) -> Scene:
    """Return the scene of both ports, with another tube."""
    scene = scene_from_text(SCENE, file="ouzel.toml")
    return replace(scene, tube=replace(tube(500.0), **changes))  # type: ignore[arg-type]


def held(*vertices: tuple[float, float, float]) -> Candidate:
    """Return a candidate whose ends go into the collar of `a.out` and `b.in`."""
    ends = tuple(
        EndFitting(port=port, fitting="collar", outlet=(1, 0, 0), mouth=(0, 0, 0))
        for port in ("a.out", "b.in")
    )
    return replace(made(vertices), ends=ends)
