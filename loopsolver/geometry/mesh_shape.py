"""The surface of a mesh, laid out so that what of it is near a point is found fast."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np

from loopsolver.geometry.mesh_samples import samples_of
from loopsolver.geometry.triangles import (
    crossing,
    face_normals,
    nearest_places,
    pseudonormals,
    sides_of,
)
from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.tolerances import BOUND_ROUNDING

SAMPLES_WANTED: Final = 26_000
"""About how many sample points a surface gets at least, spread evenly."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
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
    normals : array (t, 7, 3) or None
        See `pseudonormals`; None where the mesh is a surface without an inside.
    tree : cKDTree
        Of samples on the triangles: their corners, and more on large ones.
    firsts, owners : int arrays
        Sample i lies on the triangles ``owners[firsts[i]:firsts[i + 1]]``.
    apart : float [mm]
        Of every place of a triangle's side or inside, a sample of that side or inside
        is no further away than this.
    """

    digest: str
    vertices: Array = field(compare=False, repr=False)
    faces: Indices = field(compare=False, repr=False)
    flaws: Flaws = field(compare=False)
    corners: Array = field(compare=False, repr=False)
    normals: Array | None = field(compare=False, repr=False)
    tree: Any = field(compare=False, repr=False)
    firsts: Indices = field(compare=False, repr=False)
    owners: Indices = field(compare=False, repr=False)
    apart: float = field(compare=False, repr=False)

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
    open_sides = _open_sides(faces, len(vertices))
    if not open_sides and _volume(vertices[faces]) < 0.0:
        faces = faces[:, ::-1]
    corners = vertices[faces]
    longest = _longest(corners)
    spacing = min(math.sqrt(_area(corners) / SAMPLES_WANTED), longest)
    firsts, owners, samples = samples_of(vertices, faces, spacing)
    shape = MeshShape(
        digest=digest,
        vertices=vertices,
        faces=faces,
        flaws=Flaws(open_sides=open_sides),
        corners=corners,
        normals=None,
        tree=_tree(samples),
        firsts=firsts,
        owners=owners,
        apart=spacing / math.sqrt(2.0),
    )
    if open_sides:
        return shape
    crossings = _crossings(shape)
    if crossings:
        return replace(shape, flaws=Flaws(crossings=crossings))
    return replace(shape, normals=pseudonormals(vertices, faces))


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


def signed_distances(
    shape: MeshShape, points: Array, *, below: float = math.inf
) -> Array:
    """Return distances of points to a mesh, negative inside it, (n,) [mm].

    What is not nearer than `below` is told as that, inside as well as outside.
    """
    return signed(shape, points, nearest_of(shape, points, below=below))


def signed(shape: MeshShape, points: Array, nearest: NearestPlaces) -> Array:
    """Return the distances of nearest places, negative for points inside the mesh."""
    if shape.normals is None:
        return nearest.distance
    normals = shape.normals[nearest.triangle, nearest.feature]
    leans = np.einsum("ij,ij->i", points - nearest.place, normals)
    inside = (leans < 0.0) & (nearest.triangle >= 0)
    return np.where(inside, -nearest.distance, nearest.distance)


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
    keys = np.unique(rows * len(shape.faces) + owned)
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
    firsts, counts = shape.firsts[samples], np.diff(shape.firsts)[samples]
    within = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.repeat(rows, counts), shape.owners[np.repeat(firsts, counts) + within]


def _tree(points: Array) -> Any:
    from scipy.spatial import cKDTree

    return cKDTree(points, balanced_tree=False, compact_nodes=True)


def _merged(vertices: Array, faces: Indices) -> tuple[Array, Indices]:
    """Return vertices each once, with the faces that have an area."""
    plain = np.ascontiguousarray(vertices + 0.0)
    words = plain.view(np.uint64).reshape(-1, 3)
    mixed = np.zeros(len(words), dtype=np.uint64)
    for column in words.T:
        mixed = (mixed ^ column) * np.uint64(0x9E3779B97F4A7C15)
        mixed ^= mixed >> np.uint64(29)
    _, first, every = np.unique(mixed, return_index=True, return_inverse=True)
    kept = plain[first]
    if not np.array_equal(kept[every.ravel()], plain):  # two places, one number
        kept, every = np.unique(plain, axis=0, return_inverse=True)
    faces = every.ravel()[faces]
    normals = face_normals(kept[faces])
    return kept, faces[(normals != 0.0).any(axis=1)]


def _longest(corners: Array) -> float:
    """Return the length of the longest side of all triangles [mm]; 0 of none."""
    sides = np.roll(corners, -1, axis=1) - corners
    return float(np.linalg.norm(sides, axis=2).max(initial=0.0))


def _area(corners: Array) -> float:
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2.0)


def _volume(corners: Array) -> float:
    """Return the volume within a closed surface [mm3]; negative if wound inside out."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def _open_sides(faces: Indices, vertices: int) -> int:
    """Return how many sides are not shared by exactly one other, wound alike."""
    sides = sides_of(faces).reshape(-1, 2)
    forth = np.sort(sides[:, 0] * vertices + sides[:, 1])
    back = np.sort(sides[:, 1] * vertices + sides[:, 0])
    if len(forth) == len(np.unique(forth)) and np.array_equal(forth, back):
        return 0
    once, counts = np.unique(forth, return_counts=True)
    is_matched = np.isin(once, back) & (counts == 1)
    return int(counts[~is_matched].sum())


def _crossings(shape: MeshShape) -> int:
    """Return how many pairs of triangles run through each other, neighbours left out.

    Small triangles are looked for by their middles, large ones by their samples.
    """
    corners, faces = shape.corners, shape.faces
    counts = np.diff(shape.firsts)[len(shape.vertices) :]
    lone = shape.owners[shape.firsts[len(shape.vertices)] :]
    is_large = np.isin(np.arange(len(faces)), lone)
    ends = faces[is_large]
    spots = np.concatenate(
        [
            corners[~is_large].mean(axis=1),
            shape.tree.data[len(shape.vertices) :],
            shape.vertices[ends.ravel()],
        ]
    )
    large = np.flatnonzero(is_large)
    owner = np.concatenate(
        [np.flatnonzero(~is_large), np.repeat(lone, counts), np.repeat(large, 3)]
    )
    # a triangle's middle is within two thirds of its longest side of all of it
    reach = max(2.0 / 3.0 * _longest(corners[~is_large]), shape.apart)
    pairs = _tree(spots).query_pairs(2.0 * reach, output_type="ndarray")
    first, second = owner[pairs[:, 0]], owner[pairs[:, 1]]
    first, second = np.minimum(first, second), np.maximum(first, second)
    kept = first != second
    first, second = first[kept], second[kept]
    kept = _share_room(corners.min(axis=1), corners.max(axis=1), first, second)
    first, second = first[kept], second[kept]
    kept = (faces[first, :, None] != faces[second, None, :]).all(axis=(1, 2))
    keys = np.unique(first[kept] * len(faces) + second[kept])
    first, second = keys // len(faces), keys % len(faces)
    return int(crossing(corners[first], corners[second]).sum())


def _share_room(low: Array, high: Array, first: Indices, second: Indices) -> Flags:
    shared: Flags = np.ones(len(first), dtype=np.bool_)
    for axis in range(3):
        shared &= low[first, axis] < high[second, axis]
        shared &= low[second, axis] < high[first, axis]
    return shared
