"""A part of the window that shows a build: what is drawn there, and its labels."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Sequence
from typing import Final, Protocol

import numpy as np
import pyvista as pv
from vtkmodules.vtkRenderingCore import vtkActor, vtkProp, vtkRenderer

from loopsolver.geometry.vectors import Array, point
from loopsolver.view import camera, props
from loopsolver.view.actors import StyledMesh
from loopsolver.view.camera import Eye, Framing
from loopsolver.view.cut_open import vtk_plane
from loopsolver.view.labels import PlacedLabel
from loopsolver.view.section_plane import SectionPlane

NEVER_CUT: Final = frozenset({"case", "cut", "measure", "gap"})
"""Kinds of groups that a section plane leaves whole."""

PASSING: Final = frozenset(
    {"cut", "measure", "bent", "gap", "clashes", "old tubes", "air", "ground"}
)
"""Kinds of groups that are quickly made: they are forgotten once hidden."""

OF_SUBJECT: Final = frozenset({"air", "ground", "tubes in place"})
"""Kinds of groups whose keys tell nothing of the plan that they belong to."""


class Measure(Protocol):
    """How far away the camera must stand."""

    def __call__(self, points: Array, eye: Eye, *, aspect: float) -> Framing:
        """Return a framing with all points in it."""


class Pane:
    """A renderer, and the groups of actors that were made for it.

    Parameters
    ----------
    renderer : vtkRenderer
    scale : float
        Pixels for each pixel of a usual screen.
    """

    def __init__(self, renderer: vtkRenderer, *, scale: float) -> None:
        self.renderer = renderer
        self._scale = scale
        self._groups: dict[Hashable, list[vtkActor]] = {}
        self._labels: list[vtkProp] = []
        self._plane: SectionPlane | None = None

    def group(
        self, key: Hashable, drawn: Callable[[], Iterable[StyledMesh]]
    ) -> Hashable:
        """Return a group's key, its actors made and added when it is first needed."""
        if key not in self._groups:
            made = [props.prop_of(drawing, scale=self._scale) for drawing in drawn()]
            for actor in made:
                self.renderer.AddActor(actor)
                _cut(actor, None if _kind(key) in NEVER_CUT else self._plane)
            self._groups[key] = made
        return key

    def drop(self, key: Hashable) -> None:
        """Forget a group, if it is there."""
        for actor in self._groups.pop(key, ()):
            self.renderer.RemoveActor(actor)

    def drop_all(self) -> None:
        """Forget all groups: they were of another scene."""
        for key in list(self._groups):
            self.drop(key)

    def drop_kinds(self, kinds: Collection[Hashable]) -> None:
        """Forget the groups of some kinds."""
        for key in [key for key in self._groups if _kind(key) in kinds]:
            self.drop(key)

    def show(self, shown: Collection[Hashable], *, plane: SectionPlane | None) -> None:
        """Show these groups and no others, cut by a plane."""
        for key in [key for key in self._groups if _kind(key) in PASSING]:
            if key not in shown:
                self.drop(key)
        for key, group in self._groups.items():
            for actor in group:
                actor.SetVisibility(key in shown)
                if plane != self._plane:
                    _cut(actor, None if _kind(key) in NEVER_CUT else plane)
        self._plane = plane

    @property
    def size(self) -> tuple[int, int]:
        """Width and height [pixels]."""
        width, height = self.renderer.GetSize()
        return (width, height)

    @property
    def origin(self) -> tuple[int, int]:
        """Its lower left corner in the window [pixels]."""
        x, y = self.renderer.GetOrigin()
        return (x, y)

    @property
    def projection(self) -> Array:
        """How the camera of now sees the case, (4, 4), homogeneous.

        From points [mm] to shares of its width and height, from its lower left corner,
        and to -1 where what is shown begins and 1 where it ends.
        """
        width, height = self.size
        lens = self.renderer.GetActiveCamera()
        matrix = lens.GetCompositeProjectionTransformMatrix(width / height, -1.0, 1.0)
        whole = pv.array_from_vtkmatrix(matrix)
        # VTK counts from -1 to 1, shares from 0 to 1.
        whole[:2] = (whole[:2] + whole[3]) / 2.0
        return np.asarray(whole, dtype=np.float64)

    def spots(self, points: Array) -> Array:
        """Return where points of the case are in it, (n, 2) [pixels]."""
        if not len(points):
            return np.empty((0, 2))
        flat = np.column_stack([points, np.ones(len(points))]) @ self.projection.T
        shares = flat[:, :2] / flat[:, 3:4]
        return np.asarray(shares * self.size, dtype=np.float64)

    def look(self, points: Array, eye: Eye, *, measure: Measure) -> None:
        """Look from a direction, with all points (n, 3) [mm] in the picture."""
        width, height = self.size
        frame = measure(points, eye, aspect=width / height)
        lens = self.renderer.GetActiveCamera()
        lens.SetParallelProjection(frame.is_parallel)
        lens.SetViewAngle(camera.VIEW_ANGLE_DEG)
        lens.SetParallelScale(frame.height / 2.0)
        focus, towards = np.asarray(frame.focus), np.asarray(eye.towards_eye)
        lens.SetFocalPoint(*focus)
        lens.SetPosition(*(focus + frame.distance * towards))
        lens.SetViewUp(*eye.up)
        self.renderer.ResetCameraClippingRange()

    @property
    def eye(self) -> Eye:
        """Where the camera of now looks from."""
        lens = self.renderer.GetActiveCamera()
        towards = point(-part for part in lens.GetDirectionOfProjection())
        return Eye(towards_eye=towards, up=point(lens.GetViewUp()))

    def unlabel(self) -> None:
        """Take the labels away."""
        for prop in self._labels:
            self.renderer.RemoveViewProp(prop)
        self._labels = []

    def label(self, labels: Sequence[PlacedLabel], *, letters: float) -> None:
        """Put labels in place of those of before."""
        self.unlabel()
        self._labels = props.label_props(labels, letters=letters, scale=self._scale)
        for prop in self._labels:
            self.renderer.AddViewProp(prop)


def _kind(key: Hashable) -> Hashable:
    """Return what a group is of: the first part of its key."""
    return key[0] if isinstance(key, tuple) else key


def _cut(actor: vtkActor, plane: SectionPlane | None) -> None:
    """Show of an actor what lies on one side of a plane; all of it without one."""
    mapper = actor.GetMapper()
    mapper.RemoveAllClippingPlanes()
    if plane is not None:
        mapper.AddClippingPlane(vtk_plane(plane))
