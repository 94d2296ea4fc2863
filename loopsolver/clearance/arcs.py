"""Which square bends at the nodes of a lattice would come too near to a solid.

A bend at a node joins two arms: unit directions along axes, from the node towards where
the tube comes from and where it goes. Its arc runs from ``node + R * first arm`` to
``node + R * second arm`` about ``node + R * (first arm + second arm)``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopsolver.clearance.ball_rows import BallRow
from loopsolver.clearance.shadows import (
    Coordinates,
    bounds_of,
    index_window,
    kept_bounds,
    outside,
)
from loopsolver.geometry.mesh_grid import mesh_grid
from loopsolver.geometry.mesh_shape import bounds_below
from loopsolver.geometry.solids import (
    Box,
    Cylinder,
    HalfSpace,
    Mesh,
    Solid,
    box_round,
)
from loopsolver.geometry.solids import signed_distance as distance_to
from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.tolerances import ARC_SOUGHT, GRAZED, TOUCH

NodeWindow = tuple[slice, slice, slice]
Blocked = Flags


@dataclass(frozen=True, slots=True)
class Arm:
    """A direction along an axis: `axis` 0, 1, 2 and `sign` +1 or -1."""

    axis: int
    sign: int


def blocked_bends(
    solid: Solid | BallRow,
    coordinates: Coordinates,
    *,
    arms: tuple[Arm, Arm],
    radius: float,
    reach: float,
) -> tuple[NodeWindow, Blocked] | None:
    """Return which nodes cannot carry a bend of these arms, or None if all can.

    Parameters
    ----------
    solid : Solid or BallRow
    coordinates : Coordinates
        Of the nodes that are asked about [mm].
    arms : tuple of 2 Arms
        On different axes.
    radius, reach : float
        Bend radius, and what the centre line must keep from the solid [mm].

    Returns
    -------
    (window, blocked) or None
        `blocked` is a bool array over the nodes of `window`; outside it all are free.
    """
    window = _window(solid, coordinates, arms=arms, radius=radius, reach=reach)
    if window is None:
        return None
    near = tuple(c[w] for c, w in zip(coordinates, window, strict=True))
    nodes: Coordinates = (near[0], near[1], near[2])
    if isinstance(solid, BallRow):
        of_row = _row_case(solid, nodes, arms=arms, radius=radius, reach=reach)
        return (window, of_row) if of_row.any() else None
    blocked = _square_case(solid, nodes, arms=arms, radius=radius, reach=reach)
    if blocked is None:
        blocked = _sought_case(solid, nodes, arms=arms, radius=radius, reach=reach)
    return (window, blocked) if blocked.any() else None


def _window(
    solid: Solid | BallRow,
    coordinates: Coordinates,
    *,
    arms: tuple[Arm, Arm],
    radius: float,
    reach: float,
) -> NodeWindow | None:
    """Return the nodes whose arc's own box comes within reach of the solid's box."""
    low, high = bounds_of(solid)
    low, high = low - reach, high + reach
    for arm in arms:
        if arm.sign > 0:
            low[arm.axis] -= radius
        else:
            high[arm.axis] += radius
    spans = [index_window(coordinates[a], low[a], high[a]) for a in range(3)]
    if any(start >= end for start, end in spans):
        return None
    x, y, z = (slice(start, end) for start, end in spans)
    return x, y, z


def _square_case(
    solid: Solid,
    nodes: Coordinates,
    *,
    arms: tuple[Arm, Arm],
    radius: float,
    reach: float,
) -> Blocked | None:
    """Return the blocked nodes by a closed form, or None where there is none.

    In the plane of the bend the solid is a rectangle or a disc, the same at every
    height; so the distance splits into one in the plane and one along the third axis.
    What a cylinder is grown by all round is taken to the reach.
    """
    third = 3 - arms[0].axis - arms[1].axis
    if isinstance(solid, HalfSpace):
        # A wall along the axes is met by a tangent point before it is met by the arc.
        square = sum(abs(n) > 1.0 - TOUCH for n in solid.normal) == 1
        shape = tuple(len(c) for c in nodes)
        return np.zeros(shape, dtype=np.bool_) if square else None
    if isinstance(solid, Mesh) or not solid.frame.is_square:
        return None
    p, q = _arm_coordinates(nodes, arms, radius, solid.frame.origin)
    rounding = solid.rounding if isinstance(solid, Cylinder) else 0.0
    low, high = kept_bounds(solid)
    low, high = low + rounding, high - rounding
    if isinstance(solid, Cylinder) and _is_disc_across(solid, third):
        in_plane = _arc_to_disc(p, q, radius=radius, disc=solid.diameter / 2.0)
    elif isinstance(solid, Box) or solid.diameter == 0.0:
        half = (high - low) / 2.0
        sides = (half[arms[0].axis], half[arms[1].axis])
        in_plane = _arc_to_rectangle(p, q, radius=radius, half=sides)
    else:
        return None
    heights = nodes[third]
    beyond = outside(heights, low[third], high[third])
    limit = (reach + rounding - TOUCH) ** 2
    planar = in_plane**2
    blocked: Blocked = planar[:, :, None] + (beyond**2)[None, None, :] < limit
    # Axes of `blocked` so far: first arm, second arm, third axis.
    order = (arms[0].axis, arms[1].axis, third)
    return blocked.transpose([order.index(axis) for axis in range(3)])


def _row_case(
    row: BallRow,
    nodes: Coordinates,
    *,
    arms: tuple[Arm, Arm],
    radius: float,
    reach: float,
) -> Blocked:
    """Return the nodes that any ball of a row blocks, as `_square_case` does for one."""
    third = 3 - arms[0].axis - arms[1].axis
    p, q = (
        (nodes[arm.axis][:, None] - row.centres[:, arm.axis]) * arm.sign + radius
        for arm in arms
    )
    in_plane = _arc_to_disc(p[:, None], q[None], radius=radius, disc=0.0)
    beyond = nodes[third][:, None] - row.centres[:, third]
    limit = (reach + row.radius - TOUCH) ** 2
    square = in_plane[:, :, None] ** 2 + beyond**2
    blocked: Blocked = np.any(square < limit, axis=-1)
    return np.moveaxis(blocked, (0, 1, 2), (arms[0].axis, arms[1].axis, third))


def _is_disc_across(solid: Cylinder, axis: int) -> bool:
    """Return whether a square cylinder is a disc, or a point, as seen along an axis."""
    return solid.height == 0.0 == solid.diameter or abs(solid.frame.axes[2][axis]) > 0.5


def _arm_coordinates(
    nodes: Coordinates, arms: tuple[Arm, Arm], radius: float, origin: tuple[float, ...]
) -> tuple[Array, Array]:
    """Return the solid's centre seen from each arc's centre, along the inverted arms.

    In these coordinates the arc is ``R * (cos s, sin s)`` for s from 0 to a right angle.
    """
    first, second = (
        (nodes[arm.axis] - origin[arm.axis]) * arm.sign + radius for arm in arms
    )
    return first[:, None], second[None, :]


def _arc_to_disc(p: Array, q: Array, *, radius: float, disc: float) -> Array:
    """Return the distance from a quarter arc about 0 to a disc centred at (p, q)."""
    straight_on = np.abs(np.hypot(p, q) - radius)
    from_ends = np.minimum(np.hypot(p - radius, q), np.hypot(p, q - radius))
    nearest = np.where((p >= 0.0) & (q >= 0.0), straight_on, from_ends)
    distance: Array = np.maximum(nearest - disc, 0.0)
    return distance


def _arc_to_rectangle(
    p: Array, q: Array, *, radius: float, half: tuple[float, float]
) -> Array:
    """Return the distance from a quarter arc about 0 to a rectangle about (p, q).

    Of the rectangle that part counts that lies in the arc's quadrant. An end of the arc
    is nearest, or this part's nearest or farthest point as seen from the arc's centre.
    """
    left, right = p - half[0], p + half[0]
    low, high = q - half[1], q + half[1]
    end_a = np.hypot(outside(radius, left, right), outside(0.0, low, high))
    end_b = np.hypot(outside(0.0, left, right), outside(radius, low, high))
    nearest = np.hypot(np.maximum(left, 0.0), np.maximum(low, 0.0))
    farthest = np.hypot(np.maximum(right, 0.0), np.maximum(high, 0.0))
    radial = outside(radius, nearest, farthest)
    in_quadrant = (right >= 0.0) & (high >= 0.0)
    distance: Array = np.minimum(
        np.minimum(end_a, end_b), np.where(in_quadrant, radial, np.inf)
    )
    return distance


def _most_below(part: float, *, limit: float, radius: float) -> float:
    """Return how far the distance may be below that of a stretch's middle [mm]."""
    if part >= limit:
        return part
    bending = 1.0 / (limit - part) + 1.0 / radius
    return min(part, bending * part**2 / 2.0)


def _sought_case(
    solid: Solid,
    nodes: Coordinates,
    *,
    arms: tuple[Arm, Arm],
    radius: float,
    reach: float,
) -> Blocked:
    """Return the blocked nodes by halving arcs wherever it is not yet decided.

    Notes
    -----
    A step of `part` along the arc changes the distance by no more than `part`. Where the
    distance is least between the arc's ends its slope is 0, and outside a convex solid
    it bends by no more than 1 / distance + 1 / radius; so the middle of the stretch with
    the least distance is no more than half of that, times part squared, above it. So
    it is with the nearest triangle of a mesh.

    What the upright box round a solid does not block, the solid does not. Where the ends
    of an arc come too near to a mesh, its shadows tell: they end legs.
    """
    corners = np.stack(np.meshgrid(*nodes, indexing="ij"), axis=-1).reshape(-1, 3)
    limit = reach - TOUCH

    def distance(rows: Indices, turned: Array) -> Array:
        points = corners[rows]
        for arm, share in zip(arms, (np.sin(turned), np.cos(turned)), strict=True):
            points[:, arm.axis] += arm.sign * radius * (1.0 - share)
        if isinstance(solid, Mesh):
            return _from_mesh(solid, points, limit)
        return distance_to(solid, points)

    blocked: Blocked = np.zeros(len(corners), dtype=np.bool_)
    rows = np.arange(len(corners))
    if not isinstance(solid, HalfSpace):
        whole = box_round(solid)
        by_box = _square_case(whole, nodes, arms=arms, radius=radius, reach=reach)
        rows = np.flatnonzero(np.asarray(by_box))
    for end in () if isinstance(solid, Mesh) else (0.0, math.pi / 2.0):
        blocked[rows] |= distance(rows, np.full(len(rows), end)) < limit
    rows = rows[~blocked[rows]]
    turned, half = np.full(len(rows), math.pi / 4.0), math.pi / 4.0
    while len(rows):
        below = _most_below(radius * half, limit=limit, radius=radius)
        here = distance(rows, turned)
        blocked[rows[here < limit]] = True
        if below < (GRAZED if isinstance(solid, Mesh) else ARC_SOUGHT):
            break
        open_still = (here < limit + below) & ~blocked[rows]
        half /= 2.0
        rows, turned = np.tile(rows[open_still], 2), turned[open_still]
        turned = np.concatenate([turned - half, turned + half])
    return blocked.reshape([len(c) for c in nodes])


def _from_mesh(mesh: Mesh, points: Array, limit: float) -> Array:
    """Return what the distances of points to a mesh are surely not below.

    Those that the grid leaves open are looked at more closely.
    """
    own = mesh.own(points)
    low, high = mesh_grid(mesh.shape).bounds(own)
    low = np.where(high < limit, high, low)
    rows = np.flatnonzero((low < limit) & (high >= limit))
    low[rows] = bounds_below(mesh.shape, own[rows], most=limit)
    return low
