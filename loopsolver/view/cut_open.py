"""What a section plane shows: its rim, the faces where it cuts, and where it lies."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np
import pyvista as pv
from vtkmodules.vtkCommonDataModel import vtkPlane, vtkPlaneCollection
from vtkmodules.vtkFiltersGeneral import vtkClipClosedSurface

from loopsolver.geometry.solids import Cylinder, Solid
from loopsolver.geometry.vectors import offset
from loopsolver.lengths import Lengths
from loopsolver.scene.walls import Room
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.stock import Tube
from loopsolver.tube.tube_mesh import TubeMesh, tube_mesh, wall_mesh
from loopsolver.view import palette
from loopsolver.view.actors import Look, StyledMesh
from loopsolver.view.panel_lines import Section, figure, wrapped
from loopsolver.view.section_plane import SectionPlane
from loopsolver.view.surfaces import merged, separate_lines, solid_surface, surface

FACE_APART: Final = 0.05
"""How far one cut face lies before another, so that it hides that [mm]."""


def plane_drawings(
    plane: SectionPlane, solids: Iterable[Solid], *, room: Room
) -> tuple[StyledMesh, ...]:
    """Return the rim of the plane in the case, a veil, and where it cuts solids."""
    low, high = room
    first, second = (plane.axis + 1) % 3, (plane.axis + 2) % 3
    corners = np.full((4, 3), plane.at)
    corners[:, first] = [low[first], high[first], high[first], low[first]]
    corners[:, second] = [low[second], low[second], high[second], high[second]]
    normals = np.tile(plane.normal, (4, 1))
    veil = surface(corners, np.array([[0, 1, 2, 3]]), normals)
    rim = separate_lines(corners, np.roll(corners, -1, axis=0))
    edges = [
        pv.PolyData(solid_surface(solid).slice(normal=plane.normal, origin=corners[0]))
        for solid in solids
    ]
    for edge in edges:
        edge.clear_data()
    strong = Look(kind="lines", colour=palette.CUT, line_width=2.6)
    return (
        StyledMesh(mesh=veil, look=Look(colour=palette.CUT, opacity=0.06)),
        StyledMesh(
            mesh=rim, look=Look(kind="lines", colour=palette.CUT, line_width=1.6)
        ),
        StyledMesh(mesh=merged([one for one in edges if one.n_points]), look=strong),
    )


def cut_faces(
    plane: SectionPlane,
    lines: Iterable[Centreline],
    fittings: Iterable[Cylinder],
    *,
    tube: Tube,
) -> tuple[StyledMesh, ...]:
    """Return the faces where a plane cuts tubes and fittings: wall, bore and fitting.

    Each lies a little before the one of before, so that a tube is seen in its fitting.
    """
    bores, walls = [], []
    for line in lines:
        radius, bore = tube.radius, tube.inner_diameter / 2.0
        bores.append(_face(plane, tube_mesh(line, radius=radius)))
        walls.append(_face(plane, wall_mesh(line, radius=radius, bore=bore)))
    bodies = [_face(plane, _closed(one)) for one in fittings]
    layers = (
        (bodies, palette.FITTING),
        (bores, palette.TUBE_END),
        (walls, palette.CUT),
    )
    drawings = []
    for number, (faces, colour) in enumerate(layers):
        whole = merged([one for one in faces if one.n_points])
        whole.points -= number * FACE_APART * np.asarray(plane.normal)
        drawings.append(StyledMesh(mesh=whole, look=Look(colour=colour)))
    return tuple(one for one in drawings if one.mesh.n_points)


def _closed(cylinder: Cylinder) -> TubeMesh:
    """Return the surface of a cylinder in one piece: as that of a straight tube."""
    middle, axis = cylinder.frame.origin, cylinder.frame.axes[2]
    half, radius = cylinder.height / 2.0, cylinder.diameter / 2.0
    ends = offset(middle, axis, -half), offset(middle, axis, half)
    return tube_mesh(Centreline(vertices=ends, radius=radius), radius=radius)


def _face(plane: SectionPlane, mesh: TubeMesh) -> pv.PolyData:
    """Return the face where a plane cuts what lies within a closed surface."""
    beside = mesh.vertices[:, plane.axis] - plane.at
    if beside.min() >= 0.0 or beside.max() <= 0.0:
        return pv.PolyData()
    planes, cut = vtkPlaneCollection(), vtkClipClosedSurface()
    planes.AddItem(vtk_plane(plane))
    cut.SetInputData(_closed_surface(mesh))
    cut.SetClippingPlanes(planes)
    cut.SetScalarModeToLabels()
    cut.Update()
    whole = pv.PolyData(cut.GetOutput())
    was_there = np.asarray(whole.cell_data["Labels"]) == 0
    face: pv.PolyData = whole.remove_cells(was_there)
    face.clear_data()
    return face


def _closed_surface(mesh: TubeMesh) -> pv.PolyData:
    faces = np.insert(mesh.faces, 0, 3, axis=1).ravel()
    return pv.PolyData(mesh.vertices, faces)


def vtk_plane(plane: SectionPlane) -> vtkPlane:
    """Return a plane as VTK has it."""
    cut = vtkPlane()
    cut.SetNormal(*plane.normal)
    cut.SetOrigin(*(plane.at * abs(part) for part in plane.normal))
    return cut


def plane_section(plane: SectionPlane, *, lengths: Lengths) -> Section:
    """Return where the build is cut."""
    name, side = "xyz"[plane.axis], "more" if plane.keeps > 0 else "less"
    at = f"{name} = {lengths.text(plane.at)}"
    rows = [*figure("section", at)]
    rows += wrapped(f"shown is where {name} is {side}; , and . move it", style="faint")
    return Section(lines=tuple(rows))
