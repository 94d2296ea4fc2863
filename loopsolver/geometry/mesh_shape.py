"""The surface of a mesh, laid out so that what of it is near a point is found fast."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import numpy as np

from loopsolver.geometry.mesh_flaws import crossings, each_once, joins_of
from loopsolver.geometry.mesh_patches import may_cross
from loopsolver.geometry.mesh_samples import Samples, samples_of, tree_of
from loopsolver.geometry.triangles import (
    FACE,
    corner_angles,
    dots,
    face_normals,
    nearest_places,
    side_lengths,
)
from loopsolver.geometry.vectors import Array, Indices, lowest_and_highest
from loopsolver.tolerances import BOUND_ROUNDING

SAMPLES_WANTED: Final = 20_000
"""About how many sample points a surface gets at least, spread evenly."""

FINEST_SPACING: Final = 1.0
"""Samples need not lie nearer to each other than this [mm].

A tube of 8 mm with a clearance of 2 is then sought 0.04 mm further off at most.
"""

NEIGHBOURS: Final = 12
"""How many samples round a point are looked at first; where they are too few, four
times as many.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flaws:
    """What keeps a mesh from having an inside: all 0 where it has one.

    Attributes
    ----------
    open_sides : int
        Sides of triangles that are not shared by exactly one other, wound alike.
    crossings : int
        Pairs of triangles that run through each other; counted where all is closed.
    """

    open_sides: int = 0
    crossings: int = 0


@dataclass(frozen=True, kw_only=True)
class MeshShape:
    """A mesh in its own coordinates; two of one digest are the same.

    Attributes
    ----------
    digest : str
        Tells the mesh from every other.
    vertices : array (v, 3) [mm]
    faces : int array (t, 3)
    flaws : Flaws
    corners : array (t, 3, 3) [mm]
        Of the triangles.
    tree : cKDTree
        Of samples on the triangles: their corners, and more on large ones.
    samples : Samples
        These.
    """

    digest: str
    vertices: Array = field(compare=False, repr=False)
    faces: Indices = field(compare=False, repr=False)
    flaws: Flaws = field(compare=False)
    corners: Array = field(compare=False, repr=False)
    tree: Any = field(compare=False, repr=False)
    samples: Samples = field(compare=False, repr=False)

    @property
    def apart(self) -> float:
        """How far a place of the mesh is from the next sample at most [mm]."""
        return self.samples.apart

    @property
    def has_inside(self) -> bool:
        """Return whether it is a solid, not a mere surface."""
        return self.flaws == Flaws()

    @cached_property
    def box(self) -> Array:
        """Return its lowest and highest coordinates, (2, 3) [mm]: never write to them."""
        return lowest_and_highest(self.vertices)

    def reach_of(self, distance: Array | float) -> Any:
        """Return within what of a point samples must lie that are as near as `distance`.

        The way from the nearest place of a triangle to a point is square to the side or
        face on which that place lies, and so is the way on to a sample of it: the
        squares of both add up.
        """
        return np.sqrt(np.square(distance) + self.apart**2) * (1.0 + BOUND_ROUNDING)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NearestPlaces:
    """The nearest place of a mesh to each of some points, n of them.

    Attributes
    ----------
    distance : array (n,) [mm]
    place : array (n, 3) [mm]
    triangle, feature : int arrays (n,)
        `triangle` is -1 where nothing is nearer than was asked.
    """

    distance: Array
    place: Array
    triangle: Indices
    feature: Indices


def mesh_shape(vertices: Array, faces: Indices, *, digest: str) -> MeshShape:
    """Return a mesh laid out for measuring; triangles without an area are left out.

    Parameters
    ----------
    vertices : array (v, 3) [mm]
    faces : int array (t, 3)
        At least one with an area. Where a closed mesh is wound inside out it is turned.
    digest : str
    """
    vertices, faces = _merged(vertices, faces)
    corners = vertices[faces]
    a, b, c = (corners[:, k] for k in range(3))
    normals = np.cross(b - a, c - a)
    areas = 0.5 * np.sqrt(dots(normals, normals))
    if not areas.all():
        faces, corners = faces[areas > 0.0], corners[areas > 0.0]
        normals = normals[areas > 0.0]
    sides = side_lengths(corners)
    longest = float(sides.max(initial=0.0))
    joins = joins_of(faces, len(vertices))
    is_closed = not joins.open_sides and len(faces) > 0
    if is_closed:
        may = may_cross(vertices, faces, normals, longest, joins)
    if is_closed and dots(corners[:, 0], normals).sum() < 0.0:  # six times its volume
        faces, corners, sides = faces[:, ::-1], corners[:, ::-1], sides[:, [1, 0, 2]]
    wanted = math.sqrt(float(areas.sum()) / SAMPLES_WANTED)
    spacing = min(max(wanted, FINEST_SPACING), longest)
    samples = samples_of(vertices, faces, sides, spacing)
    flaws = Flaws(
        open_sides=joins.open_sides,
        crossings=crossings(corners, faces, samples, may) if is_closed else 0,
    )
    return MeshShape(
        digest=digest,
        vertices=vertices,
        faces=faces,
        flaws=flaws,
        corners=corners,
        tree=tree_of(samples.places),
        samples=samples,
    )


POINTS_AT_ONCE: Final = 8192
"""How many points are looked at together: it bounds the memory."""


def nearest_of(
    shape: MeshShape, points: Array, *, below: float = math.inf
) -> NearestPlaces:
    """Return the exact nearest places of a mesh to points, all in its own coordinates.

    Parameters
    ----------
    shape : MeshShape
    points : array (n, 3) [mm]
    below : float [mm]
        What is not nearer than this need not be found; the distance is then this.
    """
    count = len(points)
    best = NearestPlaces(
        distance=np.full(count, float(below)),
        place=np.array(points),
        triangle=np.full(count, -1),
        feature=np.zeros(count, dtype=np.intp),
    )
    for start in range(0, count, POINTS_AT_ONCE):
        rows = np.arange(start, min(start + POINTS_AT_ONCE, count))
        _seek(best, shape, points, rows, most=float(shape.reach_of(below)))
    return best


def _seek(
    best: NearestPlaces, shape: MeshShape, points: Array, rows: Indices, *, most: float
) -> None:
    """Note the nearest places of some rows of points, with samples within `most` [mm]."""
    apart, _ = shape.tree.query(points[rows], distance_upper_bound=most)
    rows, looked_at = rows[apart <= most], min(NEIGHBOURS, shape.tree.n)
    while len(rows):
        apart, sample = shape.tree.query(
            points[rows], k=looked_at, distance_upper_bound=most
        )
        apart, sample = apart.reshape(len(rows), -1), sample.reshape(len(rows), -1)
        _improve(best, shape, points, rows, sample[:, :1])
        near = apart <= shape.reach_of(best.distance[rows])[:, None]
        near[:, 0] = False
        _improve(best, shape, points, rows, np.where(near, sample, shape.tree.n))
        is_open = apart[:, -1] < shape.reach_of(best.distance[rows])
        rows = rows[is_open & (looked_at < shape.tree.n)]
        looked_at = min(4 * looked_at, shape.tree.n)


def bounds_below(shape: MeshShape, points: Array, *, most: float) -> Array:
    """Return what the unsigned distance of points is surely not below, (n,) [mm].

    What is further off than `most` is told as that. Where the true distance is d, what is
    told is lower by no more than `sought_further` says for d.

    Notes
    -----
    No place of the mesh is nearer than the nearest sample says (`MeshShape.reach_of`),
    nor than the box round all. Of a box as a mesh the second is exact.
    """
    reach = float(shape.reach_of(most))
    apart, _ = shape.tree.query(points, distance_upper_bound=reach)
    within = np.sqrt(np.maximum(np.minimum(apart, reach) ** 2 - shape.apart**2, 0.0))
    bound = np.maximum(within * (1.0 - BOUND_ROUNDING), beyond_box(shape, points))
    return np.asarray(np.minimum(bound, most))


def beyond_box(shape: MeshShape, points: Array) -> Array:
    """Return how far points are from the box round a mesh, (n,) [mm]; 0 inside it."""
    beyond = np.maximum(shape.box[0] - points, points - shape.box[1])
    found: Array = np.sqrt((np.maximum(beyond, 0.0) ** 2).sum(axis=1))
    return found


def sought_further(shape: MeshShape, distance: float) -> float:
    """Return by how much more than a distance a search keeps from a mesh at most [mm]."""
    return float(shape.reach_of(distance)) - distance


def signed_distances(
    shape: MeshShape, points: Array, *, below: float = math.inf
) -> Array:
    """Return distances of points to a mesh, negative inside it, (n,) [mm].

    What is not nearer than `below` is told as that, inside as well as outside.
    """
    return signed(shape, points, nearest_of(shape, points, below=below))


def signed(shape: MeshShape, points: Array, nearest: NearestPlaces) -> Array:
    """Return the distances of nearest places, negative for points inside the mesh."""
    distance = nearest.distance.copy()
    near = np.flatnonzero(nearest.triangle >= 0)
    if not near.size or not shape.has_inside:
        return distance
    normals = _pseudonormals(shape, nearest.triangle[near], nearest.feature[near])
    leans = np.einsum("ij,ij->i", points[near] - nearest.place[near], normals)
    distance[near[leans < 0.0]] *= -1.0
    return distance


def _pseudonormals(shape: MeshShape, triangle: Indices, feature: Indices) -> Array:
    """Return normals of features of triangles that tell the sides of the mesh, (n, 3).

    Of a point outside a closed surface the way from the nearest place of it to the point
    leans with the normal of the feature that the place is on; of one inside, against.

    Notes
    -----
    A face has its own normal; a side the sum of those of the two faces that it joins; a
    corner the sum over its faces, weighted by their angles there.

    References
    ----------
    J. A. Baerentzen and H. Aanaes, Signed distance computation using the angle weighted
    pseudonormal, IEEE Transactions on Visualization and Computer Graphics 11 (2005). From
    memory.
    """
    normals = face_normals(shape.corners[triangle])
    row = np.flatnonzero(feature != FACE)
    of_row, of_corner = shape.faces[triangle[row]], feature[row] > 3
    at = of_row[np.arange(len(row)), (feature[row] - 1) % 3]
    other = of_row[np.arange(len(row)), feature[row] % 3]
    every, owner = _owned(shape, np.arange(len(row)), at)
    faces = shape.faces[owner]
    kept = of_corner[every] | (faces == other[every, None]).any(axis=1)
    every, owner, faces = every[kept], owner[kept], faces[kept]
    corners = shape.corners[owner]
    angles = corner_angles(corners)[faces == at[every, None]]
    weights = np.where(of_corner[every], angles, 1.0)
    weighted = weights[:, None] * face_normals(corners)
    for axis in range(3):
        normals[row, axis] = np.bincount(every, weighted[:, axis], minlength=len(row))
    return normals


def triangles_near(
    shape: MeshShape, at: Array, within: Array
) -> tuple[Indices, Indices]:
    """Return pairs of points and triangles that may be as near as a distance.

    Parameters
    ----------
    at : array (n, 3) [mm]
    within : array (n,) [mm]
        Every triangle that is as near to its point is among them.

    Returns
    -------
    rows, triangles : int arrays
    """
    found = shape.tree.query_ball_point(at, shape.reach_of(within))
    sizes = np.array([len(one) for one in found], dtype=np.intp)
    samples = np.array([each for one in found for each in one], dtype=np.intp)
    rows, owned = _owned(shape, np.repeat(np.arange(len(at)), sizes), samples)
    keys = each_once(rows * len(shape.faces) + owned)
    return keys // len(shape.faces), keys % len(shape.faces)


def _improve(
    best: NearestPlaces,
    shape: MeshShape,
    points: Array,
    rows: Indices,
    samples: Indices,
) -> None:
    """Note what the triangles of samples (rows, k) have nearer; the tree's n: none."""
    row, column = np.nonzero(samples < shape.tree.n)
    row, triangle = _owned(shape, rows[row], samples[row, column])
    if not len(row):
        return
    places, features = nearest_places(points[row], shape.corners[triangle])
    apart = np.linalg.norm(places - points[row], axis=1)
    starts = np.flatnonzero(np.diff(row, prepend=-1))
    least = np.minimum.reduceat(apart, starts)
    met = np.flatnonzero(apart == np.repeat(least, np.diff([*starts, len(row)])))
    met = met[np.diff(row[met], prepend=-1) != 0]
    met = met[apart[met] < best.distance[row[met]]]
    best.distance[row[met]] = apart[met]
    best.place[row[met]] = places[met]
    best.triangle[row[met]] = triangle[met]
    best.feature[row[met]] = features[met]


def _owned(
    shape: MeshShape, rows: Indices, samples: Indices
) -> tuple[Indices, Indices]:
    """Return every row with each of the triangles on which its sample lies."""
    every = shape.samples
    firsts, counts = every.firsts[samples], np.diff(every.firsts)[samples]
    within = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.repeat(rows, counts), every.owners[np.repeat(firsts, counts) + within]


def _merged(vertices: Array, faces: Indices) -> tuple[Array, Indices]:
    """Return vertices of faces each once, as they first appear, and faces with them.

    Places are told apart by numbers mixed from their coordinates; where two places have
    one number, by sorting them.
    """
    plain = np.ascontiguousarray(vertices + 0.0)
    words = plain.view(np.uint64).reshape(-1, 3)
    mixed = np.zeros(len(words), dtype=np.uint64)
    for column in words.T:
        mixed = (mixed ^ column) * np.uint64(0x9E3779B97F4A7C15)
        mixed ^= mixed >> np.uint64(29)
    bits = np.uint64(len(plain).bit_length())
    keys = np.sort(mixed >> bits << bits | np.arange(len(plain), dtype=np.uint64))
    index = (keys & ((np.uint64(1) << bits) - np.uint64(1))).astype(np.intp)
    keys >>= bits
    is_first = np.concatenate([[True], keys[1:] != keys[:-1]])
    first = np.empty_like(index)
    first[index] = index[is_first][np.cumsum(is_first) - 1]
    if not np.array_equal(plain[first], plain):
        _, one, which = np.unique(plain, axis=0, return_index=True, return_inverse=True)
        first = one[which.ravel()]
    faces = first[faces]
    is_kept = np.zeros(len(first), dtype=np.bool_)
    is_kept[faces] = True
    return plain[is_kept], (np.cumsum(is_kept) - 1)[faces]
