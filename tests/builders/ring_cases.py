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
    Scene,
)
from tests.builders.scenes import (
    SMALL_COLLAR,
    part,
    port,
    scene,
    small_rules,
    small_tube,
)


def ring(seed: int, *, parts: int, flow: Literal["in and out", "either"]) -> Scene:
    """A case with parts at random places of a coarse grid, ports on random faces."""
    rng = np.random.default_rng(seed)
    cells = rng.choice(9, parts, replace=False)
    flows: tuple[Flow, Flow] = (
        ("in", "out") if flow == "in and out" else ("either", "either")
    )
    return scene(
        *(
            placed(rng, f"part {number}", int(cell), flows)
            for number, cell in enumerate(cells)
        ),
        inner=(410.0, 410.0, 160.0),
        title="ring",
        tube=small_tube(stock_length=1000.0),
        rules=small_rules(max_bends=4, candidates=4),
    )


def placed(
    rng: np.random.Generator, name: str, cell: int, flows: tuple[Flow, Flow]
) -> Component:
    size = np.array([44.0, 44.0, 50.0])
    middle = np.array([95.0 + 110.0 * (cell % 3), 95.0 + 110.0 * (cell // 3), 60.0])
    along = np.array(AXES[str(rng.choice(["+x", "-x", "+y", "-y", "+z"]))])
    face = middle + along * size / 2.0
    across = np.roll(np.abs(along), 1)
    ports = (
        port(
            f"{name}.{end}",
            point(face + side * 11.0 * across),
            point(along),
            fittings=(SMALL_COLLAR,),
            flow=flow,
        )
        for end, side, flow in (("in", -1.0, flows[0]), ("out", 1.0, flows[1]))
    )
    body = Body(
        name=name, solid=Box(frame=Frame(origin=point(middle)), size=point(size))
    )
    return part(name, body, *ports)
