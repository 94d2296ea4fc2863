"""Short tubes between two ports, to be put into words."""

from __future__ import annotations

from dataclasses import replace

from loopsolver.plan import PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from tests.builders.plans import Points, candidate, ending, planned
from tests.builders.scenes import tube
from tests.builders.texts import head, part, port

STRAIGHT: Points = ((0, 0, 0), (200, 0, 0))
ONE_BEND: Points = ((0, 0, 0), (100, 0, 0), (100, 100, 0))
TWO_PLANES: Points = ((0, 0, 0), (100, 0, 0), (100, 80, 0), (100, 80, 80))


def made(
    vertices: Points, *, gap: float = 5.0, name: str = "tank", radius: float = 28.0
) -> Candidate:
    return candidate(*vertices, gap=gap, name=name, radius=radius)


def run_of(*candidates: Candidate, chosen: int = 1) -> PlannedRun:
    return planned("a to b", candidates, chosen=chosen)


SCENE = "".join(
    [
        head(inner=[300, 300, 300]),
        part("a", [0, 0, 0], port("out", [0, 100, 100], "+x")),
        part("b", [0, 0, 0], port("in", [100, 100, 0], "+z")),
    ]
)


def scene_of(**changes: object) -> Scene:
    """Return the scene of both ports, with another tube."""
    scene = scene_from_text(SCENE, file="ouzel.toml")
    return replace(scene, tube=tube(**changes))


def held(*vertices: tuple[float, float, float]) -> Candidate:
    """Return a candidate whose ends go into the collar of `a.out` and `b.in`."""
    ends = tuple(ending(port, (1, 0, 0), (0, 0, 0)) for port in ("a.out", "b.in"))
    return replace(made(vertices), ends=ends)
