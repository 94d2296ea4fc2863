"""What keeps a mesh from having an inside: open sides, and triangles that cross."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.mesh_samples import Samples, samples_each, tree_of
from loopsolver.geometry.triangles import crossing, dots
from loopsolver.geometry.vectors import Array, Flags, Indices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joins:
    """How the triangles of a mesh are joined along their sides; nothing where it is open.

    Attributes
    ----------
    open_sides : int
        How many sides are not shared by exactly one other, wound alike.
    starts, ends : int arrays (3 t,)
        The vertices of each side of each triangle, in the triangle's order.
    ones, others : int arrays (3 t,)
        The triangle that each side is of, and the one beyond it.
    """

    open_sides: int
    starts: Indices
    ends: Indices
    ones: Indices
    others: Indices


def joins_of(faces: Indices, vertices: int) -> Joins:
    """Return how triangles are joined."""
    from scipy.sparse import csr_array

    ends = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    numbers = np.repeat(np.arange(len(faces), dtype=np.int32), 3)
    forth = csr_array((numbers, ends), shape=(vertices, vertices))
    back = forth.T.tocsr()
    if forth.nnz == faces.size and np.array_equal(forth.indices, back.indices):
        starts = np.repeat(np.arange(vertices), np.diff(forth.indptr))
        return Joins(
            open_sides=0,
            starts=starts,
            ends=forth.indices,
            ones=forth.data,
            others=back.data,
        )
    forth = csr_array((np.ones_like(numbers), ends), shape=(vertices, vertices))
    matched = int((forth == 1).multiply(forth.T.tocsr() == 1).sum())
    none = np.zeros(0, dtype=np.intp)
    count = int(faces.size - matched)
    return Joins(open_sides=count, starts=none, ends=none, ones=none, others=none)


def crossings(corners: Array, faces: Indices, among: Samples, may: Flags) -> int:
    """Return how many pairs of triangles run through each other, neighbours left out.

    Only those that `may` (t,) are looked at: small ones are looked for by the middles of
    the balls round them, large ones by their samples.
    """
    which = np.flatnonzero(may)
    if not which.size:
        return 0
    middles, reaches = _balls(corners[which])
    samples = np.bincount(among.owners, minlength=len(faces))[which]
    most = _largest_small(samples, among.apart, reaches)
    small, large = which[reaches <= most], which[reaches > most]
    small_ones = tree_of(middles[reaches <= most])
    pairs = small_ones.query_pairs(2.0 * most, output_type="ndarray")
    first, second = small.take(np.ascontiguousarray(pairs.T))
    if large.size:
        own = samples_each(corners[large], among.apart)
        owners, large_ones = large[own.owners], tree_of(own.places)
        pairs = large_ones.query_pairs(2.0 * own.apart, output_type="ndarray")
        near = large_ones.sparse_distance_matrix(
            small_ones, own.apart + most, output_type="ndarray"
        )
        first = np.concatenate([first, owners[pairs[:, 0]], owners[near["i"]]])
        second = np.concatenate([second, owners[pairs[:, 1]], small[near["j"]]])
    first, second = _share_room(corners, first, second)
    first, second = _strangers(faces, first, second)
    low, high = np.minimum(first, second), np.maximum(first, second)
    keys = each_once(low * len(faces) + high)
    first, second = keys // len(faces), keys % len(faces)
    return int(crossing(corners[first], corners[second]).sum())


def _largest_small(samples: Indices, apart: float, reaches: Array) -> float:
    """Return up to which reach triangles are best looked for by their middles [mm].

    What is sought costs about as many pairs as there are spots within reach of each, all
    spread over the surface.
    """

    def pairs(most: float) -> float:
        is_large = reaches > most
        small, large = float((~is_large).sum()), float(samples[is_large].sum())
        alike = (small * most) ** 2 + (large * apart) ** 2
        return alike + small * large * (most + apart) ** 2

    cuts: list[float] = np.quantile(reaches, [1.0, 0.999, 0.99, 0.9, 0.5]).tolist()
    return min(cuts, key=pairs)


def _balls(corners: Array) -> tuple[Array, Array]:
    """Return the middles and the radii of the least balls round triangles.

    That of an acute triangle passes through all corners, its middle the sum of these by
    the squares of the sides across, each times the sum of the others less that; else it
    stands on the longest side.

    References
    ----------
    Barycentric coordinates of the circumcentre. From memory.
    """
    a, b, c = (corners[:, k] for k in range(3))
    sides = (c - b, a - c, b - a)
    across = np.stack([dots(side, side) for side in sides])
    weights = across * (across.sum(axis=0) - 2.0 * across)
    is_wide = (weights <= 0.0).any(axis=0)
    weights[:, is_wide] = weights[:, is_wide] > 0.0
    weights /= weights.sum(axis=0)
    u, v, w = weights[:, :, None]
    middles = u * a + v * b + w * c
    off = np.stack([dots(one - middles, one - middles) for one in (a, b, c)])
    return middles, np.sqrt(off.max(axis=0))


def _share_room(
    corners: Array, first: Indices, second: Indices
) -> tuple[Indices, Indices]:
    """Return the pairs of two triangles the upright boxes round which overlap."""
    for axis in range(3):
        a, b, c = corners[:, :, axis].T
        low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
        kept = low.take(first) < high.take(second)
        kept &= low.take(second) < high.take(first)
        place = np.flatnonzero(kept)
        first, second = first.take(place), second.take(place)
    return first, second


def _strangers(
    faces: Indices, first: Indices, second: Indices
) -> tuple[Indices, Indices]:
    """Return the pairs of two triangles that have no vertex in common."""
    for one in faces.T:
        for two in faces.T:
            kept = one[first] != two[second]
            first, second = first[kept], second[kept]
    return first, second


def each_once(numbers: Indices) -> Indices:
    """Return whole numbers sorted, each once."""
    ordered = np.sort(numbers)
    found: Indices = ordered[np.diff(ordered, prepend=-1) != 0]
    return found
