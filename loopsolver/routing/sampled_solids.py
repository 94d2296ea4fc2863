"""Solids as plain arrays, for measuring a finished tube by means of its own.

Nothing here calls what finds, polishes or measures a route.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Mesh, Solid
from loopsolver.geometry.vectors import Array, Flags, Indices, Point
from loopsolver.routing.sampled_mesh import LaidMesh, laid_mesh, mesh_distance

FAR_OFF: Final = 1e9
"""How far off the row of a mesh is among convex solids [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solids:
    """Convex solids as plain arrays, n of them, and meshes as their triangles.

    Attributes
    ----------
    names : tuple of str
    centre : array (n, 3) [mm]
    axes : array (n, 3, 3)
        Own x, y and z of each, a row an axis.
    half : array (n, 3)
        Half sizes of a box; radius, inf and half height of a cylinder; inf, inf and 0
        of a wall, which is measured from its plane [mm].
    is_round, is_wall : bool array (n,)
    rounding : array (n,)
        By how much it is grown all round [mm].
    meshes : tuple of (int, LaidMesh)
        The number of each that is a mesh; its row among the others is endlessly far off.
    """

    names: tuple[str, ...]
    centre: Array
    axes: Array
    half: Array
    is_round: Flags
    is_wall: Flags
    rounding: Array
    meshes: tuple[tuple[int, LaidMesh], ...] = ()


def signed_distances(solids: Solids, which: Indices, points: Array) -> Array:
    """Return signed distances of points (k, n, 3) to solids `which` (k,) [mm]."""
    distances = convex_distances(solids, which, points)
    for number, mesh in solids.meshes:
        for row in np.flatnonzero(which == number):
            distances[row] = [mesh_distance(mesh, at) for at in points[row]]
    return distances


def convex_distances(solids: Solids, which: Indices, points: Array) -> Array:
    """Return the same; meshes are endlessly far off."""
    own = np.einsum(
        "knc,kac->akn", points - solids.centre[which, None], solids.axes[which]
    )
    half = solids.half[which].T[:, :, None]
    x = np.where(solids.is_round[which, None], np.hypot(own[0], own[1]), np.abs(own[0]))
    z = np.where(solids.is_wall[which, None], own[2], np.abs(own[2]))
    beyond = np.stack([x, np.abs(own[1]), z]) - half
    outside = np.sqrt((np.maximum(beyond, 0.0) ** 2).sum(axis=0))
    inside = np.minimum(beyond.max(axis=0), 0.0)
    distances: Array = outside + inside - solids.rounding[which, None]
    return distances


def laid_out(obstacles: Sequence[Obstacle]) -> Solids:
    """Return obstacles as plain arrays."""
    centre, axes, half = zip(*(_row(one.solid) for one in obstacles), strict=True)
    solids = [obstacle.solid for obstacle in obstacles]
    return Solids(
        names=tuple(obstacle.name for obstacle in obstacles),
        centre=np.array(centre),
        axes=np.array(axes),
        half=np.array(half),
        is_round=np.array([isinstance(solid, Cylinder) for solid in solids]),
        is_wall=np.array([isinstance(solid, HalfSpace) for solid in solids]),
        rounding=np.array(
            [s.rounding if isinstance(s, Cylinder) else 0.0 for s in solids]
        ),
        meshes=tuple(
            (number, laid_mesh(solid))
            for number, solid in enumerate(solids)
            if isinstance(solid, Mesh)
        ),
    )


def _row(solid: Solid) -> tuple[Point, tuple[Point, ...], Point]:
    """Return a solid's centre, axes and half sizes."""
    match solid:
        case Box(frame=frame, size=(x, y, z)):
            return frame.origin, frame.axes, (x / 2.0, y / 2.0, z / 2.0)
        case Cylinder(frame=frame):
            half = (solid.diameter / 2.0, math.inf, solid.height / 2.0)
            return frame.origin, frame.axes, half
        case HalfSpace():
            none = (0.0, 0.0, 0.0)
            return solid.point, (none, none, solid.normal), (math.inf, math.inf, 0.0)
        case Mesh():
            none = (0.0, 0.0, 0.0)
            return none, (none, none, none), (math.inf, math.inf, -FAR_OFF)
