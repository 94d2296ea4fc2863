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
    Cylinder,
    HalfSpace,
    Mesh,
    Solid,
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

    What a cylinder is grown by all round is taken to the reach.
    """
    if isinstance(solid, HalfSpace):
        # A wall along the axes is met by a tangent point before it is met by the arc.
        square = sum(abs(n) > 1.0 - TOUCH for n in solid.normal) == 1
        shape = tuple(len(c) for c in nodes)
        return np.zeros(shape, dtype=np.bool_) if square else None
    if isinstance(solid, Mesh) or not solid.frame.is_square:
        return None
    rounding, disc = 0.0, None
    if isinstance(solid, Cylinder):
        rounding = solid.rounding
        if _is_disc_across(solid, _third(arms)):
            disc = solid.diameter / 2.0
        elif solid.diameter > 0.0:
            return None
    low, high = kept_bounds(solid)
    return _upright_case(
        (low + rounding, high - rounding),
        nodes,
        arms=arms,
        radius=radius,
        limit=reach + rounding - TOUCH,
        disc=disc,
    )


def _upright_case(
    ends: tuple[Array, Array],
    nodes: Coordinates,
    *,
    arms: tuple[Arm, Arm],
    radius: float,
    limit: float,
    disc: float | None = None,
) -> Blocked:
    """Return the nodes whose arc comes nearer than `limit` to what stands upright.

    In the plane of the bend it is a rectangle, or a disc of radius `disc`, the same at
    every height; so the distance splits into one in the plane and one along the third
    axis.

    Parameters
    ----------
    ends : 2 arrays (3,) [mm]
        Its lowest and highest x, y, z.
    """
    low, high = ends
    middle, half = (low + high) / 2.0, (high - low) / 2.0
    first, second = arms
    # From each arc's centre, along the inverted arms: the arc is R * (cos s, sin s) there.
    p = ((nodes[first.axis] - middle[first.axis]) * first.sign + radius)[:, None]
    q = ((nodes[second.axis] - middle[second.axis]) * second.sign + radius)[None]
    if disc is None:
        sides = (half[first.axis], half[second.axis])
        in_plane = _arc_to_rectangle(p, q, radius=radius, half=sides)
    else:
        in_plane = _arc_to_disc(p, q, radius=radius, disc=disc) ** 2
    third = _third(arms)
    beyond = outside(nodes[third], low[third], high[third])
    blocked: Blocked = in_plane[:, :, None] + beyond * beyond < limit**2
    # Axes of `blocked` so far: first arm, second arm, third axis.
    order = (first.axis, second.axis, third)
    return blocked.transpose([order.index(axis) for axis in range(3)])


def _third(arms: tuple[Arm, Arm]) -> int:
    """Return the axis across the plane of a bend."""
    return 3 - arms[0].axis - arms[1].axis


def _row_case(
    row: BallRow,
    nodes: Coordinates,
    *,
    arms: tuple[Arm, Arm],
    radius: float,
    reach: float,
) -> Blocked:
    """Return the nodes that any ball of a row blocks, as `_square_case` does for one."""
    third = _third(arms)
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
    """Return the squared distance from a quarter arc about 0 to a rectangle about (p, q).

    Of the rectangle that part counts that lies in the arc's quadrant. An end of the arc
    is nearest, or this part's nearest or farthest point as seen from the arc's centre.
    """
    left, right = p - half[0], p + half[0]
    low, high = q - half[1], q + half[1]
    ends = np.minimum(
        outside(radius, left, right) ** 2 + outside(0.0, low, high) ** 2,
        outside(0.0, left, right) ** 2 + outside(radius, low, high) ** 2,
    )
    nearest = np.sqrt(np.maximum(left, 0.0) ** 2 + np.maximum(low, 0.0) ** 2)
    farthest = np.sqrt(np.maximum(right, 0.0) ** 2 + np.maximum(high, 0.0) ** 2)
    radial = outside(radius, nearest, farthest)
    in_quadrant = (right >= 0.0) & (high >= 0.0)
    square: Array = np.minimum(ends, radial * radial, out=ends, where=in_quadrant)
    return square


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
    """Return the blocked nodes by parting arcs wherever it is not yet decided.

    What the upright box round a solid does not block, the solid does not.
    """
    limit = reach - TOUCH
    if isinstance(solid, HalfSpace):
        blocked = np.ones([len(c) for c in nodes], dtype=np.bool_)
    else:
        low, high = kept_bounds(solid)
        blocked = _upright_case(
            (low, high), nodes, arms=arms, radius=radius, limit=limit
        )
    asked = blocked.nonzero()
    corners = np.array([c[at] for c, at in zip(nodes, asked, strict=True)])
    blocked[asked] = _too_near(solid, corners, arms=arms, radius=radius, limit=limit)
    return blocked


def _too_near(
    solid: Solid, corners: Array, *, arms: tuple[Arm, Arm], radius: float, limit: float
) -> Flags:
    """Return which arcs come nearer to a solid than `limit`.

    Parameters
    ----------
    corners : array (3, n) [mm]
        The nodes of their bends.

    Notes
    -----
    A step of `part` along the arc changes the distance by no more than `part`. Where the
    distance is least between the arc's ends its slope is 0, and outside a convex solid
    it bends by no more than 1 / distance + 1 / radius; so the middle of the stretch with
    the least distance is no more than half of that, times part squared, above it. So
    it is with the nearest triangle of a mesh.

    Where the ends of an arc come too near to a mesh, its shadows tell: they end legs.
    """

    def distance(rows: Indices, turned: Array) -> Array:
        points = _on_arcs(corners.take(rows, axis=1), turned, arms, radius)
        return _distance(solid, points, limit)

    is_mesh, half = isinstance(solid, Mesh), math.pi / 4.0
    parts, finest = (2, GRAZED) if is_mesh else (8, ARC_SOUGHT)
    steps = np.arange(1 - parts, parts, 2)[:, None] / parts
    ends = [] if is_mesh else [[0.0], [2.0 * half]]
    here = distance(np.arange(corners.shape[1]), np.array([[half], *ends]))
    is_near: Flags = np.any(here < limit, axis=0)
    below = _most_below(radius * half, limit=limit, radius=radius)
    rows = np.flatnonzero(~is_near & (here[0] < limit + below))
    turned = half + half * steps
    while len(rows) and below >= finest:
        half /= parts
        below = _most_below(radius * half, limit=limit, radius=radius)
        here = distance(rows, turned)
        is_near[rows[np.any(here < limit, axis=0)]] = True
        part, place = np.nonzero((here < limit + below) & ~is_near[rows])
        turned = np.broadcast_to(turned, here.shape)[part, place] + half * steps
        rows = rows[place]
    return is_near


def _on_arcs(
    corners: Array, turned: Array, arms: tuple[Arm, Arm], radius: float
) -> Array:
    """Return points on arcs whose bends lie at nodes (3, n), (3, k, n) [mm].

    `turned` says how far round from the first arm, (k, 1) for all or (k, n) [radians].
    """
    points = np.empty((3, len(turned), corners.shape[1]))
    points[:] = corners[:, None]
    for arm, share in zip(arms, (np.sin(turned), np.cos(turned)), strict=True):
        points[arm.axis] += arm.sign * radius * (1.0 - share)
    return points


def _distance(solid: Solid, points: Array, limit: float) -> Array:
    """Return the distance of points (3, k, n) to a solid, (k, n); to a mesh no more."""
    flat = points.reshape(3, -1).T
    distance = (
        _from_mesh(solid, flat, limit)
        if isinstance(solid, Mesh)
        else distance_to(solid, flat)
    )
    return distance.reshape(points.shape[1:])


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
