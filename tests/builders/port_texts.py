"""Scene files of a few ports, each by its place in the case, and boxes by two corners.

All is in millimetres in the case frame: a component that is nothing but a port stands
where the port is, and its port is called a.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from tests.builders import texts


def port(
    name: str,
    at: tuple[float, ...],
    direction: str | tuple[float, ...],
    fitting: str | list[str] = "collar",
) -> str:
    """Return a component that is nothing but a port, called a."""
    return texts.part(name, at, texts.port("a", [0, 0, 0], direction, fitting=fitting))


def seated(name: str, seat: tuple[float, ...], direction: tuple[float, ...]) -> str:
    """Return a port with a collar, by where its tube ends: 20 - 12 mm before its face."""
    along = np.array(direction) / np.linalg.norm(direction)
    return port(name, tuple((np.array(seat) - 8.0 * along).tolist()), direction)


def box(name: str, low: tuple[float, ...], high: tuple[float, ...]) -> str:
    """Return a component that is a box between two corners."""
    centre = [(a + b) / 2.0 for a, b in zip(low, high, strict=True)]
    size = [b - a for a, b in zip(low, high, strict=True)]
    return texts.part(name, centre, texts.box(size, [0, 0, 0]))


def run(start: str, goal: str, **own: Any) -> str:
    """Return a run between two such ports, with rules of its own."""
    return texts.run(f"{start}.a", f"{goal}.a", **own)


def text(
    *parts: str,
    bend_radius: float | Sequence[float] = 28,
    clearance: float = 3,
    bend_angles: str | Sequence[float] = (90,),
    turn_step: str | float = "any",
    max_bends: int = 5,
    candidates: int = 6,
    height: float = 14,
    turn: float = 90,
    **bought: float,
) -> str:
    """Return the scene file of such parts, with a collar, and an elbow called corner.

    `height` and `turn` [degrees] are the elbow's; `bought` is what else is known of the
    tube.
    """
    corner = texts.elbow(height=height, turn=turn, reach=24)
    head = texts.head(
        inner=[300, 300, 300],
        tube={**texts.TUBE, "bend_radius": bend_radius, **bought},
        rules={
            "clearance": clearance,
            "straight_between_bends": 15,
            "bend_angles": bend_angles,
            "turn_step": turn_step,
            "max_bends": max_bends,
            "candidates": candidates,
        },
        fittings={"collar": texts.COLLAR, "corner": corner},
    )
    return "".join([head, *parts])


def scene(*parts: str, **rules: Any) -> Scene:
    """Return the scene of such parts; the rules are those of `text`."""
    return scene_from_text(text(*parts, **rules), file="ports.toml")
