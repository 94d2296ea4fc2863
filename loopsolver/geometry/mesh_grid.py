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

FARTHEST: Final = 36.0
"""Distances are not told apart beyond this [mm]: tube, clearance and most of a bend."""

NODES: Final = 150_000
"""About how many nodes the grid of a mesh has at most."""

FINEST: Final = 4.0
"""Least spacing of the grid [mm]."""


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
    inside : bool array (nx, ny, nz)
        Whether a node is inside; told only where it is further from the mesh than `step`.
    """

    shape: MeshShape
    low: Array
    step: float
    apart: Array
    squares: Array
    nearest: Indices
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
        flat = self._flat(cell)
        share = at - cell
        value = np.zeros(len(at))
        _, ny, nz = self.squares.shape
        squares = self.squares.ravel()
        for i in (0, 1):
            for j in (0, 1):
                for k in (0, 1):
                    weight = np.abs(1 - i - share[:, 0]) * np.abs(1 - j - share[:, 1])
                    weight *= np.abs(1 - k - share[:, 2])
                    value += weight * squares[flat + (i * ny + j) * nz + k]
        value += np.einsum("ij,ij->i", within, within) - self.shape.apart**2
        low[is_in] = np.sqrt(np.maximum(value, 0.0)) * (1.0 - BOUND_ROUNDING)
        sample = self.nearest.ravel()[self._flat(np.rint(at).astype(np.intp))]
        known = np.flatnonzero(sample < self.shape.tree.n)
        apart = within[known] - self.shape.tree.data[sample[known]]
        row = np.flatnonzero(is_in)[known]
        high[row] = np.sqrt(np.einsum("ij,ij->i", apart, apart))
        return low, high

    def is_inside(self, points: Array) -> Flags:
        """Return which points are inside; of those further off the mesh than `step`."""
        at = np.rint((points - self.low) / self.step).astype(np.intp)
        most = np.array(self.squares.shape) - 1
        is_in = ((at >= 0) & (at <= most)).all(axis=1)
        inside = self.inside.ravel()[self._flat(np.clip(at, 0, most))]
        found: Flags = inside & is_in
        return found

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
    is_in = ((points > shape.box[0]) & (points < shape.box[1])).all(axis=1)
    if not is_in.any() or not shape.has_inside:
        return distance
    inside = is_in & (distance > 2.0 * grid.step)
    inside[inside] = grid.is_inside(points[inside])
    near = np.flatnonzero(is_in & (distance <= 2.0 * grid.step))
    inside[near] = signed_distances(shape, points[near]) < 0.0
    return np.where(inside, -distance, distance)


@lru_cache(maxsize=64)
def covered_nodes(shape: MeshShape, limit: float) -> Flags:
    """Return for which nodes, one after the other, all places round them are covered.

    That is, those places to which the node is the nearest: each is inside the mesh, or
    surely nearer to it than a limit [mm].
    """
    grid = mesh_grid(shape)
    half = 0.87 * grid.step  # a cell's middle is nearer than this to its corners
    covered = grid.apart + half < min(limit, FARTHEST)
    covered |= grid.inside & (grid.apart > max(grid.step, shape.reach_of(half)))
    flat: Flags = covered.ravel()
    return flat


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
    inside = np.zeros(len(nodes), dtype=np.bool_)
    if shape.has_inside:
        inside = _insides(shape, nodes, (apart > step).reshape(counts))
    return MeshGrid(
        shape=shape,
        low=low,
        step=step,
        apart=apart.reshape(counts),
        squares=squares.reshape(counts),
        nearest=np.asarray(nearest, dtype=np.intp).reshape(counts),
        inside=inside.reshape(counts),
    )


def _insides(shape: MeshShape, nodes: Array, is_off: Flags) -> Flags:
    """Return which nodes that are off the mesh are inside it, (n,).

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
