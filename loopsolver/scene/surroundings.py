"""All that stands in a scene, with its bounds, so that what is near is found fast."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.solids import Solid, bounds
from loopsolver.geometry.vectors import Array
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import case_walls


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """Something that takes up room; `owner` is its component, empty where it has none."""

    name: str
    solid: Solid
    owner: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surroundings:
    """Things, and the lowest and highest x, y, z of each, (n, 2, 3) [mm]."""

    things: tuple[Thing, ...]
    bounds: Array

    def near(self, corners: Array, *, after: int = -1) -> Iterator[int]:
        """Yield the places of things after one whose bounds share room with others.

        Bodies can only overlap where their bounds do; bounds that touch share none.

        Parameters
        ----------
        corners : array (2, 3)
            Lowest and highest x, y, z [mm]; the same twice for a point.
        """
        here = self.bounds[after + 1 :]
        shared = (here[:, 0] < corners[1]) & (here[:, 1] > corners[0])
        yield from (np.flatnonzero(shared.all(axis=1)) + after + 1).tolist()


def bodies_of(scene: Scene) -> Surroundings:
    """Return the bodies of a scene's components, in its order."""
    return with_bounds(
        Thing(name=body.name, solid=body.solid, owner=component.name)
        for component in scene.components
        for body in component.bodies
    )


def surroundings(scene: Scene) -> Surroundings:
    """Return the bodies of a scene's components, its keep-outs and the case walls."""
    spaces = [
        Thing(name=f"keep-out {space.name}", solid=space.solid)
        for space in scene.keep_outs
    ]
    walls = [Thing(name=name, solid=wall) for name, wall in case_walls(scene)]
    return with_bounds((*bodies_of(scene).things, *spaces, *walls))


def with_bounds(things: Iterable[Thing]) -> Surroundings:
    """Return things with their bounds, in the same order."""
    every = tuple(things)
    corners = np.array([bounds(thing.solid) for thing in every]).reshape(-1, 2, 3)
    return Surroundings(things=every, bounds=corners)
