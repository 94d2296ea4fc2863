"""Patches of a closed mesh that lie so flat that none of their triangles crosses any."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from loopsolver.geometry.mesh_flaws import Joins
from loopsolver.geometry.mesh_samples import numbered
from loopsolver.geometry.triangles import dots
from loopsolver.geometry.vectors import Array, Flags, Indices, lowest_and_highest
from loopsolver.tolerances import LEAST_SLOPE, SLIVER

TRIANGLES_A_PATCH: Final = 128
"""About how many triangles a patch has: fewer take longer, more lie less flat."""

CELLS_ACROSS: Final = 128
"""How many cells lie along a mesh at most: it bounds the memory."""

_STEPS: Final = np.array(list(product((-1, 0, 1), repeat=3)))
"""From a cell to itself and the 26 round it, (27, 3)."""

_LEAVES: Final = (np.abs(_STEPS[:, None] - _STEPS) > 1).any(axis=2)
"""Whether the cell a step (row) away is none of those round the cell a step (column)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Patches:
    """The triangles of a mesh by the cell of an even grid that their first corner is in.

    Cells are twice as wide as the longest side: triangles that meet are of one patch or
    of two in neighbouring cells.

    Attributes
    ----------
    of_faces, of_vertices : int arrays (t,), (v,)
        The patch of each triangle, and the one in whose cell each vertex is or -1.
    cells : int array (p, 3)
    near : int array (p, 27)
        Itself and the patches round it; -1 where there is none.
    """

    of_faces: Indices
    of_vertices: Indices
    cells: Indices
    near: Indices

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.cells)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Outlines:
    """Sides between triangles of two patches, as the first has them, in s stretches.

    Attributes
    ----------
    starts, ends : int arrays
        Vertices.
    firsts, counts : int arrays (s,)
        Where the sides of each stretch begin, and how many there are.
    patches, steps : int arrays (s,)
        The first patch, and which of the 26 round it the second is.
    """

    starts: Indices
    ends: Indices
    firsts: Indices
    counts: Indices
    patches: Indices
    steps: Indices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Views:
    """How patches look from above, p of them, each within a circle.

    Attributes
    ----------
    middles : array (p, 3) [mm]
    radii : array (p,) [mm]
    right, back : arrays (p, 3)
        Square to each other and to the way the patch is looked at.
    """

    middles: Array
    radii: Array
    right: Array
    back: Array

    def seen(self, which: Indices, places: Array) -> tuple[Array, Array]:
        """Return how far right and back of their patch's middle places are seen [mm]."""
        off = places - self.middles.take(which, axis=0)
        right = dots(off, self.right.take(which, axis=0))
        return right, dots(off, self.back.take(which, axis=0))


def may_cross(
    vertices: Array, faces: Indices, normals: Array, longest: float, joins: Joins
) -> Flags:
    """Return which triangles of a closed mesh may run through another one, (t,).

    Parameters
    ----------
    vertices : array (v, 3) [mm]
    faces : int array (t, 3)
    normals : array (t, 3)
        Twice as long as the triangles' areas.
    longest : float [mm]
        Their longest side.
    joins : Joins

    Notes
    -----
    Let all triangles of a patch and of those round it look up. Seen from above as many of
    them lie over a place as their outline runs round it. Where that outline stays outside
    a circle round the patch and runs once round its middle, no two triangles lie over one
    place of the patch: none of the patch crosses any.

    References
    ----------
    That what lies flat and whose outline does not cross itself cannot cross itself: P.
    Volino and N. Magnenat-Thalmann, Efficient self-collision detection on smoothly
    discretized surface animations using geometrical shape regularity, Computer Graphics
    Forum 13 (1994). From memory.
    """
    area = 0.5 * float(np.sqrt(dots(normals, normals)).sum())
    wanted = (area / len(faces) * TRIANGLES_A_PATCH) ** 0.5
    patches = _patches(vertices, faces, wanted, longest)
    ups, is_flat = _ups(patches, normals, longest)
    views = _views(patches, vertices, ups, longest)
    is_sure = is_flat & _once(patches, vertices, joins, views, longest)
    may: Flags = ~is_sure[patches.of_faces]
    return may


def _views(patches: _Patches, vertices: Array, ups: Array, longest: float) -> _Views:
    """Return patches as they are seen against their directions up, each in a circle."""
    count, kept = len(patches), np.flatnonzero(patches.of_vertices >= 0)
    of, places = patches.of_vertices[kept], vertices.take(kept, axis=0)
    middles = _sums(of, places, count) / np.bincount(of, minlength=count)[:, None]
    off = places - middles.take(of, axis=0)
    squares = np.zeros(count)
    np.maximum.at(squares, of, dots(off, off))
    right = _of_length_1(np.cross(ups, np.eye(3)[np.abs(ups).argmin(axis=1)]))
    return _Views(
        middles=middles,
        radii=np.sqrt(squares) + longest,
        right=right,
        back=np.cross(ups, right),
    )


def _patches(
    vertices: Array, faces: Indices, wanted: float, longest: float
) -> _Patches:
    """Return the patches of a mesh, about as wide as wanted [mm] where that is enough."""
    low, high = lowest_and_highest(vertices)
    width = max(wanted, 2.001 * longest, float((high - low).max()) / CELLS_ACROSS)
    at = ((vertices - low) / width).astype(np.int32)
    at += 1
    shape = at.max(axis=0) + 2
    strides = np.array([shape[1] * shape[2], shape[2], 1], dtype=np.int32)
    keys = (at * strides).sum(axis=1, dtype=np.int32)
    of_faces = keys.take(faces[:, 0])
    table = np.full(int(shape.prod()), -1, dtype=np.int32)
    table[of_faces] = 0
    used = np.flatnonzero(table == 0)
    table[used] = np.arange(len(used))
    return _Patches(
        of_faces=table.take(of_faces),
        of_vertices=table.take(keys),
        cells=np.stack(np.unravel_index(used, shape), axis=1),
        near=table[used[:, None] + _STEPS @ strides],
    )


def _ups(patches: _Patches, normals: Array, longest: float) -> tuple[Array, Flags]:
    """Return directions for patches, and whether all triangles there and round look so.

    Those of slivers, whose normals are uncertain, count as looking anywhere.
    """
    count, of_faces = len(patches), patches.of_faces
    sums = _sums(of_faces, normals, count)
    own = _of_length_1(sums)
    doubled = np.sqrt(dots(normals, normals))
    cosines = dots(normals, own.take(of_faces, axis=0)) / doubled
    cosines[doubled < SLIVER * longest**2] = -1.0
    least = np.ones(count)
    np.minimum.at(least, of_faces, cosines)
    there = patches.near >= 0
    ups = _of_length_1((sums[patches.near] * there[:, :, None]).sum(axis=1))
    leans = np.einsum("pj,pkj->pk", ups, own[patches.near])
    spreads = np.sqrt(np.maximum(1.0 - least**2, 0.0))
    spreads[least <= 0.0] = 1.0
    looks_up = leans > spreads[patches.near] + LEAST_SLOPE
    return ups, (looks_up | ~there).all(axis=1)


def _once(
    patches: _Patches, vertices: Array, joins: Joins, views: _Views, longest: float
) -> Flags:
    """Return round which patches the outline runs once, all outside their circles, (p,).

    The outline is that of a patch with all round it. How often it runs round is counted
    along a ray from the patch's middle; sides that are all of one stretch are looked at
    one by one only where a ball round them all reaches the ray or the circle.
    """
    outlines = _outlines(patches, joins)
    leaves = _LEAVES[outlines.steps] & (patches.near >= 0)[outlines.patches]
    stretch, step = np.nonzero(leaves)
    patch = patches.near[outlines.patches[stretch], step]
    middles, reaches = _balls_round(outlines, vertices, longest)
    x, y = views.seen(patch, middles[stretch])
    reach = reaches[stretch]
    is_met = x * x + y * y <= (views.radii[patch] + reach) ** 2
    is_met |= (np.abs(y) <= reach) & (x > 0.0)
    stretch, patch = stretch[is_met], patch[is_met]
    which, number = numbered(outlines.counts[stretch])
    side, patch = outlines.firsts[stretch][which] + number, patch[which]
    x, y = views.seen(patch, vertices.take(outlines.starts[side], axis=0))
    end_x, end_y = views.seen(patch, vertices.take(outlines.ends[side], axis=0))
    is_clear = np.ones(len(patches), dtype=np.bool_)
    within = views.radii[patch] + 0.5 * longest
    is_clear[patch[x * x + y * y <= within * within]] = False
    rises = (y <= 0.0).astype(np.int8) - (end_y <= 0.0)
    turns = np.where(rises * (x * end_y - y * end_x) > 0.0, rises, 0)
    rounds = np.bincount(patch, turns, minlength=len(patches))
    once: Flags = is_clear & (rounds == 1.0)
    return once


def _outlines(patches: _Patches, joins: Joins) -> _Outlines:
    """Return the sides where a patch ends, by what patch is on the other side."""
    one, other = patches.of_faces.take(joins.ones), patches.of_faces.take(joins.others)
    at = np.flatnonzero(one != other)
    one, other = one[at], other[at]
    step = (patches.cells[other] - patches.cells[one] + 1) @ np.array([9, 3, 1])
    keys = one * len(_STEPS) + step
    order = np.argsort(keys, kind="stable")
    keys, at = keys[order], at[order]
    firsts = np.flatnonzero(np.diff(keys, prepend=-1))
    return _Outlines(
        starts=joins.starts[at],
        ends=joins.ends[at],
        firsts=firsts,
        counts=np.diff(firsts, append=len(keys)),
        patches=keys[firsts] // len(_STEPS),
        steps=keys[firsts] % len(_STEPS),
    )


def _balls_round(
    outlines: _Outlines, vertices: Array, longest: float
) -> tuple[Array, Array]:
    """Return middles and radii of balls round the sides of each stretch."""
    starts, firsts, counts = outlines.starts, outlines.firsts, outlines.counts
    places = vertices.take(starts, axis=0)
    middles = np.add.reduceat(places, firsts, axis=0) / counts[:, None]
    off = places - np.repeat(middles, counts, axis=0)
    return middles, np.sqrt(np.maximum.reduceat(dots(off, off), firsts)) + longest


def _sums(of: Indices, vectors: Array, count: int) -> Array:
    """Return the sums of the vectors (n, 3) that are of each number below a count."""
    sums: Array = np.stack(
        [np.bincount(of, column, minlength=count) for column in vectors.T], axis=1
    )
    return sums


def _of_length_1(vectors: Array) -> Array:
    """Return vectors (n, 3) made as long as 1; those without a length stay."""
    lengths = np.sqrt(dots(vectors, vectors))
    shortened: Array = vectors / np.where(lengths > 0.0, lengths, 1.0)[:, None]
    return shortened
