"""Scenes with parts of the shelf, and what stands in them."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from loopsolver.geometry.solids import bounds
from loopsolver.scene.model import Component, Scene
from loopsolver.scene.reader import scene_from_text
from tests.builders.texts import Keys, head, part, table

INNER = (800, 800, 800)


def text_with(keys: Keys, *, position: object = (0, 0, 0), **own: object) -> str:
    """Return a scene with one part of the shelf, called `it`."""
    return head(inner=INNER) + part("it", position, part=keys, **own)


def cubes_at(points: Iterable[str]) -> str:
    """Return cubes of 1 mm, `at_NAME`, their least corner at a point of that part."""
    return "".join(
        table(
            f"[components.at_{point}]",
            {"place": {"point": "origin", "from": f"it.{point}", "offset": [0, 0, 0]}},
        )
        + table(
            f"[[components.at_{point}.bodies]]",
            {"box": [1, 1, 1], "corner": [0, 0, 0]},
        )
        for point in points
    )


def scene_with(
    keys: Keys, *, position: object = (0, 0, 0), more: str = "", **own: object
) -> Scene:
    """Return the scene that such a text, and `more` of it, is read to."""
    text = text_with(keys, position=position, **own)
    return scene_from_text(text + more, file="shelf.toml")


def the_part(keys: Keys, *, position: object = (0, 0, 0), **own: object) -> Component:
    """Return the one component of such a scene."""
    text = text_with(keys, position=position, **own)
    (component,) = scene_from_text(text, file="shelf.toml").components
    return component


def corners(component: Component) -> tuple[list[float], list[float]]:
    """Return the least and greatest x, y, z of a component's bodies, to 1e-9 mm."""
    every = np.array([bounds(body.solid) for body in component.bodies])
    least, most = every[:, 0].min(axis=0), every[:, 1].max(axis=0)
    return least.round(9).tolist(), most.round(9).tolist()
