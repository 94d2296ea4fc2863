"""Circular rims of a mesh: where its surface ends, or breaks, along a circle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from loopsolver.geometry.mesh_shape import MeshShape
from loopsolver.geometry.triangles import dots, face_normals
from loopsolver.geometry.vectors import Array, Flags, Indices, Point, point
from loopsolver.tolerances import NO_CORNER, OUT_OF_ROUND

SHARP: Final = np.radians(25.0)
"""Faces that meet at more than this turn make an edge [rad].

Below the usual chamfers of 30 degrees and more; above what sides of fine cylinders turn.
"""

FEWEST_CORNERS: Final = 8
"""A loop with fewer corners may be a nut's six sides as well as a circle."""

WIDEST_CORNER: Final = np.radians(60.0)
"""Neighbouring corners of a circle lie no further apart, seen from its middle [rad]."""

ACROSS: Final = 0.2
"""Faces look along a rim's axis if the mean of their normals does by this share."""

_DECIMALS: Final = 3
"""Of lengths [mm] by which rims are sorted: single precision wavers by less."""

RimKind = Literal["open", "hole", "stub", "bottom", "foot"]
"""Where a surface ends; the mouth of a hole, the end of a stub; and inner corners: the
bottom of a hole, the foot of a stub.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rim:
    """A circle along which a surface ends or breaks.

    Attributes
    ----------
    kind : RimKind
    centre : Point [mm]
    axis : Point
        Of length one; points out of the part.
    diameter : float [mm]
        Of the circle through the corners of the mesh.
    off : float [mm]
        How far a corner is off that circle at most.
    corners : int
        How many the circle is made of.
    """

    kind: RimKind
    centre: Point
    axis: Point
    diameter: float
    off: float
    corners: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sides:
    """The sides of all triangles, three a triangle, n of them.

    `twin` is the side of the triangle beyond, -1 where there is not just one; `turn` the
    angle between the two triangles' normals [rad].
    """

    start: Indices
    end: Indices
    twin: Indices
    turn: Array


def rims_of(shape: MeshShape) -> tuple[Rim, ...]:
    """Return the circular rims of a mesh, in its own coordinates, the largest first.

    Notes
    -----
    Faces that go on smoothly are one patch; the loops round patches, and those along
    which the surface ends, are held to circles. So a rim is found however coarse the
    cylinder below it is. A rim that is rounded off has no edge and is not found.
    """
    normals = face_normals(shape.corners)
    sides = _sides(shape.faces, normals)
    found: dict[frozenset[int], Rim] = {}
    for loop in _loops(sides, _patches(sides)):
        rim = _rim(shape, sides, normals, loop)
        if rim is not None:
            found.setdefault(frozenset(sides.start[loop].tolist()), rim)
    return tuple(sorted(found.values(), key=_place_in_list))


def _place_in_list(rim: Rim) -> tuple[float, ...]:
    """Return what rims are sorted by: their sizes and places, less what rounding did."""
    return (
        -round(rim.diameter, _DECIMALS),
        *(round(one, _DECIMALS) for one in (*rim.centre, *rim.axis)),
    )


def _sides(faces: Indices, normals: Array) -> _Sides:
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    keys = np.minimum(start, end) * (int(faces.max()) + 1) + np.maximum(start, end)
    order = np.argsort(keys, kind="stable")
    first = np.flatnonzero(np.diff(keys[order], prepend=-1))
    first = first[np.diff([*first, len(keys)]) == 2]
    one, two = order[first], order[first + 1]
    is_alike = start[one] == end[two]
    one, two = one[is_alike], two[is_alike]
    twin = np.full(len(keys), -1)
    twin[one], twin[two] = two, one
    turn = np.zeros(len(keys))
    cosines = dots(normals[one // 3], normals[two // 3])
    turn[one] = turn[two] = np.arccos(np.clip(cosines, -1.0, 1.0))
    return _Sides(start=start, end=end, twin=twin, turn=turn)


def _patches(sides: _Sides) -> Indices:
    """Return the number of the patch that each triangle is in."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import connected_components

    count = len(sides.start) // 3
    smooth = np.flatnonzero((sides.twin >= 0) & (sides.turn <= SHARP))
    pairs = smooth // 3, sides.twin[smooth] // 3
    table = csr_array((np.ones(len(smooth)), pairs), shape=(count, count))
    _, patch = connected_components(table, directed=False)
    return np.asarray(patch, dtype=np.intp)


def _loops(sides: _Sides, patch: Indices) -> Iterator[Indices]:
    """Yield the loops along which the surface ends, then those round patches, as sides."""
    every = np.arange(len(sides.start))
    is_open = sides.twin < 0
    yield from _closed(sides, every[is_open])
    beyond = patch[sides.twin // 3]
    around = every[is_open | (patch[every // 3] != beyond)]
    order = np.argsort(patch[around // 3], kind="stable")
    around = around[order]
    cuts = np.flatnonzero(np.diff(patch[around // 3])) + 1
    for one in np.split(around, cuts):
        if len(one) >= FEWEST_CORNERS:
            yield from _closed(sides, one)


def _closed(sides: _Sides, which: Indices) -> Iterator[Indices]:
    """Yield closed loops of some sides; none passes a vertex twice."""
    starts, ends = sides.start[which].tolist(), sides.end[which].tolist()
    leaving: dict[int, list[int]] = {}
    for place, start in enumerate(starts):
        leaving.setdefault(start, []).append(place)
    for first in starts:
        vertex, way = first, list[int]()
        passed = {first: 0}
        while leaving.get(vertex):
            way.append(leaving[vertex].pop())
            vertex = ends[way[-1]]
            if vertex not in passed:
                passed[vertex] = len(way)
                continue
            loop, way = way[passed[vertex] :], way[: passed[vertex]]
            for place in loop[1:]:
                del passed[starts[place]]
            if len(loop) >= FEWEST_CORNERS:
                yield which[loop]


def _rim(shape: MeshShape, sides: _Sides, normals: Array, loop: Indices) -> Rim | None:
    """Return the rim along a loop of sides; None if it is no circle."""
    places = shape.vertices[sides.start[loop]]
    corners = places[_is_corner(places)]
    if len(corners) < FEWEST_CORNERS:
        return None
    axis = np.linalg.svd(corners - corners.mean(axis=0))[2][2]
    centre, radius = _circle(corners, axis)
    ways = corners - centre
    heights = ways @ axis
    flat = ways - heights[:, None] * axis
    off = np.hypot(np.linalg.norm(flat, axis=1) - radius, heights).max()
    if not off <= OUT_OF_ROUND * radius or not _goes_round_once(flat, axis):
        return None
    twin = sides.twin[loop]
    faces = np.concatenate([loop, twin[twin >= 0]]) // 3
    ways, looks = shape.corners[faces].mean(axis=1) - centre, normals[faces]
    axis = axis * _outwards(ways, looks, axis)
    return Rim(
        kind=_kind(ways, looks, axis, len(loop)),
        centre=point(centre),
        axis=point(axis + 0.0),
        diameter=2.0 * radius,
        off=float(off),
        corners=len(corners),
    )


def _is_corner(places: Array) -> Flags:
    """Return at which places of a loop, (n, 3), it turns."""
    before = places - np.roll(places, 1, axis=0)
    after = np.roll(before, -1, axis=0)
    lengths = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    turned = np.linalg.norm(np.cross(before, after), axis=1)
    found: Flags = turned > NO_CORNER * lengths
    return found


def _circle(corners: Array, axis: Array) -> tuple[Array, float]:
    """Return middle and radius of the circle that corners (n, 3) lie on best.

    Notes
    -----
    In the plane square to the axis ``|p|^2 = 2 c . p + r^2 - |c|^2`` is linear in the
    middle c and in ``r^2 - |c|^2``: least squares.

    References
    ----------
    I. Kasa, A circle fitting procedure and its error analysis, IEEE Transactions on
    Instrumentation and Measurement 25 (1976). From memory.
    """
    middle = corners.mean(axis=0)
    across = np.linalg.svd(axis[None])[2][1:]
    flat = (corners - middle) @ across.T
    known = np.column_stack([2.0 * flat, np.ones(len(flat))])
    found = np.linalg.lstsq(known, (flat**2).sum(axis=1), rcond=None)[0]
    radius = float(np.sqrt(max(found[2] + found[:2] @ found[:2], 0.0)))
    return middle + found[:2] @ across, radius


def _goes_round_once(flat: Array, axis: Array) -> bool:
    """Return whether a loop, (n, 3) from its middle, goes once round in small steps."""
    after = np.roll(flat, -1, axis=0)
    steps = np.arctan2(np.cross(flat, after) @ axis, dots(flat, after))
    is_even = (np.abs(steps) <= WIDEST_CORNER).all()
    return bool(is_even and abs(abs(steps.sum()) - 2.0 * np.pi) < 1.0)


def _outwards(ways: Array, looks: Array, axis: Array) -> float:
    """Return 1 where an axis points out of the part, -1 where into it.

    Out is where the faces look that lie across the axis; where there are none, as at the
    end of a bare shell, away from the shell.

    Parameters
    ----------
    ways : array (n, 3) [mm]
        From the rim's centre to the middles of the triangles along it.
    looks : array (n, 3)
        Their normals.
    axis : array (3,)
    """
    along = float((looks @ axis).mean())
    if abs(along) < ACROSS:
        along = -float((ways @ axis).mean())
    return 1.0 if along >= 0.0 else -1.0


def _kind(ways: Array, looks: Array, axis: Array, count: int) -> RimKind:
    """Return which kind of rim triangles lie along, its axis pointing out of the part.

    `ways` and `looks` as in `_outwards`: first of `count` triangles, then of those beyond.
    """
    if len(ways) < 2 * count:
        return "open"
    is_inner = dots(ways[count:] - ways[:count], looks[:count]).mean() > 0.0
    across = ways - (ways @ axis)[:, None] * axis
    if dots(across, looks).mean() < 0.0:
        return "bottom" if is_inner else "hole"
    return "foot" if is_inner else "stub"
