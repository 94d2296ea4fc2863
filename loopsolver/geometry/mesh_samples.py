"""Sample points on triangles, spread so that none of a surface is far from one."""

from __future__ import annotations

import numpy as np

from loopsolver.geometry.vectors import Array, Indices


def samples_of(
    vertices: Array, faces: Indices, spacing: float
) -> tuple[Indices, Indices, Array]:
    """Return samples of triangles that lie no further apart than a spacing [mm].

    Every corner, every side cut evenly, and rows along the longest side, half as far
    apart. That is `firsts` and `owners` of MeshShape, and the samples, (s, 3) [mm].
    """
    every = np.arange(len(faces))
    ids, owners = [faces.ravel()], [np.repeat(every, 3)]
    samples, count = [vertices], len(vertices)
    for owner, places in (
        *(_along(faces[:, [k, (k + 1) % 3]], vertices, spacing) for k in range(3)),
        _in_rows(vertices[faces], spacing),
    ):
        ids.append(count + np.arange(len(owner)))
        owners.append(owner)
        samples.append(places)
        count += len(owner)
    sample, owner = np.concatenate(ids), np.concatenate(owners)
    order = np.argsort(sample, kind="stable")
    firsts = np.searchsorted(sample[order], np.arange(count + 1))
    return firsts, owner[order], np.concatenate(samples)


def _along(sides: Indices, vertices: Array, spacing: float) -> tuple[Indices, Array]:
    """Return which side each sample between its ends is on, and the samples."""
    start, end = vertices[sides[:, 0]], vertices[sides[:, 1]]
    parts = np.ceil(np.linalg.norm(end - start, axis=1) / spacing).astype(np.intp)
    which, number = _counted(np.maximum(parts - 1, 0))
    share = ((number + 1) / parts[which])[:, None]
    return which, (1.0 - share) * start[which] + share * end[which]


def _in_rows(corners: Array, spacing: float) -> tuple[Indices, Array]:
    """Return which triangle each sample within it is of, and the samples."""
    sides = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
    first = sides.argmax(axis=1)
    every = np.arange(len(corners))
    a, b, c = (corners[every, (first + k) % 3] for k in range(3))
    longest = sides[every, first]
    height = np.linalg.norm(np.cross(b - a, c - a), axis=1) / longest
    rows = np.ceil(2.0 * height / spacing).astype(np.intp)
    rows[longest <= spacing] = 1
    which, number = _counted(np.maximum(rows - 1, 0))
    up = (number + 1) / rows[which]
    parts = np.ceil((1.0 - up) * longest[which] / spacing).astype(np.intp)
    row, place = _counted(parts + 1)
    which, up = which[row], up[row][:, None]
    share = (1.0 - up) * (place / parts[row])[:, None]
    return which, (1.0 - up - share) * a[which] + share * b[which] + up * c[which]


def _counted(counts: Indices) -> tuple[Indices, Indices]:
    """Return each place as often as it counts, and the number of the time, from 0 on."""
    which = np.repeat(np.arange(len(counts)), counts)
    return which, np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
