"""How far a mesh and another solid stand apart."""

from __future__ import annotations

import numpy as np

from loopsolver.geometry.mesh_shape import nearest_of, signed
from loopsolver.geometry.solid_set import SolidSet, stack
from loopsolver.geometry.solids import Convex, HalfSpace, Mesh, bounds, placed_vertices
from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import GAP_RESOLUTION, TOUCH, UNIT_LENGTH

Apart = tuple[float, Array]
"""How far a solid stands from a mesh [mm], and in which direction, (3,)."""


def from_mesh(mesh: Mesh, other: Convex | HalfSpace | Mesh) -> Apart:
    """Return how far another solid stands from a mesh, and in which direction.

    Never too large where they are apart, and too small by no more than
    `tolerances.GAP_RESOLUTION`; for two meshes, by what their samples lie apart. Where
    they overlap it is less how deep the surface of one is in the other at the deepest:
    it takes at least that much to part them. So it does where the middle of the other
    is inside: then it is less how deep that is.
    """
    if isinstance(other, HalfSpace):
        normal = np.asarray(other.normal)
        heights = (placed_vertices(mesh) - np.asarray(other.point)) @ normal
        return float(heights.min()), -normal
    middle = bounds(other).mean(axis=0)[None]
    if isinstance(other, Mesh):
        middle = placed_vertices(other)[:1]
    depth, way = _from_points(mesh, middle, below=np.inf)
    if depth < 0.0:
        return depth, way
    if isinstance(other, Mesh):
        return _from_other_mesh(mesh, other, below=depth)
    return _from_convex(mesh, other)


def _from_points(mesh: Mesh, points: Array, *, below: float) -> Apart:
    """Return the least signed distance of points to a mesh, and the way there."""
    own = mesh.own(points)
    nearest = nearest_of(mesh.shape, own, below=below)
    distance = signed(mesh.shape, own, nearest)
    row = int(distance.argmin())
    way = (own[row] - nearest.place[row]) @ mesh.frame.rotation.T
    return float(distance[row]), _unit(way * np.sign(distance[row]))


def _from_other_mesh(mesh: Mesh, other: Mesh, *, below: float) -> Apart:
    """Return how far another mesh stands from a mesh, as its samples tell."""
    turned = other.shape.tree.data @ other.frame.rotation.T
    samples = turned + np.asarray(other.frame.origin)
    distance, way = _from_points(mesh, samples, below=below + TOUCH)
    if distance <= 0.0:
        return distance, way
    return max(distance**2 - other.shape.apart**2, 0.0) ** 0.5, way


def _from_convex(mesh: Mesh, other: Convex) -> Apart:
    """Return how far a convex solid stands from the surface of a mesh.

    Notes
    -----
    The signed distance of a convex solid is convex, so that over a triangle it is nowhere
    below its tangent plane at the middle. Triangles whose bound is below the least value
    found are quartered.
    """
    solids = stack([other])
    corners = mesh.shape.corners @ mesh.frame.rotation.T + np.asarray(mesh.frame.origin)
    low, high = bounds(other)
    off = np.maximum(low - corners.max(axis=1), corners.min(axis=1) - high)
    off = np.linalg.norm(np.maximum(off, 0.0), axis=1)
    best, away = np.inf, np.zeros(3)
    nearest = np.arange(len(off)) == off.argmin()
    for begun in (0, 1):  # the likeliest triangle first, then all that may be nearer
        sought = corners[off <= max(best, 0.0) if begun else nearest]
        while len(sought):
            middles = sought.mean(axis=1)
            values, slopes = _values(solids, middles)
            row = int(values.argmin())
            if values[row] < best:
                best, away = float(values[row]), slopes[row]
            beyond = np.einsum("tkc,tc->tk", sought - middles[:, None], slopes)
            bound = values + beyond.min(axis=1)
            sought = _quartered(sought[bound < best - GAP_RESOLUTION])
    return best - GAP_RESOLUTION, -_unit(away)


def _values(solids: SolidSet, points: Array) -> tuple[Array, Array]:
    """Return the distances of points to the only solid of a set, and their slopes."""
    return solids.slope_to(np.zeros(len(points), dtype=np.intp), points)


def _unit(vector: Array) -> Array:
    length = float(np.linalg.norm(vector))
    if length > UNIT_LENGTH:
        return np.asarray(vector / length)
    return np.array([0.0, 0.0, 1.0])


def _quartered(corners: Array) -> Array:
    """Return triangles (t, 3, 3) cut into four each at the middles of their sides."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, bc, ca = (a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0
    parts = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return np.concatenate([np.stack(part, axis=1) for part in parts])
