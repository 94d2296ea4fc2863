"""The triangles of a mesh, for measuring a finished tube by means of its own.

Nothing here calls what finds, polishes or measures a route.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from loopsolver.geometry.solids import Mesh
from loopsolver.geometry.vectors import Array, Indices
from loopsolver.tolerances import CLOSURE, GAP_RESOLUTION

CELLS: Final = 32
"""Into how many cells the longest side of a mesh is cut: some triangles to a cell."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidMesh:
    """The triangles of a mesh where it stands, cell by cell of an even grid.

    Attributes
    ----------
    corners : array (t, 3, 3) [mm]
        Of the triangles; those whose middles lie in one cell follow each other.
    first : int array (c + 1,)
        Where those of each cell begin, and how many there are altogether.
    low, high : arrays (c, 3) [mm]
        The box round the triangles of each cell.
    box : array (2, 3) [mm]
        The box round all triangles.
    one : array (c, 3) [mm]
        A corner of a triangle of each.
    is_closed : bool
        Whether it has an inside.
    """

    corners: Array
    first: Indices
    low: Array
    high: Array
    box: Array
    one: Array
    is_closed: bool

    def near(self, low: Array, high: Array, reach: float) -> Indices:
        """Return the triangles of cells that may be within reach of a box."""
        apart = np.maximum(self.low - high, low - self.high)
        cells = np.flatnonzero((apart < reach).all(axis=1))
        counts = np.diff(self.first)[cells]
        within = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
        found: Indices = np.repeat(self.first[cells], counts) + within
        return found

    def off(self, points: Array) -> Array:
        """Return how far points (n, 3) are from the box round all, (n,) [mm]."""
        lowest, highest = self.box
        beyond = np.maximum(np.maximum(lowest - points, points - highest), 0.0)
        found: Array = np.sqrt((beyond**2).sum(axis=1))
        return found

    def no_nearer(self, points: Array) -> float:
        """Return a distance from some corner to the nearest of points (n, 3) [mm]."""
        ways = self.one - points[:, None]
        return float(np.linalg.norm(ways, axis=2).min())

    def encloses(self, at: Array) -> bool:
        """Return whether a place, (3,) [mm], is inside.

        Notes
        -----
        The solid angles under which the triangles are seen add up to a whole turn of
        4 pi from inside a closed surface and to none from outside.

        References
        ----------
        A. van Oosterom and J. Strackee, The Solid Angle of a Plane Triangle, IEEE
        Transactions on Biomedical Engineering 30 (1983). From memory.
        """
        if not self.is_closed or self.off(at[None])[0] > 0.0:
            return False
        a, b, c = (self.corners[:, k] - at for k in range(3))
        x, y, z = (np.linalg.norm(one, axis=1) for one in (a, b, c))
        above = (a * np.cross(b, c)).sum(axis=1)
        beside = x * y * z + (a * b).sum(axis=1) * z
        beside += (b * c).sum(axis=1) * x + (c * a).sum(axis=1) * y
        return float(np.arctan2(above, beside).sum()) > math.pi


@lru_cache(maxsize=32)
def laid_mesh(mesh: Mesh) -> LaidMesh:
    """Return the triangles of a mesh where it stands; laid once."""
    axes, origin = np.array(mesh.frame.axes), np.array(mesh.frame.origin)
    corners = (origin + mesh.shape.vertices @ axes)[mesh.shape.faces]
    a, b, c = (corners[:, k] for k in range(3))
    middles = (a + b + c) / 3.0
    middles -= [column.min() for column in middles.T]
    side = max(float(middles.max()) / CELLS, CLOSURE)
    x, y, z = (middles / side).astype(np.intp).T
    number = (x * 2 * CELLS + y) * 2 * CELLS + z
    order = np.argsort(number, kind="stable")
    number = number[order]
    is_first = np.concatenate([[True], number[1:] != number[:-1]])
    first = np.flatnonzero(is_first)
    low = np.minimum.reduceat(np.minimum(np.minimum(a, b), c)[order], first)
    high = np.maximum.reduceat(np.maximum(np.maximum(a, b), c)[order], first)
    return LaidMesh(
        corners=corners[order],
        first=np.append(first, len(number)),
        low=low,
        high=high,
        box=np.stack([low.min(axis=0), high.max(axis=0)]),
        one=a[order[first]],
        is_closed=mesh.shape.has_inside,
    )


def mesh_distance(mesh: LaidMesh, at: Array) -> float:
    """Return the signed distance of a point (3,) to a mesh [mm]."""
    near = mesh.near(at, at, mesh.no_nearer(at[None]) + GAP_RESOLUTION)
    every = np.broadcast_to(at, (len(near), 1, 3))
    distance = float(triangle_distances(mesh.corners, near, every).min())
    return -distance if mesh.encloses(at) else distance


def triangle_distances(corners: Array, which: Indices, points: Array) -> Array:
    """Return distances of points (k, n, 3) to triangles `which` (k,) [mm].

    To the plane where the foot on it lies within all three sides, else to the sides.
    """
    a, b, c = (corners[which, k][:, None] for k in range(3))
    normal = np.cross(b - a, c - a)
    square = (normal**2).sum(axis=2)
    height = ((points - a) * normal).sum(axis=2)
    within = np.ones(points.shape[:2], dtype=np.bool_)
    nearest = np.full(points.shape[:2], np.inf)
    for start, end in ((a, b), (b, c), (c, a)):
        along, off = end - start, points - start
        within &= (np.cross(along, off) * normal).sum(axis=2) >= 0.0
        share = (off * along).sum(axis=2) / (along**2).sum(axis=2)
        foot = off - np.clip(share, 0.0, 1.0)[..., None] * along
        nearest = np.minimum(nearest, np.linalg.norm(foot, axis=2))
    return np.where(within, np.abs(height) / np.sqrt(square), nearest)
