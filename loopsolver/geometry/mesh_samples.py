"""Sample points on triangles, spread so that none of a surface is far from one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from loopsolver.geometry.triangles import side_lengths
from loopsolver.geometry.vectors import Array, Indices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Samples:
    """Places on the triangles of a mesh, s of them.

    Attributes
    ----------
    places : array (s, 3) [mm]
    firsts, owners : int arrays
        Sample i lies on the triangles ``owners[firsts[i]:firsts[i + 1]]``: a vertex on
        all round it, which are first, another one on a single one.
    apart : float [mm]
        Of every place of a triangle's side or inside, a sample of that side or inside
        is no further away than this.
    """

    places: Array
    firsts: Indices
    owners: Indices
    apart: float


def tree_of(points: Array) -> Any:
    """Return points laid out so that those near a place are found fast."""
    from scipy.spatial import cKDTree

    return cKDTree(points, balanced_tree=False, compact_nodes=False)


def samples_of(
    vertices: Array, faces: Indices, sides: Array, spacing: float
) -> Samples:
    """Return samples of triangles that lie no further apart than a spacing [mm].

    `sides` (t, 3) [mm] are the lengths of the triangles' sides.

    Every corner, every side cut evenly, and rows along the longest side, half as far
    apart. A sample of a side is known to one of its triangles alone.
    """
    is_long = sides > spacing
    large = np.flatnonzero(is_long.any(axis=1))
    ends = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2)[is_long]
    keys = ends.min(axis=1) * len(vertices) + ends.max(axis=1)
    _, once = np.unique(keys, return_index=True)
    beside = np.nonzero(is_long)[0][once]
    ids, owners = [faces.ravel()], [np.repeat(np.arange(len(faces)), 3)]
    samples, count = [vertices], len(vertices)
    for among, (which, places) in (
        (beside, _along(ends[once], vertices, spacing)),
        (large, _in_rows(vertices[faces[large]], spacing)),
    ):
        ids.append(count + np.arange(len(which)))
        owners.append(among[which])
        samples.append(places)
        count += len(which)
    firsts, owned = _by_sample(np.concatenate(ids), np.concatenate(owners), count)
    return Samples(
        places=np.concatenate(samples),
        firsts=firsts,
        owners=owned,
        apart=spacing / math.sqrt(2.0),
    )


def samples_each(corners: Array, apart: float) -> Samples:
    """Return samples of triangles (t, 3, 3), each with its own on all of its sides.

    `apart` [mm] is as in `Samples`; each sample has one owner.
    """
    alone = np.arange(3 * len(corners)).reshape(-1, 3)
    sides = side_lengths(corners)
    return samples_of(corners.reshape(-1, 3), alone, sides, apart * math.sqrt(2.0))


def _by_sample(sample: Indices, owner: Indices, count: int) -> tuple[Indices, Indices]:
    """Return owners sample by sample, and where those of each begin."""
    from scipy.sparse import csr_array

    ones = np.ones(len(sample), dtype=np.int8)
    shape = (count, int(owner.max(initial=0)) + 1)
    table = csr_array((ones, (sample, owner)), shape=shape)
    return table.indptr.astype(np.intp), table.indices.astype(np.intp)


def _along(sides: Indices, vertices: Array, spacing: float) -> tuple[Indices, Array]:
    """Return which side each sample between its ends is on, and the samples."""
    start, end = vertices[sides[:, 0]], vertices[sides[:, 1]]
    parts = np.ceil(np.linalg.norm(end - start, axis=1) / spacing).astype(np.intp)
    which, number = numbered(np.maximum(parts - 1, 0))
    share = ((number + 1) / parts[which])[:, None]
    return which, (1.0 - share) * start[which] + share * end[which]


def _in_rows(corners: Array, spacing: float) -> tuple[Indices, Array]:
    """Return which triangle each sample within it is of, and the samples."""
    sides = side_lengths(corners)
    first = sides.argmax(axis=1)
    every = np.arange(len(corners))
    a, b, c = (corners[every, (first + k) % 3] for k in range(3))
    longest = sides[every, first]
    height = np.linalg.norm(np.cross(b - a, c - a), axis=1) / longest
    rows = np.ceil(2.0 * height / spacing).astype(np.intp)
    which, number = numbered(np.maximum(rows - 1, 0))
    up = (number + 1) / rows[which]
    parts = np.ceil((1.0 - up) * longest[which] / spacing).astype(np.intp)
    row, place = numbered(parts + 1)
    which, up = which[row], up[row][:, None]
    share = (1.0 - up) * (place / parts[row])[:, None]
    return which, (1.0 - up - share) * a[which] + share * b[which] + up * c[which]


def numbered(counts: Indices) -> tuple[Indices, Indices]:
    """Return each place as often as it counts, and the number of the time, from 0 on."""
    which = np.repeat(np.arange(len(counts)), counts)
    return which, np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
