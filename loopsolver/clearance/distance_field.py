"""The distance to the nearest solid, sampled once on an even grid.

The search asks millions of times whether there is room at a point. Between the nodes of
a grid the distance is interpolated, which is true to a few tenths of a millimetre but
for edges and thin bodies: good enough to choose what is worth an exact look.

References
----------
To go on by the distance that is free is sphere tracing: Hart, The Visual Computer 12
(1996). From memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.clearance.ball_rows import in_rows
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.mesh_grid import roughly
from loopsolver.geometry.solid_set import SolidSet, stack
from loopsolver.geometry.solids import HalfSpace, Mesh, Solid, bounds, signed_distance
from loopsolver.geometry.vectors import Array, Point, point

FARTHEST_TOLD: Final = 24.0
"""Distances are not told apart beyond this [mm], or twice the spacing if that is more."""

GRID_MARGIN: Final = 150.0
"""How far the grid reaches beyond bodies where no wall ends it [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DistanceField:
    """Distances to the nearest solid on a grid.

    Attributes
    ----------
    values : float32 array (nx, ny, nz) [mm]
        Signed distance, up to FARTHEST_TOLD.
    low : array (3,) [mm]
        The first node.
    step : float [mm]
    solids : SolidSet
        What was sampled.
    """

    values: NDArray[np.float32]
    low: Array
    step: float
    solids: SolidSet

    def at(self, points: Array) -> Array:
        """Return the distance at points, (...,) [mm]; beyond the grid that at its rim.

        Parameters
        ----------
        points : array (..., 3) [mm]
        """
        from scipy.ndimage import map_coordinates

        flat = (points.reshape(-1, 3) - self.low) / self.step
        found = map_coordinates(
            self.values, flat.T, order=1, mode="nearest", output=np.float32
        )
        return np.asarray(found.reshape(points.shape[:-1]), dtype=np.float64)

    @property
    def furthest(self) -> float:
        """The way from one corner of the grid to the opposite one [mm]."""
        return self.step * float(np.linalg.norm(self.values.shape))

    def free_along(self, origins: Array, directions: Array, *, reach: float) -> Array:
        """Return how far one can go from each origin and keep `reach` [mm].

        Nothing goes further than the grid is large.

        Parameters
        ----------
        origins, directions : arrays (n, 3)
        reach : float [mm]
        """
        gone = np.zeros(len(origins))
        rows = np.arange(len(origins))
        while len(rows):
            here = origins[rows] + gone[rows, None] * directions[rows]
            free = self.at(here) - reach
            rows, free = rows[free >= 0.0], free[free >= 0.0]
            gone[rows] += np.maximum(free, self.step / 2.0)
            rows = rows[gone[rows] < self.furthest]
        return np.minimum(gone, self.furthest)


@lru_cache(maxsize=4)
def distance_field(
    obstacles: tuple[Obstacle, ...], *, step: float, most_nodes: int
) -> DistanceField:
    """Return the distance field of a run's obstacles.

    Parameters
    ----------
    obstacles : tuple of Obstacle
    step : float
        Spacing of the grid [mm], wider where there would be too many nodes.
    most_nodes : int
    """
    solids = [obstacle.solid for obstacle in obstacles]
    low, high = _extent(solids, step)
    size = high - low
    step = max(step, float(np.cbrt(np.prod(size) / most_nodes)))
    counts = np.ceil(size / step).astype(int) + 1
    grid = _Grid(low=point(low), step=step, counts=(*counts.tolist(),))
    values = np.full(counts, grid.most, dtype=np.float32)
    for group in in_rows(solids):
        _lower_near(values, grid, group)
    return DistanceField(values=values, low=low, step=step, solids=stack(solids))


def _extent(solids: list[Solid], least: float) -> tuple[Array, Array]:
    """Return the corners of a box round all that is bounded, cut off by square walls.

    Its sides are no shorter than `least` [mm].
    """
    every = np.array([bounds(s) for s in solids if not isinstance(s, HalfSpace)])
    walls = np.array([bounds(s) for s in solids if isinstance(s, HalfSpace)]).reshape(
        -1, 2, 3
    )
    inner_low = np.max(
        walls[:, 1], axis=0, where=np.isfinite(walls[:, 1]), initial=-np.inf
    )
    inner_high = np.min(
        walls[:, 0], axis=0, where=np.isfinite(walls[:, 0]), initial=np.inf
    )
    if not len(every):
        every = np.array([[np.zeros(3), np.zeros(3)]])
    low = every[:, 0].min(axis=0) - GRID_MARGIN
    high = every[:, 1].max(axis=0) + GRID_MARGIN
    low = np.where(np.isfinite(inner_low), inner_low, low)
    high = np.where(np.isfinite(inner_high), inner_high, high)
    return low, np.maximum(high, low + least)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Grid:
    """An even grid: its first node [mm], the spacing [mm], and how many nodes it has."""

    low: Point
    step: float
    counts: tuple[int, ...]

    @property
    def most(self) -> float:
        """Distances are not told apart beyond this [mm]."""
        return max(FARTHEST_TOLD, 2.0 * self.step)

    @property
    def axes(self) -> list[Array]:
        """The coordinates along x, y and z [mm]."""
        return [
            low + self.step * np.arange(count, dtype=np.float64)
            for low, count in zip(self.low, self.counts, strict=True)
        ]


def _lower_near(
    values: NDArray[np.float32], grid: _Grid, group: tuple[Solid, ...]
) -> None:
    """Lower the values near a solid, or a row of balls, to its distance."""
    solid = group[0]
    if isinstance(solid, HalfSpace):
        parts = [
            n * (x - p)
            for n, x, p in zip(
                solid.normal, np.ix_(*grid.axes), solid.point, strict=True
            )
            if n
        ]
        np.minimum(values, np.asarray(sum(parts), dtype=np.float32), out=values)
        return
    window, distance = _near(group, grid)
    np.minimum(values[window], distance, out=values[window])


_Window = tuple[slice, ...]


@lru_cache(maxsize=128)
def _near(group: tuple[Solid, ...], grid: _Grid) -> tuple[_Window, NDArray[np.float32]]:
    """Return which nodes of a grid are near any of some solids, and how far off [mm].

    Reckoned once for the runs of a loop, which have most solids in common.
    """
    windows = [_window(solid, grid) for solid in group]
    whole = tuple(
        slice(min(one.start for one in parts), max(one.stop for one in parts))
        for parts in zip(*windows, strict=True)
    )
    shape = [part.stop - part.start for part in whole]
    distance = np.full(shape, grid.most, dtype=np.float32)
    for solid, window in zip(group, windows, strict=True):
        here = distance[
            tuple(
                slice(part.start - base.start, part.stop - base.start)
                for part, base in zip(window, whole, strict=True)
            )
        ]
        np.minimum(here, _distances(solid, grid, window), out=here)
    return whole, distance


def _window(solid: Solid, grid: _Grid) -> _Window:
    """Return which nodes of a grid are near a solid's box."""
    low, high = bounds(solid)
    return tuple(
        slice(*np.searchsorted(x, [low[a] - grid.most, high[a] + grid.most]).tolist())
        for a, x in enumerate(grid.axes)
    )


def _distances(solid: Solid, grid: _Grid, window: _Window) -> NDArray[np.float32]:
    """Return how far some nodes of a grid are from a solid [mm]."""
    x, y, z = (axis[part] for axis, part in zip(grid.axes, window, strict=True))
    points = np.stack(np.meshgrid(x, y, z, indexing="ij"), axis=-1)
    flat = points.reshape(-1, 3)
    if isinstance(solid, Mesh) and len(flat):
        distance = roughly(solid.shape, solid.own(flat), most=grid.most)
    else:
        distance = signed_distance(solid, flat)
    return distance.reshape(points.shape[:3]).astype(np.float32)
