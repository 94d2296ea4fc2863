"""Meshes of solids, tubes and arrows: points, faces and true normals [mm]."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder, Solid
from loopsolver.geometry.vectors import Array, Point, point, unit
from loopsolver.tube.centreline import BendArc, Straight

ROUND_SIDES: Final = 40
"""Flat sides that stand for a round tube; with true normals none can be seen."""

RING_SIDES: Final = 12
"""Sides of the thin wire of a ring."""

ARC_STEP_DEG: Final = 4.0
"""Turn between neighbouring rings of a bend."""

HATCH_SPACING: Final = 24.0
"""Distance between the hatch lines of a keep-out [mm]; less where it is small."""

HATCH_LINES: Final = 8
"""How many lines a small keep-out has at least, as it is crossed."""

_Places = NDArray[np.int64]


def _with_normals(mesh: pv.PolyData, normals: Array) -> pv.PolyData:
    data: Any = mesh.point_data
    data.active_normals = normals.astype(np.float32)
    return mesh


def surface(points: Array, quads: _Places, normals: Array) -> pv.PolyData:
    """Return a surface of four-cornered faces with the normals given, all (n, 3)."""
    faces = np.hstack([np.full((len(quads), 1), 4), quads]).ravel()
    return _with_normals(pv.PolyData(points, faces), normals)


def separate_lines(starts: Array, ends: Array) -> pv.PolyData:
    """Return lines, each from a start to an end, both (n, 3) [mm]."""
    return pv.line_segments_from_points(np.stack([starts, ends], axis=1).reshape(-1, 3))


def merged(meshes: Sequence[pv.PolyData]) -> pv.PolyData:
    """Return several meshes as one."""
    if not meshes:
        return pv.PolyData()
    if len(meshes) == 1:
        return meshes[0]
    whole: pv.PolyData = pv.merge(list(meshes), merge_points=False)
    return whole


# --- rings and discs --------------------------------------------------------------


def _outwards(x: Array, y: Array, *, count: int) -> Array:
    """Return `count` directions round from x to y, (count, 3)."""
    turns = np.linspace(0.0, 2.0 * math.pi, count, endpoint=False)
    directions: Array = np.outer(np.cos(turns), x) + np.outer(np.sin(turns), y)
    return directions


def _ring(frame: Frame, *, radius: float, at: float) -> tuple[Array, Array]:
    """Return the points of a circle about a frame's z, and the directions outwards."""
    x, y, z = (np.asarray(axis) for axis in frame.axes)
    out = _outwards(x, y, count=ROUND_SIDES)
    return np.asarray(frame.origin) + at * z + radius * out, out


def _band_quads(rings: int, *, sides: int = ROUND_SIDES) -> _Places:
    """Return the faces between neighbouring rings of so many points each."""
    here = np.arange(sides)
    after = (here + 1) % sides
    one = np.column_stack([here, after, after + sides, here + sides])
    return np.vstack([one + step * sides for step in range(rings - 1)])


def _disc(ring: Array, normal: Array) -> pv.PolyData:
    """Return a flat face that fills a ring, which goes round its normal rightwise."""
    faces = np.concatenate([[len(ring)], np.arange(len(ring))])
    return _with_normals(pv.PolyData(ring, faces), np.tile(normal, (len(ring), 1)))


def wire_ring(
    at: Point, direction: Point, *, radius: float, thick: float
) -> pv.PolyData:
    """Return a ring about a direction: `radius` to its middle, `thick` across [mm]."""
    x, y, z = (np.asarray(axis) for axis in axis_frame(at, direction).axes)
    out = _outwards(x, y, count=ROUND_SIDES)
    middles = np.asarray(at) + radius * out
    points, normals = _wire(middles, out, z, radius=thick / 2.0, sides=RING_SIDES)
    quads = _band_quads(ROUND_SIDES + 1, sides=RING_SIDES) % len(points)
    return surface(points, quads[:, [0, 3, 2, 1]], normals)


def _wire(
    middles: Array, radial: Array, axis: Array, *, radius: float, sides: int
) -> tuple[Array, Array]:
    """Return the points round each of some middles on a circle, and the normals there.

    Parameters
    ----------
    radial : Array
        From the circle's centre to each middle, unit length, (n, 3).
    axis : Array
        Square to all of them: what the circle goes round.
    """
    around = np.linspace(0.0, 2.0 * math.pi, sides, endpoint=False)[:, None]
    normals = np.cos(around) * radial[:, None, :] + np.sin(around) * axis
    points = middles[:, None, :] + radius * normals
    return points.reshape(-1, 3), normals.reshape(-1, 3)


# --- solids -----------------------------------------------------------------------


_BOX_FACES: Final = (
    (0, 2, 3, 1),
    (4, 5, 7, 6),
    (0, 1, 5, 4),
    (2, 6, 7, 3),
    (0, 4, 6, 2),
    (1, 3, 7, 5),
)
_BOX_EDGE_STARTS: Final = (0, 2, 4, 6, 0, 1, 4, 5, 0, 1, 2, 3)
_BOX_EDGE_ENDS: Final = (1, 3, 5, 7, 2, 3, 6, 7, 4, 5, 6, 7)


def _box_corners(box: Box) -> Array:
    """Return the eight corners of a box, (8, 3) [mm]; x changes fastest."""
    signs = np.array([(x, y, z) for z in (-1, 1) for y in (-1, 1) for x in (-1, 1)])
    own = signs * np.asarray(box.size) / 2.0
    corners: Array = np.asarray(box.frame.origin) + own @ box.frame.rotation.T
    return corners


def _box_surface(box: Box) -> pv.PolyData:
    """Return the six faces of a box, each with its own corners and normal."""
    points = _box_corners(box)[np.ravel(_BOX_FACES)]
    sides = points.reshape(-1, 4, 3)
    flat = np.cross(sides[:, 1] - sides[:, 0], sides[:, 3] - sides[:, 0])
    flat /= np.linalg.norm(flat, axis=1, keepdims=True)
    quads = np.arange(len(points)).reshape(-1, 4)
    return surface(points, quads, np.repeat(flat, 4, axis=0))


def _cylinder_surface(cylinder: Cylinder) -> pv.PolyData:
    """Return the side and both ends of a cylinder."""
    half, radius = cylinder.height / 2.0, cylinder.diameter / 2.0
    side, low, high = _side(cylinder.frame, radius=radius, reach=(-half, half))
    axis = np.asarray(cylinder.frame.axes[2])
    return merged([side, _disc(low[::-1], -axis), _disc(high, axis)])


def _side(
    frame: Frame, *, radius: float, reach: tuple[float, float]
) -> tuple[pv.PolyData, Array, Array]:
    """Return the round side of a cylinder about a frame's z, and the rings at its ends."""
    (low, out), (high, _) = (_ring(frame, radius=radius, at=at) for at in reach)
    rings, outwards = np.vstack([low, high]), np.vstack([out, out])
    return surface(rings, _band_quads(2), outwards), low, high


def solid_surface(solid: Solid) -> pv.PolyData:
    """Return the surface of a solid [mm]; empty for a half space, which has no end."""
    if isinstance(solid, Box):
        return _box_surface(solid)
    if isinstance(solid, Cylinder):
        return _cylinder_surface(solid)
    return pv.PolyData()


def solid_edges(solid: Solid) -> pv.PolyData:
    """Return the sharp edges of a solid as lines [mm]; empty for a half space."""
    if isinstance(solid, Box):
        corners = _box_corners(solid)
        starts, ends = list(_BOX_EDGE_STARTS), list(_BOX_EDGE_ENDS)
        return separate_lines(corners[starts], corners[ends])
    if isinstance(solid, Cylinder):
        half, radius = solid.height / 2.0, solid.diameter / 2.0
        rings = [_ring(solid.frame, radius=radius, at=at)[0] for at in (-half, half)]
        return merged(
            [separate_lines(ring, np.roll(ring, -1, axis=0)) for ring in rings]
        )
    return pv.PolyData()


def hatch(solid: Solid) -> pv.PolyData:
    """Return slanting lines on the surface of a solid [mm].

    They are where planes at even distances, at the same angle to all three axes of the
    case, cut the surface.
    """
    faces = solid_surface(solid)
    if not faces.n_points:
        return faces
    flat = faces.triangulate()
    flat.clear_data()
    heights = np.asarray(flat.points) @ np.ones(3) / math.sqrt(3.0)
    low, high = float(heights.min()), float(heights.max())
    spacing = min(HATCH_SPACING, (high - low) / HATCH_LINES)
    levels = np.arange(math.floor(low / spacing) + 1, math.ceil(high / spacing))
    if not levels.size:
        return pv.PolyData()
    cut = flat.contour(isosurfaces=list(levels * spacing), scalars=heights)
    cut.clear_data()
    return pv.PolyData(cut)


# --- tubes and arrows -------------------------------------------------------------


def straight_surface(straight: Straight, *, radius: float) -> pv.PolyData:
    """Return the surface of a straight stretch of tube, open at its ends."""
    along = np.subtract(straight.end, straight.start)
    frame = axis_frame(straight.start, point(along))
    reach = (0.0, float(np.linalg.norm(along)))
    return _side(frame, radius=radius, reach=reach)[0]


def arc_surface(arc: BendArc, *, radius: float) -> pv.PolyData:
    """Return the surface of a bend, with the normals of the true torus."""
    steps = max(2, math.ceil(math.degrees(arc.angle) / ARC_STEP_DEG)) + 1
    u, v = np.asarray(arc.u), np.asarray(arc.v)
    turns = np.linspace(0.0, arc.angle, steps)[:, None]
    radial = np.cos(turns) * u + np.sin(turns) * v
    middles = np.asarray(arc.centre) + arc.radius * radial
    # Round the direction of travel as it is seen from behind, so that faces look out.
    axis = np.cross(v, u)
    points, normals = _wire(middles, radial, axis, radius=radius, sides=ROUND_SIDES)
    return surface(points, _band_quads(steps), normals)


def tube_end(at: Point, outwards: Array, *, radius: float) -> pv.PolyData:
    """Return the flat end of a tube, seen from the direction `outwards`."""
    normal = unit(point(outwards))
    ring, _ = _ring(axis_frame(at, normal), radius=radius, at=0.0)
    return _disc(ring, np.asarray(normal))


def ball(at: Point, *, radius: float) -> pv.PolyData:
    """Return a ball round a place [mm]."""
    return pv.Sphere(
        radius=radius, center=at, theta_resolution=ROUND_SIDES, phi_resolution=24
    )


def arrow(
    start: Point, direction: Point, *, length: float, thick: float
) -> pv.PolyData:
    """Return an arrow: a shaft and a head; `thick` is the shaft's diameter [mm]."""
    whole = pv.Arrow(
        start=start,
        direction=direction,
        scale=length,
        shaft_radius=thick / 2.0 / length,
        shaft_resolution=20,
        tip_radius=thick * 1.25 / length,
        tip_length=min(0.5, 3.2 * thick / length),
        tip_resolution=24,
    )
    return pv.PolyData(whole.compute_normals(split_vertices=True, feature_angle=50.0))
