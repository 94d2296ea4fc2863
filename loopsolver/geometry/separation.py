"""How far two solids stand apart, or how deep they are in each other."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from loopsolver.geometry.mesh_separation import from_mesh
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Mesh, Solid
from loopsolver.geometry.vectors import Array, Point, point
from loopsolver.tolerances import ALONG_AXIS, TOUCH, UNIT_LENGTH

ROUNDS: Final = 3
"""How often the faces of an octahedron are quartered before any is left out: 512 cones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Separation:
    """How two solids stand to each other.

    Attributes
    ----------
    distance : float
        Free distance; negative where they overlap: less the shortest way that takes
        them apart [mm].
    direction : Point
        Unit direction in which the second solid stands from the first, or in which it
        has to move to come free.
    """

    distance: float
    direction: Point


def separation(first: Solid, second: Box | Cylinder | Mesh) -> Separation:
    """Return how far apart two solids stand, or how deep they overlap.

    Never too large, and too small by no more than `tolerances.TOUCH`; of meshes see
    `mesh_separation.from_mesh`.

    Notes
    -----
    By the separating axis theorem for convex sets the signed distance is the maximum
    over unit directions u of ``g(u) = min(u . second) - max(u . first)``, which is their
    distance where it is positive and less their penetration depth where it is negative.
    Both extremes are support functions with closed forms for boxes and cylinders.

    The maximum is bracketed. From below, by g along any direction. From above: the
    points p in which the solids are met along the three edges of a cone of directions
    span a triangle, and for every q of it g(u) is at most q . u all over the cone, since
    q is a difference of points of the two solids. The nearest q to the origin is taken.
    Cones whose bound is above the best direction's value by more than `tolerances.TOUCH`
    are quartered, and the direction of their q is tried; the others are done with. What
    a cone's bound is off shrinks with the square of its width.

    Where all directions of a family part the solids equally well, as with two cylinders
    about one axis, cones would be many: there the best lies among a few directions that
    are tried first, and these settle it. For two boxes in overlap it lies at a face
    normal or at the cross product of two edges. Where a cylinder stands along the other's
    axis, both are an outline times a height, so that the maximum is that of the heights
    or that of the outlines: across a side of the rectangle, or from it, or from the other
    circle, towards the centre.

    References
    ----------
    E. Gilbert, D. Johnson and S. Keerthi, IEEE Journal of Robotics and Automation 4
    (1988), for distances by support functions and the nearest point of a simplex;
    G. van den Bergen, Proceedings of the Game Developers Conference (2001), for depths
    between an inner polytope and supporting planes; C. Ericson, Real-Time Collision
    Detection (2005), sections 4.4, 5.1.5 and 5.2.1, for the tests and the nearest point of
    a triangle (all from memory).
    """
    if isinstance(first, Mesh):
        distance, way = from_mesh(first, second)
        return Separation(distance=distance, direction=point(way + 0.0))
    if isinstance(second, Mesh):
        distance, way = from_mesh(second, first)
        return Separation(distance=distance, direction=point(0.0 - way))
    if isinstance(first, HalfSpace):
        return _from_wall(first, second)
    directions = _likely(first, second)
    return _best(first, second, directions, _apart(first, second, directions))


def overlap(
    first: Solid, second: Box | Cylinder | Mesh, *, allowed: float
) -> Separation | None:
    """Return how two solids overlap, or None if by no more than is allowed [mm]."""
    if stand_apart(first, second, by=-allowed):
        return None
    apart = separation(first, second)
    return apart if apart.distance < -allowed else None


def stand_apart(first: Solid, second: Solid, *, by: float) -> bool:
    """Return whether two solids surely stand a distance apart [mm]; two walls never do.

    Most that do are told by one of a few directions: these alone are tried first.
    """
    if isinstance(second, HalfSpace):
        first, second = second, first
    if isinstance(second, HalfSpace):
        return False
    if isinstance(first, HalfSpace | Mesh) or isinstance(second, Mesh):
        return separation(first, second).distance >= by
    directions = _likely(first, second)
    values = _apart(first, second, directions)
    if values.max() >= by:
        return True
    return _best(first, second, directions, values).distance >= by


def _from_wall(wall: HalfSpace, solid: Box | Cylinder) -> Separation:
    """Return how far a solid stands in front of a wall."""
    normal = np.asarray(wall.normal)[None, :]
    beyond = _lowest(solid, normal) - normal @ np.asarray(wall.point)
    return Separation(distance=float(beyond[0]), direction=wall.normal)


def _best(
    first: Box | Cylinder, second: Box | Cylinder, likely: Array, values: Array
) -> Separation:
    """Return the separation along the best direction of all, the likely ones known."""
    place = int(values.argmax())
    direction, value = likely[place], float(values[place])
    if not (value < 0.0 and _is_settled_by_likely(first, second)):
        direction, value = _searched(first, second, direction, value)
    return Separation(distance=value, direction=point(direction + 0.0))


def _searched(
    first: Box | Cylinder, second: Box | Cylinder, direction: Array, value: float
) -> tuple[Array, float]:
    """Return the direction of the largest separation, and its value; see `separation`."""
    grown = sum(s.rounding for s in (first, second) if isinstance(s, Cylinder))
    cones = _all_round()
    points = _support(first, second, cones.reshape(-1, 3)).reshape(cones.shape)
    while len(cones):
        nearest = _nearest_of_triangles(points)
        length = np.linalg.norm(nearest, axis=1)
        usable = length > UNIT_LENGTH
        tried = nearest[usable] / length[usable, None]
        tried = np.concatenate([cones.reshape(-1, 3), tried, -tried])
        found = _apart(first, second, tried)
        place = int(found.argmax())
        if found[place] > value:
            direction, value = tried[place], float(found[place])
        bound = _most_along(nearest, cones) - grown
        open_ones = np.flatnonzero(bound > value + TOUCH)
        cones = _quartered(cones[open_ones])
        points = _support(first, second, cones.reshape(-1, 3)).reshape(cones.shape)
    return direction, value


def _most_along(points: Array, cones: Array) -> Array:
    """Return at least the most that q . u is over unit directions u in a cone, (n,).

    `points` are the q, (n, 3); `cones` the edges, (n, 3, 3), of length 1. A direction in
    the cone is a mean of the edges, of weights that sum to 1, made longer to length 1:
    by no more than the cosine of the angle that takes in the whole cone.
    """
    along = np.einsum("nc,nkc->nk", points, cones).max(axis=1)
    middle = cones.sum(axis=1)
    middle /= np.linalg.norm(middle, axis=1, keepdims=True)
    shortest = np.einsum("nc,nkc->nk", middle, cones).min(axis=1)
    most: Array = np.where(along > 0.0, along / shortest, along)
    return most


def _nearest_of_triangles(corners: Array) -> Array:
    """Return the point nearest to the origin of each triangle (n, 3, 3), (n, 3) [mm].

    That of its plane if it lies within, else the nearest of its three sides.
    """
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normal = np.cross(b - a, c - a)
    square = (normal * normal).sum(axis=1)
    is_flat = square <= UNIT_LENGTH
    best: Array = (
        normal * ((a * normal).sum(axis=1) / np.where(is_flat, 1.0, square))[:, None]
    )
    within = ~is_flat
    sides = ((a, b), (b, c), (c, a))
    for start, end in sides:
        within &= (np.cross(end - start, best - start) * normal).sum(axis=1) >= 0.0
    beside = np.stack([_nearest_of_lines(start, end) for start, end in sides])
    nearest = (beside**2).sum(axis=2).argmin(axis=0)
    best[~within] = beside[nearest, np.arange(len(best))][~within]
    return best


def _nearest_of_lines(start: Array, end: Array) -> Array:
    """Return the point nearest to the origin of each stretch, (n, 3) [mm]."""
    along = end - start
    square = (along * along).sum(axis=1)
    share = -(start * along).sum(axis=1) / np.where(square > 0.0, square, 1.0)
    nearest: Array = start + np.clip(share, 0.0, 1.0)[:, None] * along
    return nearest


def _quartered(cones: Array) -> Array:
    """Return cones (n, 3, 3) cut into four each, about the middles of their sides."""
    a, b, c = cones[:, 0], cones[:, 1], cones[:, 2]
    middles = []
    for one, other in ((a, b), (b, c), (c, a)):
        middle = one + other
        middles.append(middle / np.linalg.norm(middle, axis=1, keepdims=True))
    ab, bc, ca = middles
    parts = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return np.concatenate([np.stack(part, axis=1) for part in parts])


@cache
def _all_round() -> Array:
    """Return cones that cover all directions: an octahedron's faces, quartered."""
    cones = np.array(
        [
            [[x, 0.0, 0.0], [0.0, y, 0.0], [0.0, 0.0, z]]
            for x in (1.0, -1.0)
            for y in (1.0, -1.0)
            for z in (1.0, -1.0)
        ]
    )
    for _ in range(ROUNDS):
        cones = _quartered(cones)
    return cones


def _support(first: Box | Cylinder, second: Box | Cylinder, directions: Array) -> Array:
    """Return the lowest point of second less first along each direction, (n, 3) [mm].

    Roundings left out.
    """
    reach = _outermost(second, -directions) - _outermost(first, directions)
    support: Array = reach + np.subtract(second.frame.origin, first.frame.origin)
    return support


def _outermost(solid: Box | Cylinder, directions: Array) -> Array:
    """Return a point of a solid furthest along each direction, from its centre (n, 3)."""
    axes = np.asarray(solid.frame.axes)
    own = directions @ axes.T
    match solid:
        case Box():
            reach = np.sign(own) * np.asarray(solid.size) / 2.0
        case Cylinder():
            across = np.hypot(own[:, 0], own[:, 1])
            reach = (
                own
                * (0.5 * solid.diameter / np.where(across > 0.0, across, 1.0))[:, None]
            )
            reach[:, 2] = np.sign(own[:, 2]) * solid.height / 2.0
    outermost: Array = reach @ axes
    return outermost


def _apart(first: Box | Cylinder, second: Box | Cylinder, directions: Array) -> Array:
    """Return how far the second begins beyond the first's end, along each direction."""
    apart: Array = _lowest(second, directions) + _lowest(first, -directions)
    return apart


def _lowest(solid: Box | Cylinder, directions: Array) -> Array:
    """Return the least coordinate of a solid along each direction, (n,) [mm]."""
    axes = np.asarray(solid.frame.axes)
    along = np.abs(directions @ axes.T)
    match solid:
        case Box():
            reach = along @ np.asarray(solid.size) / 2.0
        case Cylinder():
            across = np.hypot(directions @ axes[0], directions @ axes[1])
            reach = (solid.height * along[:, 2] + solid.diameter * across) / 2.0
            reach = reach + solid.rounding
    lowest: Array = directions @ np.asarray(solid.frame.origin) - reach
    return lowest


def _likely(first: Box | Cylinder, second: Box | Cylinder) -> Array:
    """Return directions among which the best usually is: axes, products, centres."""
    axes = np.vstack([first.frame.axes, second.frame.axes])
    between = np.subtract(second.frame.origin, first.frame.origin)
    raw = [*axes, between, *np.cross(axes[:3, None], axes[3:]).reshape(9, 3)]
    raw += [
        between - axis * (between @ axis)
        for solid, axis in ((first, axes[2]), (second, axes[5]))
        if isinstance(solid, Cylinder)
    ]
    match first, second:
        case (Box(), Cylinder()):
            raw.append(_aside(first, second))
        case (Cylinder(), Box()):
            raw.append(_aside(second, first))
    vectors = np.asarray(raw)
    lengths = np.linalg.norm(vectors, axis=1)
    usable = lengths > UNIT_LENGTH
    directions = vectors[usable] / lengths[usable, None]
    return np.vstack([directions, -directions])


def _aside(box: Box, round_one: Cylinder) -> Array:
    """Return the way from a box to a cylinder's axis, if that is along an axis of it."""
    axes = np.asarray(box.frame.axes)
    centre = axes @ np.subtract(round_one.frame.origin, box.frame.origin)
    half = np.asarray(box.size) / 2.0
    beyond = centre - np.clip(centre, -half, half)
    beyond[np.abs(axes @ np.asarray(round_one.frame.axes[2])).argmax()] = 0.0
    aside: Array = beyond @ axes
    return aside


def _is_settled_by_likely(first: Box | Cylinder, second: Box | Cylinder) -> bool:
    """Whether solids in overlap part soonest along one of the likely directions."""
    if isinstance(first, Box) and isinstance(second, Box):
        return True
    along = np.abs(np.asarray(first.frame.axes) @ np.asarray(second.frame.axes).T)
    if isinstance(first, Cylinder):
        along = along[2:]
    if isinstance(second, Cylinder):
        along = along[:, 2:]
    return bool(along.max() > 1.0 - ALONG_AXIS)
