"""Bounds of the distance to a mesh, from samples of it taken once on an even grid.

Most questions of a search are far from being close: for these the bounds will do.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from loopsolver.geometry.mesh_shape import (
    MeshShape,
    bounds_below,
    signed_distances,
)
from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.tolerances import BOUND_ROUNDING

FARTHEST: Final = 24.0
"""Distances are not told apart beyond this [mm]: tube, clearance, and room to spare."""

NODES: Final = 150_000
"""About how many nodes the grid of a mesh has at most."""

FINEST: Final = 5.0
"""Least spacing of the grid [mm]."""

HALF_CELL: Final = 0.87
"""No place of a cell is further from its nearest corner, in sides of the cell."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeshGrid:
    """What is known of the distance to a mesh at the nodes of a grid, in its coordinates.

    Attributes
    ----------
    shape : MeshShape
    low : array (3,) [mm]
        The first node.
    step : float [mm]
    apart : array (nx, ny, nz) [mm]
        The distance to the nearest sample, at most FARTHEST.
    squares : array (nx, ny, nz) [mm2]
        Its square, less that of the node's distance from the mesh's origin.
    nearest : int array (nx, ny, nz)
        That sample; the number of samples where it is further off.
    is_off : bool array (nx, ny, nz)
        Whether the mesh is further from a node than all places to which it is nearest.
    inside : bool array (nx, ny, nz)
        Whether it is off the mesh and inside: so are then these places.
    """

    shape: MeshShape
    low: Array
    step: float
    apart: Array
    squares: Array
    nearest: Indices
    is_off: Flags
    inside: Flags

    def bounds(self, points: Array) -> tuple[Array, Array]:
        """Return what the unsigned distance of points surely lies between, (n,) [mm].

        Notes
        -----
        The square of the distance to the nearest of some samples, less the square of
        the place, is the least of linear functions: concave. So in a cell of the grid it
        is nowhere below what is interpolated between the cell's nodes. And no place of
        the mesh is nearer than MeshShape.reach_of says. From above the distance is
        bounded by that to the sample that is nearest to the nearest node.
        """
        at = (points - self.low) / self.step
        most = np.array(self.squares.shape) - 1
        is_in = ((at >= 0.0) & (at <= most)).all(axis=1)
        low = np.full(len(points), FARTHEST)
        high = np.full(len(points), np.inf)
        at, within = at[is_in], points[is_in]
        cell = np.minimum(at.astype(np.intp), most - 1)
        share = at - cell
        x, y, z = np.moveaxis(np.stack([1.0 - share, share]), 2, 0)
        weights = x[:, None, None] * y[:, None] * z  # (2, 2, 2, n): a cell's corners
        _, ny, nz = self.squares.shape
        corners = np.array([[[0, 1], [nz, nz + 1]]])
        corners = np.concatenate([corners, corners + ny * nz])[..., None]
        every = self.squares.ravel()[corners + self._flat(cell)]
        value = np.einsum("ijkn,ijkn->n", weights, every)
        value += np.einsum("ij,ij->i", within, within) - self.shape.apart**2
        low[is_in] = np.sqrt(np.maximum(value, 0.0)) * (1.0 - BOUND_ROUNDING)
        sample = self.nearest.ravel()[self.nearest_nodes(within)]
        known = np.flatnonzero(sample < self.shape.tree.n)
        apart = within[known] - self.shape.tree.data[sample[known]]
        row = np.flatnonzero(is_in)[known]
        high[row] = np.sqrt(np.einsum("ij,ij->i", apart, apart))
        return low, high

    def insides(self, points: Array) -> Flags:
        """Return which points are inside the mesh, (n,); none where it has no inside.

        Where the grid does not tell, the nearest triangle does.
        """
        shape, found = self.shape, np.zeros(len(points), dtype=np.bool_)
        if not shape.has_inside:
            return found
        is_in = ((points > shape.box[0]) & (points < shape.box[1])).all(axis=1)
        rows = np.flatnonzero(is_in)
        node = self.nearest_nodes(points[rows])
        found[rows] = self.inside.ravel()[node]
        rows = rows[~self.is_off.ravel()[node]]
        found[rows] = signed_distances(shape, points[rows]) < 0.0
        return found

    def nearest_nodes(self, points: Array) -> Indices:
        """Return the numbers of the nodes nearest to points on the grid, (n,)."""
        return self._flat(np.rint((points - self.low) / self.step).astype(np.intp))

    def _flat(self, nodes: Indices) -> Indices:
        _, ny, nz = self.squares.shape
        flat: Indices = (nodes[:, 0] * ny + nodes[:, 1]) * nz + nodes[:, 2]
        return flat


def roughly(shape: MeshShape, points: Array, *, most: float) -> Array:
    """Return signed distances of points, (n,) [mm], too low by some tenths at most.

    What is further off than `most` is told as that, inside as well as outside.
    """
    grid = mesh_grid(shape)
    distance = grid.bounds(points)[0]
    rows = np.flatnonzero(distance < most)
    distance[rows] = bounds_below(shape, points[rows], most=most)
    distance = np.minimum(distance, most)
    return np.where(grid.insides(points), -distance, distance)


@lru_cache(maxsize=64)
def covered_nodes(shape: MeshShape, limit: float) -> Flags:
    """Return for which nodes, one after the other, all places round them are covered.

    That is, those places to which the node is the nearest: each is inside the mesh, or
    surely nearer to it than a limit [mm].
    """
    grid = mesh_grid(shape)
    is_near = grid.apart + HALF_CELL * grid.step < min(limit, FARTHEST)
    covered: Flags = (is_near | grid.inside).ravel()
    return covered


@lru_cache(maxsize=32)
def mesh_grid(shape: MeshShape) -> MeshGrid:
    """Return the grid of a mesh; made once."""
    low = shape.box[0] - FARTHEST
    size = shape.box[1] + FARTHEST - low
    step = max(FINEST, float(np.cbrt(np.prod(size) / NODES)))
    counts = np.ceil(size / step).astype(int) + 1
    nodes = low + step * np.indices(counts).reshape(3, -1).T
    apart, nearest = shape.tree.query(nodes, distance_upper_bound=FARTHEST)
    apart = np.minimum(apart, FARTHEST)
    squares = apart**2 - np.einsum("ij,ij->i", nodes, nodes)
    is_off = apart > max(step, shape.reach_of(HALF_CELL * step))
    inside = np.zeros(len(nodes), dtype=np.bool_)
    if shape.has_inside:
        inside = _insides(shape, nodes, is_off.reshape(counts))
    return MeshGrid(
        shape=shape,
        low=low,
        step=step,
        apart=apart.reshape(counts),
        squares=squares.reshape(counts),
        nearest=np.asarray(nearest, dtype=np.intp).reshape(counts),
        is_off=is_off.reshape(counts),
        inside=inside.reshape(counts),
    )


def _insides(shape: MeshShape, nodes: Array, is_off: Flags) -> Flags:
    """Return which nodes that are off a mesh are inside it, (n,).

    Between neighbouring nodes that are both further off than the step there is no place
    of the mesh: all that hang together are on one side, and one of them is asked.
    """
    from scipy.ndimage import label

    parts, count = label(is_off)
    _, first = np.unique(parts.ravel(), return_index=True)
    first = first[-count:] if count else first[:0]
    asked = signed_distances(shape, nodes[first]) < 0.0
    inside: Flags = np.concatenate([[False], asked])[parts.ravel()]
    return inside
