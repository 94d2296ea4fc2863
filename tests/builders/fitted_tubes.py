"""Scenes of one tube between two ports, as a search would lay it: for chances of fit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from loopsolver.geometry.vectors import Point, difference, offset, unit
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Fitting, Scene, Spread
from tests.builders import plans, scenes
from tests.builders.scenes import COLLAR, part, port

WAYS: dict[str, tuple[Point, ...]] = {
    "corner": ((0, 0, 0), (0, 0, 150), (120, 0, 150)),
    "stairs": ((0, 0, 0), (0, 0, 100), (90, 0, 100), (90, 120, 100)),
    "U": ((0, 0, 0), (0, 0, 90), (110, 0, 90), (110, 0, 0)),
    "Z": ((0, 0, 0), (0, 0, 90), (110, 0, 90), (110, 0, 220)),
    "five": (
        (0, 0, 0),
        (0, 0, 80),
        (90, 0, 80),
        (90, 110, 80),
        (90, 110, 190),
        (200, 110, 190),
        (200, 200, 190),
    ),
}
"""Tubes by their vertices [mm]."""


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """A scene, and the one tube in it."""

    scene: Scene
    candidate: Candidate


def fitted(
    way: str, *, fitting: Fitting = COLLAR, spread: Spread | None = None, **more: Any
) -> Fitted:
    """Return a tube of `WAYS` with the ports that its ends sit in."""
    vertices = WAYS[way]
    reach = fitting.height - fitting.depth
    ports, ends = [], []
    for name, end, beside in (
        ("a.out", vertices[0], vertices[1]),
        ("b.in", vertices[-1], vertices[-2]),
    ):
        out = unit(difference(beside, end))
        ports.append(
            replace(
                port(name, offset(end, out, -reach), "+z"),
                direction=out,
                fittings=(fitting,),
            )
        )
        ends.append(plans.ending(name, out, offset(end, out, fitting.depth)))
    scene = scenes.scene(part("a", ports[0]), part("b", ports[1]), **more)
    return Fitted(
        scene=replace(scene, spread=spread or Spread()),
        candidate=plans.candidate(*vertices, ends=tuple(ends)),
    )
