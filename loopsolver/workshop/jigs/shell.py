"""Closed shells of triangles, put together without any boolean operation.

A part is drawn as pieces of surface that share their corners: skins over grids of
points, and flat faces that are convex, with one convex hole at most. `closed_shell`
joins them and refuses what does not close.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.errors import GeometryError
from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import WRITTEN_DECIMALS

Surface = Array
"""Triangles, each its three corners seen counter-clockwise from outside, (n, 3, 3) [mm]."""

_NOTHING: Final[frozenset[tuple[int, int]]] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Shell:
    """A closed shell: every edge has one triangle at either side.

    Attributes
    ----------
    vertices : Array, (n, 3)
        [mm].
    triangles : integers, (m, 3)
        Indices of vertices, counter-clockwise as seen from outside.
    """

    vertices: Array
    triangles: NDArray[np.int64]

    @property
    def surface(self) -> Surface:
        """Its triangles by their corners [mm]."""
        surface: Surface = self.vertices[self.triangles]
        return surface

    @property
    def size(self) -> tuple[float, float, float]:
        """How far it reaches along x, y and z [mm]."""
        x, y, z = np.ptp(self.vertices, axis=0).tolist()
        return (x, y, z)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatSide:
    """A flat face's own directions, of length 1: right, and up as it is read."""

    right: Array
    up: Array

    @property
    def axes(self) -> Array:
        """Right, up and out of the solid, (3, 3)."""
        return np.array([self.right, self.up, np.cross(self.right, self.up)])


def closed_shell(surfaces: Iterable[Surface]) -> Shell:
    """Return pieces of surface as one closed shell.

    Raises
    ------
    GeometryError
        If an edge has not one triangle at either side: the shell is open.
    """
    soup = np.concatenate(list(surfaces)).round(WRITTEN_DECIMALS) + 0.0
    vertices, places = np.unique(soup.reshape(-1, 3), axis=0, return_inverse=True)
    triangles = places.reshape(-1, 3).astype(np.int64)
    first, second, third = triangles.T
    flat = (first == second) | (second == third) | (third == first)
    triangles = triangles[~flat]
    edges = np.concatenate([triangles[:, [i, (i + 1) % 3]] for i in range(3)])
    forth, back = (
        edges @ weights for weights in ((len(vertices), 1), (1, len(vertices)))
    )
    if len(np.unique(forth)) < len(forth) or np.any(np.sort(forth) != np.sort(back)):
        msg = f"a shell of {len(triangles)} triangles to be printed does not close"
        raise GeometryError(msg)
    return Shell(vertices=vertices, triangles=triangles)


def skin(grid: Array, *, left_out: Set[tuple[int, int]] = _NOTHING) -> Surface:
    """Return the surface over a grid of points (n, k, 3), but for some of its fields.

    It is seen from outside where a step along the second index, then one along the
    first, turn counter-clockwise. To close it round, repeat its first row or column.
    """
    a, b, d, c = grid[:-1, :-1], grid[:-1, 1:], grid[1:, :-1], grid[1:, 1:]
    halves = np.stack(
        [np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)], axis=2
    )
    kept = np.ones(halves.shape[:2], dtype=bool)
    for field in left_out:
        kept[field] = False
    surface: Surface = halves[kept].reshape(-1, 3, 3)
    return surface


def turned_round(profile: Sequence[tuple[float, float]], *, count: int) -> Array:
    """Return the grid of a profile turned round the z axis, (count + 1, k, 3) [mm].

    Parameters
    ----------
    profile : sequence of pairs
        Distance from the axis and height, outside at the right as it is walked [mm].
    count : int
        Of steps in a full turn.
    """
    angles = 2.0 * np.pi * (np.arange(count + 1) % count) / count
    radius, height = np.asarray(profile, dtype=np.float64)[::-1].T
    x, y = np.outer(np.cos(angles), radius), np.outer(np.sin(angles), radius)
    grid: Array = np.stack([x, y, np.broadcast_to(height, x.shape)], axis=2)
    return grid


def fan(outline: Array) -> Surface:
    """Return the face in a convex outline (n, 3), spread from its first corner."""
    first = np.broadcast_to(outline[0], (len(outline) - 2, 3))
    surface: Surface = np.stack([first, outline[1:-1], outline[2:]], axis=1)
    return surface


def ring(outer: Array, inner: Array, ground: FlatSide) -> Surface:
    """Return the flat face between two convex outlines (n, 3), one within the other.

    Both run counter-clockwise as the face is seen from outside.

    Raises
    ------
    GeometryError
        If they are not so.

    Notes
    -----
    From a corner of the outer one all edges of the inner one are filled that are seen
    from there, then the next corner is taken. What is filled so never crosses the inner
    outline: it lies at one side of the line to the last corner seen.
    """
    out, into = outer @ ground.axes[:2].T, inner @ ground.axes[:2].T
    count, holes = len(out), len(into)
    steps = np.roll(into, -1, axis=0) - into
    away = out[:, None] - into
    seen = steps[:, 0] * away[..., 1] - steps[:, 1] * away[..., 0] < 0.0
    at = next((j for j in range(holes) if seen[0, j] and not seen[0, j - 1]), 0)
    corner, last, triangles = 0, at + holes, []
    for _ in range(count + holes):
        here, there = outer[corner % count], inner[at % holes]
        if at < last and seen[corner % count, at % holes]:
            at += 1
            triangles.append((here, inner[at % holes], there))
        else:
            corner += 1
            triangles.append((here, outer[corner % count], there))
    if corner != count or at != last:
        msg = f"an outline of {holes} corners does not lie within one of {count}"
        raise GeometryError(msg)
    return np.array(triangles)
