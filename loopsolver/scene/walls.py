"""The walls of a case as solids, and the room in which tubes are looked for."""

from __future__ import annotations

from typing import Final

import numpy as np

from loopsolver.geometry.solids import HalfSpace, bounds
from loopsolver.geometry.vectors import Point, point
from loopsolver.scene.model import Scene

Room = tuple[Point, Point]
"""Lowest and highest x, y, z [mm]."""

OPEN_ROOM: Final = 200.0
"""How far round all parts tubes are looked for where there are no walls [mm].

Common practice, no source: more than a fitting and two bends of the usual radius take.
"""


def case_walls(scene: Scene) -> tuple[tuple[str, HalfSpace], ...]:
    """Return the six case walls under the names that messages use; none without walls.

    Each is all the space behind the wall, so that nothing can be outside the case.
    """
    if scene.case_inner is None:
        return ()
    x, y, z = scene.case_inner
    return (
        ("case wall -x", HalfSpace(point=(0.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0))),
        ("case wall +x", HalfSpace(point=(x, 0.0, 0.0), normal=(-1.0, 0.0, 0.0))),
        ("case wall -y", HalfSpace(point=(0.0, 0.0, 0.0), normal=(0.0, 1.0, 0.0))),
        ("case wall +y", HalfSpace(point=(0.0, y, 0.0), normal=(0.0, -1.0, 0.0))),
        ("case wall -z", HalfSpace(point=(0.0, 0.0, 0.0), normal=(0.0, 0.0, 1.0))),
        ("case wall +z", HalfSpace(point=(0.0, 0.0, z), normal=(0.0, 0.0, -1.0))),
    )


PICTURED: Final = 60.0
"""How far round all parts a picture shows where there are no walls [mm]."""


def room(scene: Scene, *, beyond: float = OPEN_ROOM) -> Room:
    """Return where tubes may be: the case's inside, or without walls all round parts.

    Parameters
    ----------
    scene : Scene
    beyond : float
        How far round, from the datum and all parts [mm].
    """
    if scene.case_inner is not None:
        return (0.0, 0.0, 0.0), scene.case_inner
    bodies = [body for part in scene.components for body in part.bodies]
    corners = [bounds(body.solid) for body in (*bodies, *scene.keep_outs)]
    ports = [port.position for part in scene.components for port in part.ports]
    places = np.array([(0.0, 0.0, 0.0), *ports, *np.reshape(corners, (-1, 3))])
    return point(places.min(axis=0) - beyond), point(places.max(axis=0) + beyond)
