"""Where along the lines of a lattice the centre line of a tube may not be.

A solid grown by `reach` (tube radius and clearance) covers one stretch of every line
that meets it, because solids are convex. So each solid casts, for the lines along one
axis, a patch of stretches: exact, whatever lies between two nodes of the lattice.

References
----------
Obstacles grown by what moves between them, so that it shrinks to a line: T. Lozano-Perez,
Spatial planning: a configuration space approach, IEEE Transactions on Computers C-32
(1983). From memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from loopsolver.clearance.ball_rows import BallRow, row_stretches
from loopsolver.clearance.mesh_shadows import stretches
from loopsolver.geometry.solid_set import Extents, distance_and_gradient, stack
from loopsolver.geometry.solids import (
    Box,
    Convex,
    Cylinder,
    HalfSpace,
    Mesh,
    Solid,
    bounds,
)
from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import SHADOW_SOUGHT, TOUCH

Coordinates = tuple[Array, Array, Array]
"""The sorted coordinates of a lattice along x, y and z [mm]."""

kept_bounds: Final = lru_cache(maxsize=2048)(bounds)
"""The bounds of a solid, reckoned once: never write to them."""

_STEPS: Final = 60
"""So many bring even a line that grazes a solid near enough: each halves what is left."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shadow:
    """The stretches that one solid covers on the lines along one axis.

    Attributes
    ----------
    first : tuple of 2 ints
        Index of the patch's first line along the two other axes, in ascending order.
    low, high : array (m, n) [mm]
        Ends of the covered stretch of each line; low = inf, high = -inf where none is.
    """

    first: tuple[int, int]
    low: Array
    high: Array


def cross_axes(axis: int) -> tuple[int, int]:
    """Return the two other axes in ascending order."""
    return ((1, 2), (0, 2), (0, 1))[axis]


def index_window(values: Array, low: float, high: float) -> tuple[int, int]:
    """Return the range of indices of sorted `values` that lie in [low, high]."""
    first, last = values.searchsorted(low), values.searchsorted(high, side="right")
    return int(first), int(last)


def cast_shadow(
    solid: Convex | HalfSpace, coordinates: Coordinates, *, axis: int, reach: float
) -> Shadow | None:
    """Return the shadow of a grown convex solid on the lines along `axis`, or None.

    Touching is allowed: stretches are open, and drawn in by `tolerances.TOUCH`.
    """
    patch = _patch(solid, coordinates, axis=axis, reach=reach)
    if patch is None:
        return None
    rows, cols, u, v = patch
    low, high = _stretch(solid, axis=axis, u=u, v=v, reach=reach)
    low, high = low + TOUCH, high - TOUCH
    empty = ~(low < high)
    if empty.all():
        return None
    low[empty], high[empty] = np.inf, -np.inf
    return Shadow(first=(rows[0], cols[0]), low=low, high=high)


def cast_shadows(
    solids: Sequence[Solid | BallRow],
    coordinates: Coordinates,
    *,
    axis: int,
    reach: float,
) -> tuple[Shadow, ...]:
    """Return the shadows of all solids that meet a line along `axis`.

    A mesh or a row of balls may cast several, since it may cover several stretches of a
    line.
    """
    shadows: list[Shadow] = []
    for solid in solids:
        if isinstance(solid, Mesh):
            shadows += _mesh_shadows(solid, coordinates, axis=axis, reach=reach)
            continue
        if isinstance(solid, BallRow):
            shadows += _row_shadows(solid, coordinates, axis=axis, reach=reach)
            continue
        shadow = cast_shadow(solid, coordinates, axis=axis, reach=reach)
        shadows += () if shadow is None else (shadow,)
    return tuple(shadows)


def bounds_of(solid: Solid | BallRow) -> Array:
    """Return the bounds of a solid or a row of balls: never write to them."""
    return solid.bounds if isinstance(solid, BallRow) else kept_bounds(solid)


def _row_shadows(
    row: BallRow, coordinates: Coordinates, *, axis: int, reach: float
) -> Iterator[Shadow]:
    """Yield the first stretches of a row on all lines, the second ones, and so on."""
    patch = _patch(row, coordinates, axis=axis, reach=reach)
    if patch is not None:
        rows, cols, *across = patch
        for low, high in row_stretches(
            row, axis=axis, across=(across[0], across[1]), reach=reach
        ):
            yield Shadow(first=(rows[0], cols[0]), low=low, high=high)


def _patch(
    solid: Solid | BallRow, coordinates: Coordinates, *, axis: int, reach: float
) -> tuple[tuple[int, int], tuple[int, int], Array, Array] | None:
    """Return which lines pass a grown solid's box, and their two coordinates."""
    first, second = cross_axes(axis)
    low, high = bounds_of(solid)
    rows = index_window(coordinates[first], low[first] - reach, high[first] + reach)
    cols = index_window(coordinates[second], low[second] - reach, high[second] + reach)
    if rows[0] >= rows[1] or cols[0] >= cols[1]:
        return None
    u = coordinates[first][rows[0] : rows[1], None]
    return rows, cols, u, coordinates[second][None, cols[0] : cols[1]]


def _mesh_shadows(
    mesh: Mesh, coordinates: Coordinates, *, axis: int, reach: float
) -> Iterator[Shadow]:
    """Yield the first stretches of a mesh on all lines, the second ones, and so on."""
    patch = _patch(mesh, coordinates, axis=axis, reach=reach)
    if patch is None:
        return
    rows, cols, u, v = patch
    shape = (u.size, v.size)
    along_u, along_v = (one.ravel() for one in np.broadcast_arrays(u, v))
    lows, highs = stretches(mesh, axis=axis, u=along_u, v=along_v, reach=reach)
    lows, highs = lows + TOUCH, highs - TOUCH
    is_covered = lows < highs
    for each in np.flatnonzero(is_covered.any(axis=0)):
        kept = is_covered[:, each]
        low = np.where(kept, lows[:, each], np.inf).reshape(shape)
        high = np.where(kept, highs[:, each], -np.inf).reshape(shape)
        yield Shadow(first=(rows[0], cols[0]), low=low, high=high)


def _stretch(
    solid: Convex | HalfSpace, *, axis: int, u: Array, v: Array, reach: float
) -> tuple[Array, Array]:
    """Return both ends of the stretch of each line within `reach` of the solid."""
    if isinstance(solid, HalfSpace):
        return _half_space_stretch(solid, axis=axis, u=u, v=v, reach=reach)
    if solid.frame.is_square:
        if isinstance(solid, Box):
            return _square_box_stretch(solid, axis=axis, u=u, v=v, reach=reach)
        if isinstance(solid, Cylinder):
            grown = reach + solid.rounding
            return _square_cylinder_stretch(solid, axis=axis, u=u, v=v, reach=grown)
    return _sought_stretch(solid, axis=axis, u=u, v=v, reach=reach)


def outside(values: Array | float, low: Array | float, high: Array | float) -> Array:
    """Return how far each value lies outside [low, high]; 0 inside."""
    beyond: Array = np.maximum(np.maximum(low - values, values - high), 0.0)
    return beyond


def _square_box_stretch(
    solid: Box, *, axis: int, u: Array, v: Array, reach: float
) -> tuple[Array, Array]:
    first, second = cross_axes(axis)
    low, high = kept_bounds(solid)
    across = outside(u, low[first], high[first]) ** 2
    across = across + outside(v, low[second], high[second]) ** 2
    grown = np.sqrt(np.maximum(reach**2 - across, 0.0))
    grown[across >= reach**2] = -np.inf
    return low[axis] - grown, high[axis] + grown


def _square_cylinder_stretch(
    solid: Cylinder, *, axis: int, u: Array, v: Array, reach: float
) -> tuple[Array, Array]:
    own = int(np.argmax(np.abs(solid.frame.axes[2])))
    centre = solid.frame.origin
    radius, half = solid.diameter / 2.0, solid.height / 2.0
    first, second = cross_axes(axis)
    du, dv = u - centre[first], v - centre[second]
    if own == axis:
        beyond = np.maximum(np.hypot(du, dv) - radius, 0.0)
        missed = beyond >= reach
        grown = half + np.sqrt(np.maximum(reach**2 - beyond**2, 0.0))
    else:
        along, across = (du, dv) if own == first else (dv, du)
        beyond = np.maximum(np.abs(along) - half, 0.0)
        round_reach = radius + np.sqrt(np.maximum(reach**2 - beyond**2, 0.0))
        missed = (beyond >= reach) | (np.abs(across) >= round_reach)
        grown = np.sqrt(np.maximum(round_reach**2 - across**2, 0.0))
    grown[missed] = -np.inf
    return centre[axis] - grown, centre[axis] + grown


def _half_space_stretch(
    solid: HalfSpace, *, axis: int, u: Array, v: Array, reach: float
) -> tuple[Array, Array]:
    first, second = cross_axes(axis)
    normal, base = solid.normal, solid.point
    away = normal[first] * (u - base[first]) + normal[second] * (v - base[second])
    slope = normal[axis]
    if abs(slope) < TOUCH:
        met = away < reach
        return np.where(met, -np.inf, np.inf), np.where(met, np.inf, -np.inf)
    edge = base[axis] + (reach - away) / slope
    endless = np.full_like(edge, np.inf)
    return (-endless, edge) if slope > 0 else (edge, endless)


def _sought_stretch(
    solid: Convex, *, axis: int, u: Array, v: Array, reach: float
) -> tuple[Array, Array]:
    """Return the stretches by going along each line from both sides until it is met."""
    points = np.zeros((3, u.size, v.size))
    first, second = cross_axes(axis)
    points[first], points[second] = u, v
    laid = stack([solid])
    axes = laid.axes[:, 0]
    own = axes @ points.reshape(3, -1) - laid.origins
    low, high = kept_bounds(solid)[:, axis]
    met = _first_within(
        reach, laid.extents, own=own, along=axes[:, axis], starts=(low, high)
    )
    return met[0].reshape(u.size, v.size), met[1].reshape(u.size, v.size)


def _first_within(
    reach: float,
    extents: Extents,
    *,
    own: Array,
    along: Array,
    starts: tuple[float, float],
) -> Array:
    """Return where a solid is first within reach of lines from both sides, (2, n) [mm].

    inf, and -inf from the other side, where it never is.

    Parameters
    ----------
    own : array (3, n) [mm]
        Where the lines have coordinate 0, in the solid's own coordinates.
    along : array (3,)
        Their common direction.
    starts : 2 floats [mm]
        Coordinates of the solid's lowest and highest point: so far each may go at once.

    Notes
    -----
    Newton's method. The distance to a convex solid is a convex function along a line,
    so a step ahead never leads beyond where it comes down to `reach`; where none does,
    it leads to where the distance grows.
    """
    count = own.shape[1]
    found = np.repeat([np.inf, -np.inf], count)
    at = np.repeat([starts[0] - reach, starts[1] + reach], count)
    ahead, rows = np.repeat([1.0, -1.0], count), np.arange(2 * count)
    own = np.concatenate([own, own], axis=1)
    for _ in range(_STEPS):
        distance, gradient = distance_and_gradient(own + along[:, None] * at, extents)
        excess, slope = distance - reach, along @ gradient
        is_met = excess <= SHADOW_SOUGHT
        found[rows[is_met]] = at[is_met]
        going = np.flatnonzero(~is_met & (ahead * slope < 0.0))
        if not len(going):
            break
        at = at[going] - excess[going] / slope[going]
        rows, own, ahead = rows[going], own.take(going, axis=1), ahead[going]
    else:
        found[rows] = at
    return found.reshape(2, count)
