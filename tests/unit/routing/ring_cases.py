"""Parts with two ports each, standing round in a case, to be joined in a circuit."""

from typing import Literal

import numpy as np

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import AXES, point
from loopsolver.scene.model import (
    Body,
    Component,
    Flow,
    Port,
    Rules,
    Scene,
)
from loopsolver.tube.stock import Tube
from tests.unit.routing.known_loops import FITTING


def ring(seed: int, *, parts: int, flow: Literal["in and out", "either"]) -> Scene:
    """A case with parts at random places of a coarse grid, ports on random faces."""
    rng = np.random.default_rng(seed)
    cells = rng.choice(9, parts, replace=False)
    flows: tuple[Flow, Flow] = (
        ("in", "out") if flow == "in and out" else ("either", "either")
    )
    return Scene(
        title="ring",
        units="mm",
        case_inner=(410.0, 410.0, 160.0),
        up=AXES["+z"],
        tube=Tube(
            material="acrylic",
            outer_diameter=10.0,
            inner_diameter=7.0,
            bend_radii=(18.0,),
            stock_length=1000.0,
            trim_allowance=20.0,
        ),
        rules=Rules(
            clearance=3.0,
            straight_between_bends=8.0,
            bend_angles=(90.0,),
            max_bends=4,
            candidates=4,
        ),
        components=tuple(
            part(rng, f"part {number}", int(cell), flows)
            for number, cell in enumerate(cells)
        ),
        keep_outs=(),
        runs=(),
    )


def part(
    rng: np.random.Generator, name: str, cell: int, flows: tuple[Flow, Flow]
) -> Component:
    size = np.array([44.0, 44.0, 50.0])
    middle = np.array([95.0 + 110.0 * (cell % 3), 95.0 + 110.0 * (cell // 3), 60.0])
    along = np.array(AXES[str(rng.choice(["+x", "-x", "+y", "-y", "+z"]))])
    face = middle + along * size / 2.0
    across = np.roll(np.abs(along), 1)
    ports = tuple(
        Port(
            name=f"{name}.{port}",
            position=point(face + side * 11.0 * across),
            direction=point(along),
            fittings=(FITTING,),
            flow=flow,
        )
        for port, side, flow in (("in", -1.0, flows[0]), ("out", 1.0, flows[1]))
    )
    box = Box(frame=Frame(origin=point(middle)), size=point(size))
    return Component(name=name, bodies=(Body(name=name, solid=box),), ports=ports)
