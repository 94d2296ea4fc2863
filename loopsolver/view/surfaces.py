"""Meshes of solids, tubes and arrows: points, faces and true normals [mm]."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import pyvista as pv
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkCommonDataModel import vtkCellArray

from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder, Mesh, Solid, placed_vertices
from loopsolver.geometry.triangles import face_normals
from loopsolver.geometry.vectors import Array, Point, point, unit
from loopsolver.tube.centreline import BendArc, Straight

ROUND_SIDES: Final = 40
"""Flat sides that stand for a round tube; with true normals none can be seen."""

RING_SIDES: Final = 12
"""Sides of the thin wire of a ring."""

ARC_STEP_DEG: Final = 4.0
"""Turn between neighbouring rings of a bend."""

SEEN_EDGE_DEG: Final = 30.0
"""Faces of a mesh that meet at more than this show an edge between them."""

HATCH_SPACING: Final = 24.0
"""Distance between the hatch lines of a keep-out [mm]; less where it is small."""

HATCH_LINES: Final = 8
"""How many lines a small keep-out has at least, as it is crossed."""

_Places = NDArray[np.int64]


def _with_normals(mesh: pv.PolyData, normals: Array) -> pv.PolyData:
    data: Any = mesh.point_data
    data.active_normals = normals.astype(np.float32)
    return mesh


def surface(points: Array, corners: _Places, normals: Array) -> pv.PolyData:
    """Return a surface of faces, all of as many corners, with the normals given (n, 3)."""
    faces = np.hstack([np.full((len(corners), 1), corners.shape[1]), corners]).ravel()
    return _with_normals(pv.PolyData(points, faces), normals)


def separate_lines(starts: Array, ends: Array) -> pv.PolyData:
    """Return lines, each from a start to an end, both (n, 3) [mm]."""
    return pv.line_segments_from_points(np.stack([starts, ends], axis=1).reshape(-1, 3))


def merged(meshes: Sequence[pv.PolyData]) -> pv.PolyData:
    """Return several meshes, all with normals or all without, as one.

    By hand, since a filter takes ten times as long for the small meshes of a build.
    """
    if len(meshes) == 1:
        return meshes[0]
    whole = pv.PolyData()
    if not meshes:
        return whole
    whole.points = np.vstack([np.asarray(mesh.points) for mesh in meshes])
    starts = np.cumsum([0, *(mesh.n_points for mesh in meshes[:-1])])
    whole.SetPolys(_joined_cells([mesh.GetPolys() for mesh in meshes], starts))
    whole.SetLines(_joined_cells([mesh.GetLines() for mesh in meshes], starts))
    data: list[Any] = [mesh.point_data.active_normals for mesh in meshes]
    if any(one is None for one in data):
        return whole
    return _with_normals(whole, np.vstack(data))


def _joined_cells(several: Sequence[vtkCellArray], starts: _Places) -> pv.CellArray:
    """Return the cells of several meshes, whose points begin at some places of all."""
    sizes, corners = [], []
    for cells, start in zip(several, starts, strict=True):
        ends = vtk_to_numpy(cells.GetOffsetsArray())  # type: ignore[no-untyped-call]
        sizes.append(np.diff(ends))
        of = vtk_to_numpy(cells.GetConnectivityArray())  # type: ignore[no-untyped-call]
        corners.append(of + start)
    offsets: Any = np.concatenate([[0], *sizes]).cumsum()
    return pv.CellArray.from_arrays(offsets, np.concatenate(corners))


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


def _mesh_surface(mesh: Mesh) -> pv.PolyData:
    """Return the triangles of a mesh, each with its own corners and normal."""
    corners = placed_vertices(mesh)[mesh.shape.faces]
    triangles = np.arange(3 * len(corners)).reshape(-1, 3)
    flat = np.repeat(face_normals(corners), 3, axis=0)
    return surface(corners.reshape(-1, 3), triangles, flat)


def _mesh_edges(mesh: Mesh) -> pv.PolyData:
    """Return where triangles of a mesh meet at an edge that is seen, or end."""
    faces = mesh.shape.faces
    whole = surface(
        placed_vertices(mesh), faces, np.zeros((len(mesh.shape.vertices), 3))
    )
    edges: pv.PolyData = whole.extract_feature_edges(
        SEEN_EDGE_DEG, manifold_edges=False, clear_data=True
    )
    return edges


def solid_surface(solid: Solid) -> pv.PolyData:
    """Return the surface of a solid [mm]; empty for a half space, which has no end."""
    if isinstance(solid, Box):
        return _box_surface(solid)
    if isinstance(solid, Cylinder):
        return _cylinder_surface(solid)
    if isinstance(solid, Mesh):
        return _mesh_surface(solid)
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
    if isinstance(solid, Mesh):
        return _mesh_edges(solid)
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
