"""The least distance of a curve to a mesh, certified as for convex solids."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from loopsolver.geometry.curves import Curves, valley
from loopsolver.geometry.mesh_shape import (
    MeshShape,
    nearest_of,
    signed_distances,
    triangles_near,
)
from loopsolver.geometry.solids import Mesh, bounds
from loopsolver.geometry.triangles import dots, nearest_places
from loopsolver.geometry.vectors import Array, Indices
from loopsolver.tolerances import DEPTH_RESOLUTION, TOUCH

INTERVAL: Final = 4.0
"""The longest intervals for which triangles are gathered together [mm]."""

PARTS: Final = 4
"""Into how many parts an interval is cut that is still in question."""

LeastToMesh = tuple[float, Array]
"""The least distance [mm] and the point of the curve, (3,), in the mesh's coordinates."""


def least_to_mesh(
    curves: Curves, mesh: Mesh, *, below: float, resolution: float
) -> LeastToMesh | None:
    """Return the least signed distance of one curve to a mesh, and where.

    Parameters
    ----------
    curves : Curves
        The pieces of one curve, each beginning where the one before it ends.
    mesh : Mesh
    below : float [mm]
        What is not nearer is not looked for: then None is returned.
    resolution : float [mm]
        The true least distance is at most this much below the one returned; inside the
        mesh `tolerances.DEPTH_RESOLUTION`.

    Notes
    -----
    Every triangle is convex, so `nearest_solids` tells how a pair of an interval and a
    triangle is bounded. The distance to the mesh bounds which pairs there are: a triangle
    counts that may be nearer to the interval than the best found. A curve that meets no
    triangle is all inside or all outside.
    """
    most = max(below, 2.0 * resolution)  # else a curve that crosses is not noticed
    if _passes_by(curves, mesh, most):
        return None
    seen, shape = _seen(curves, mesh), mesh.shape
    start = seen.points(np.array([0]), seen.start[:1])
    is_inside = _is_inside(shape, start)
    found = _outside(seen, shape, below=most, resolution=resolution)
    met = found is not None and found[0] <= resolution
    if (met or is_inside) and shape.has_inside:
        found = _deepest(seen, shape, np.inf if found is None else found[0], start[0])
    if found is None or found[0] >= below:
        return None
    placed = found[1] @ mesh.frame.rotation.T + np.asarray(mesh.frame.origin)
    return found[0], placed


def _passes_by(curves: Curves, mesh: Mesh, most: float) -> bool:
    """Return whether no piece is nearer than `most` [mm] to the box round a mesh."""
    low, high = bounds(mesh)
    middles = curves.middles()
    beyond = np.maximum(np.maximum(low - middles, middles - high), 0.0)
    apart = np.sqrt(dots(beyond, beyond)) - curves.half_reach()
    return bool(apart.min() > most + TOUCH)


def _is_inside(shape: MeshShape, start: Array) -> bool:
    """Return whether the start of a curve, (1, 3), lies in a mesh that has an inside."""
    low, high = shape.box
    if (start < low).any() or (start > high).any():
        return False
    return bool(signed_distances(shape, start)[0] < 0.0)


def _seen(curves: Curves, mesh: Mesh) -> Curves:
    """Return a curve in the coordinates of a mesh."""
    turn = mesh.frame.rotation
    return replace(
        curves,
        origin=mesh.own(curves.origin),
        first=curves.first @ turn,
        second=curves.second @ turn,
    )


def _intervals(curves: Curves) -> tuple[Indices, Array, Array]:
    """Return intervals of pieces that are no longer than INTERVAL: piece, low, high."""
    counts = np.maximum(np.ceil(2.0 * curves.half_reach() / INTERVAL), 1).astype(int)
    counts = np.where(curves.is_bent, counts + 1, counts)
    piece = np.repeat(np.arange(len(curves)), counts)
    within = np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)
    step = ((curves.stop - curves.start) / counts)[piece]
    low = curves.start[piece] + within * step
    return piece, low, low + step


def _outside(
    curves: Curves, shape: MeshShape, *, below: float, resolution: float
) -> LeastToMesh | None:
    """Return the least distance of a curve to the triangles of a mesh, if below."""
    piece, low, high = _intervals(curves)
    middles = curves.points(piece, 0.5 * (low + high))
    half = replace(curves.pick(piece), start=low, stop=high).half_reach()
    nearest = nearest_of(shape, middles, below=below + float(half.max()))
    best, at = below, np.zeros(3)
    least = int(nearest.distance.argmin())
    if nearest.distance[least] < best:
        best, at = float(nearest.distance[least]), middles[least]
    near = np.flatnonzero(nearest.distance - half < best - resolution)
    if not len(near):
        return (best, at) if best < below else None
    row, triangle = triangles_near(shape, middles[near], best + half[near])
    piece, low, high = piece[near][row], low[near][row], high[near][row]
    while len(piece):
        distance, bound, shares, points = _bounded(
            curves, (piece, low, high), shape.corners[triangle]
        )
        where = np.unravel_index(distance.argmin(), distance.shape)
        if distance[where] < best:
            best, at = float(distance[where]), points[where]
        if best <= resolution:
            break
        row, part = np.nonzero(bound < best - resolution)
        piece, triangle = piece[row], triangle[row]
        low, high = shares[row, part], shares[row, part + 1]
    return (best, at) if best < below else None


def _bounded(
    curves: Curves, intervals: tuple[Indices, Array, Array], corners: Array
) -> tuple[Array, Array, Array, Array]:
    """Return distances of intervals' points to triangles, and bounds between them.

    Returns
    -------
    distance : array (k, PARTS + 1) [mm]
    bound : array (k, PARTS) [mm]
    at : array (k, PARTS + 1)
        The parameters of the points.
    points : array (k, PARTS + 1, 3) [mm]
    """
    piece, low, high = intervals
    at = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, PARTS + 1)
    every = np.repeat(piece, PARTS + 1)
    flat = curves.points(every, at.ravel())
    places, _ = nearest_places(flat, np.repeat(corners, PARTS + 1, axis=0))
    points = flat.reshape(len(piece), PARTS + 1, 3)
    slope = points - places.reshape(points.shape)
    distance = np.linalg.norm(slope, axis=2)
    slope /= np.where(distance == 0.0, 1.0, distance)[:, :, None]
    here, there = slope[:, :-1], slope[:, 1:]
    chord = np.diff(points, axis=1)
    bulge = curves.bulges(
        np.repeat(piece, PARTS), at[:, :-1].ravel(), at[:, 1:].ravel()
    ).reshape(chord.shape)
    bound = valley(
        distance[:, :-1] + np.minimum((here * bulge).sum(axis=2), 0.0),
        (here * chord).sum(axis=2),
        distance[:, 1:] + np.minimum((there * bulge).sum(axis=2), 0.0),
        (there * chord).sum(axis=2),
    )
    return distance, bound, at, points


def _deepest(curves: Curves, shape: MeshShape, best: float, at: Array) -> LeastToMesh:
    """Return the least signed distance of a curve that is inside a mesh somewhere.

    No distance changes faster than the point moves: intervals are cut until none can
    hold a point that is deeper by more than is resolved.
    """
    piece, low, high = _intervals(curves)
    while len(piece):
        middle = 0.5 * (low + high)
        points = curves.points(piece, middle)
        distance = signed_distances(shape, points)
        row = int(distance.argmin())
        if distance[row] < best:
            best, at = float(distance[row]), points[row]
        half = replace(curves.pick(piece), start=low, stop=high).half_reach()
        kept = np.flatnonzero(distance - half < min(best, 0.0) - DEPTH_RESOLUTION)
        piece = np.tile(piece[kept], 2)
        low, high = (
            np.concatenate([low[kept], middle[kept]]),
            np.concatenate([middle[kept], high[kept]]),
        )
    return best, at
