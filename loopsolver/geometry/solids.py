"""The solids of a case: signed distance from points, and bounds.

All solids here are convex, which the search relies on, but for meshes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.mesh_shape import MeshShape, signed_distances
from loopsolver.geometry.vectors import (
    Array,
    Point,
    axis_name,
    dot,
    lowest_and_highest,
    point,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A box at any rotation; its frame stands in its centre, `size` is full lengths."""

    frame: Frame
    size: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """A cylinder along its frame's z, the frame in its centre [mm].

    Attributes
    ----------
    frame : Frame
    diameter, height : float
        Of the flat-ended cylinder.
    rounding : float
        By how much this is grown all round. Of diameter 0 it is a rod with round ends,
        of height 0 as well a ball.
    """

    frame: Frame
    diameter: float
    height: float
    rounding: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfSpace:
    """Everything behind a plane: a case wall. `normal` points out of the solid."""

    point: Point
    normal: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Mesh:
    """A mesh at any place and rotation: a solid where it has an inside, else a surface."""

    frame: Frame
    shape: MeshShape

    def own(self, points: Array) -> Array:
        """Return points as the mesh's own coordinates have them, (n, 3) [mm]."""
        seen: Array = (points - np.asarray(self.frame.origin)) @ self.frame.rotation
        return seen

    def moved(self, by: Array) -> Mesh:
        """Return the mesh moved by a vector [mm]."""
        origin = point(np.asarray(self.frame.origin) + by)
        return replace(self, frame=replace(self.frame, origin=origin))


Convex = Box | Cylinder
Solid = Box | Cylinder | HalfSpace | Mesh


def signed_distance(solid: Solid, points: Array) -> Array:
    """Return the exact distance from each point to the solid's surface [mm].

    Negative inside. Exact on both sides of the surface.

    Parameters
    ----------
    solid : Solid
    points : array (n, 3) [mm]

    Returns
    -------
    array (n,) [mm]

    Notes
    -----
    In the solid's own frame let q be how far each coordinate (for a cylinder: distance
    from the axis, and along it) lies beyond the solid's extent. Outside, the nearest
    point is the coordinates clipped to the extent, so the distance is the length of
    the positive part of q. Inside, the nearest surface point lies straight across the
    nearest face, so the distance is the largest q. Growing a convex solid all round
    takes as much from the distance everywhere, inside and out.
    """
    match solid:
        case Box():
            beyond = _own_coordinates(solid.frame, points)
            np.abs(beyond, out=beyond)
            beyond -= 0.5 * np.asarray(solid.size)[:, None]
            return _from_excess(beyond)
        case Cylinder():
            beyond = _own_coordinates(solid.frame, points)
            np.hypot(beyond[0], beyond[1], out=beyond[1])
            beyond[1] -= 0.5 * solid.diameter
            np.abs(beyond[2], out=beyond[2])
            beyond[2] -= 0.5 * solid.height
            distance = _from_excess(beyond[1:])
            distance -= solid.rounding
            return distance
        case HalfSpace():
            normal = np.asarray(solid.normal)
            above: Array = np.asarray(points) @ normal
            above -= normal @ np.asarray(solid.point)
            return above
        case Mesh():
            return signed_distances(solid.shape, solid.own(np.asarray(points)))


def _own_coordinates(frame: Frame, points: Array) -> Array:
    """Return points as seen from a frame, one row a coordinate, (3, n) [mm]."""
    axes = np.array(frame.axes)
    own: Array = axes @ np.asarray(points).T
    own -= (axes @ np.asarray(frame.origin))[:, None]
    return own


def _from_excess(beyond: Array) -> Array:
    """Return the signed distance, given how far each row lies beyond the extent.

    `beyond` is (rows, n) and is used up.
    """
    inside = beyond.max(axis=0)
    np.minimum(inside, 0.0, out=inside)
    np.maximum(beyond, 0.0, out=beyond)
    beyond *= beyond
    distance: Array = np.sqrt(beyond.sum(axis=0))
    distance += inside
    return distance


def bounds(solid: Solid) -> Array:
    """Return the lowest and highest x, y, z of the solid, (2, 3) [mm]; inf where open.

    Notes
    -----
    A disc of radius r about the unit axis w reaches r sqrt(1 - w_i^2) along i; the
    root is taken from the other two axes, which keeps square cylinders exact.
    """
    match solid:
        case Mesh():
            return _mesh_bounds(solid)
        case Box():
            axes = np.array(solid.frame.axes)
            return _about(solid, 0.5 * np.asarray(solid.size) @ np.abs(axes))
        case Cylinder():
            axes = np.array(solid.frame.axes)
            reach = 0.5 * solid.height * np.abs(axes[2])
            reach = reach + 0.5 * solid.diameter * np.hypot(axes[0], axes[1])
            reach = reach + solid.rounding
            return _about(solid, reach)
        case HalfSpace():
            return _bounds_behind(solid)


def box_round(solid: Solid) -> Box:
    """Return the upright box round a solid that has an end."""
    low, high = bounds(solid)
    return Box(frame=Frame(origin=point((low + high) / 2)), size=point(high - low))


def highest(solid: Solid, up: Point) -> float:
    """Return how far a solid reaches along a direction of unit length [mm]; inf if open."""
    match solid:
        case HalfSpace():
            return math.inf
        case Mesh():
            return float((placed_vertices(solid) @ np.asarray(up)).max())
        case Box() | Cylinder():
            return dot(solid.frame.origin, up) + 0.5 * math.fsum(extents(solid, up))


def extents(solid: Box | Cylinder, up: Point) -> tuple[float, ...]:
    """Return over how much of a direction a box's edges reach, or disc and axis [mm]."""
    leans = [abs(dot(axis, up)) for axis in solid.frame.axes]
    if isinstance(solid, Box):
        return tuple(lean * size for lean, size in zip(leans, solid.size, strict=True))
    across = solid.diameter * math.hypot(leans[0], leans[1])
    return across + 2.0 * solid.rounding, solid.height * leans[2]


def boxes_meet(first: Array, second: Array, *, within: float) -> bool:
    """Return whether two boxes, as of `bounds`, come nearer than a distance [mm]."""
    return bool(
        np.all(first[0] < second[1] + within) and np.all(second[0] < first[1] + within)
    )


def placed_vertices(mesh: Mesh) -> Array:
    """Return the vertices of a mesh as seen from outside its frame, (v, 3) [mm]."""
    placed: Array = mesh.shape.vertices @ mesh.frame.rotation.T
    placed += np.asarray(mesh.frame.origin)
    return placed


@lru_cache(maxsize=512)
def _mesh_bounds(mesh: Mesh) -> Array:
    """Return the bounds of a mesh; sought among all its vertices, so kept."""
    corners = lowest_and_highest(placed_vertices(mesh))
    corners.flags.writeable = False
    return corners


def _about(solid: Box | Cylinder, reach: Array) -> Array:
    """Return the bounds that lie `reach` to either side of a solid's centre, (2, 3)."""
    corners: Array = np.asarray(solid.frame.origin) + np.stack([-reach, reach])
    return corners


def _bounds_behind(wall: HalfSpace) -> Array:
    """Return the bounds of a half-space: closed on one side if it is square."""
    corners = np.array([[-np.inf] * 3, [np.inf] * 3])
    name = axis_name(wall.normal)
    if name is not None:
        axis = "xyz".index(name[1])
        corners[1 if name[0] == "+" else 0, axis] = wall.point[axis]
    return corners
