"""What keeps a mesh from having an inside: open sides, and triangles that cross."""

from __future__ import annotations

import numpy as np

from loopsolver.geometry.mesh_samples import Samples, tree_of
from loopsolver.geometry.triangles import crossing, dots
from loopsolver.geometry.vectors import Array, Indices


def open_sides(faces: Indices, vertices: int) -> int:
    """Return how many sides are not shared by exactly one other, wound alike."""
    from scipy.sparse import csr_array

    ends = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    ones = np.ones(faces.size, dtype=np.int32)
    forth = csr_array((ones, ends), shape=(vertices, vertices))
    is_lone = forth.data == 1
    back = forth.T.tocsr()
    if is_lone.all() and np.array_equal(forth.indices, back.indices):
        return 0
    matched = (forth == 1).multiply(back == 1)
    return int(faces.size - matched.sum())


def crossings(corners: Array, faces: Indices, among: Samples) -> int:
    """Return how many pairs of triangles run through each other, neighbours left out.

    Small triangles are looked for by the middles of the balls round them, large ones by
    their samples.
    """
    middles, reaches = _balls(corners)
    most = _largest_small(among, reaches)
    small, is_large = np.flatnonzero(reaches <= most), reaches > most
    small_ones = tree_of(middles[small])
    pairs = small_ones.query_pairs(2.0 * most, output_type="ndarray")
    first, second = small.take(np.ascontiguousarray(pairs.T))
    if is_large.any():
        sample = np.repeat(np.arange(len(among.places)), np.diff(among.firsts))
        kept = np.flatnonzero(is_large[among.owners])
        large_ones, large = tree_of(among.places[sample[kept]]), among.owners[kept]
        pairs = large_ones.query_pairs(2.0 * among.apart, output_type="ndarray")
        near = large_ones.sparse_distance_matrix(
            small_ones, among.apart + most, output_type="ndarray"
        )
        first = np.concatenate([first, large[pairs[:, 0]], large[near["i"]]])
        second = np.concatenate([second, large[pairs[:, 1]], small[near["j"]]])
    first, second = _share_room(corners, first, second)
    first, second = _strangers(faces, first, second)
    low, high = np.minimum(first, second), np.maximum(first, second)
    keys = each_once(low * len(faces) + high)
    first, second = keys // len(faces), keys % len(faces)
    return int(crossing(corners[first], corners[second]).sum())


def _largest_small(among: Samples, reaches: Array) -> float:
    """Return up to which reach triangles are best looked for by their middles [mm].

    What is sought costs about as many pairs as there are spots within reach of each, all
    spread over the surface.
    """
    samples = np.bincount(among.owners, minlength=len(reaches))

    def pairs(most: float) -> float:
        is_large = reaches > most
        small, large = float((~is_large).sum()), float(samples[is_large].sum())
        alike = (small * most) ** 2 + (large * among.apart) ** 2
        return alike + small * large * (most + among.apart) ** 2

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
