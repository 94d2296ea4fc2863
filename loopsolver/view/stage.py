"""The stage: the build and the words, put on a canvas and changed by selections."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Final, Protocol

import numpy as np
import pyvista as pv
from vtkmodules.vtkRenderingCore import vtkActor, vtkProp

from loopsolver.clearance.gap import is_clear
from loopsolver.geometry.vectors import Array
from loopsolver.hydraulics.filling import TiltStage
from loopsolver.plan import Effect, Plan, PlannedRun, effects
from loopsolver.scene.axes import Sides
from loopsolver.view import actors, camera, captions, contents, playing, props, tilting
from loopsolver.view.camera import Eye, Framing
from loopsolver.view.canvas import Canvas
from loopsolver.view.contents import WantedLabel
from loopsolver.view.figures import NearTube
from loopsolver.view.labels import LabelWish, PlacedLabel, place_labels
from loopsolver.view.panel import Furniture, PageLayout, WindowWords, page_layout
from loopsolver.view.panel_lines import Section
from loopsolver.view.selection import (
    Subject,
    ViewSelection,
    carried_over,
    runs_of,
    scene_of,
    shown_candidate,
    shown_run,
)

if TYPE_CHECKING:
    from loopsolver.view.following import Following

LABEL_LETTERS: Final = 0.88
"""Letters of labels as a share of the panel's."""


_OLD: Final = "old tubes"


class Measure(Protocol):
    """How far away the camera must stand."""

    def __call__(self, points: Array, eye: Eye, *, aspect: float) -> Framing:
        """Return a framing with all points in it."""


class Stage:
    """What stands on a canvas.

    Parameters
    ----------
    canvas : Canvas
    subject : Scene or Plan
    selection : ViewSelection
        What is shown first.
    scale : float
        Pixels for each pixel of a usual screen.
    furniture : Furniture
        What stands round the build.
    """

    def __init__(
        self,
        canvas: Canvas,
        subject: Subject,
        selection: ViewSelection,
        *,
        scale: float,
        furniture: Furniture,
    ) -> None:
        self.canvas = canvas
        self.message = ""
        self._scale = scale
        self._furniture = furniture
        self._build = canvas.build
        self._panel = WindowWords(canvas.words)
        self._groups: dict[Hashable, list[vtkActor]] = {}
        self._labels: list[vtkProp] = []
        self._lay(subject, selection)
        self.first_eye = self.eye_for(selection)

    def _lay(self, subject: Subject, selection: ViewSelection) -> None:
        """Take a subject on, and make what does not depend on the selection."""
        scene = scene_of(subject)
        self.subject, self.selection = subject, selection
        self.following: Following | None = None
        self._near: dict[tuple[int, int | None], tuple[NearTube, ...]] = {}
        self._effects: dict[tuple[str, int], Effect] | None = None
        self._air: tilting.Air | None = None
        self.together = playing.Together(subject)
        self._group("surroundings", partial(contents.fixed_meshes, subject))
        self._group("bodies", partial(contents.bodies, scene))
        self._group("keep-outs", partial(contents.keep_outs, scene))
        self._outer = contents.outer_points(subject)
        self._in_the_way = contents.solids_in_the_way(scene)

    def follow(self, following: Following) -> None:
        """Show what is known of a file now; what stayed the same is not made again."""
        subject, before = following.subject, self.subject
        selection = carried_over(before, self.selection, subject)
        if subject != before:
            is_same = scene_of(subject) == scene_of(before)
            kept = {"bodies", "keep-outs"} if is_same else set()
            for key in self._groups.keys() - kept:
                self._drop(key)
            selection = replace(selection, tilt=0, shot=0)
            self._lay(subject, selection)
            if not is_same:
                self.first_eye = self.eye_for(selection)
        self.following = following
        self.update(selection)

    def _drop(self, key: Hashable) -> None:
        for actor in self._groups.pop(key, ()):
            self._build.RemoveActor(actor)

    def eye_for(self, selection: ViewSelection) -> Eye:
        """Return where to look from to see what is selected best."""
        lines = contents.lines_to_see(self.subject, selection)
        sides = self.sides_for(selection)
        return camera.best_eye(lines, self._in_the_way, sides=sides)

    def sides_for(self, selection: ViewSelection) -> Sides:
        """Return right, away and up, of the machine as it stands or lies."""
        used, tilt = scene_of(self.subject).sides, selection.tilt
        return tilting.sides_at(used, self.air.stages, tilt) if tilt else used

    @property
    def air(self) -> tilting.Air:
        """Where air stays; of tubes being routed nothing, nor without a panel for it."""
        following = self.following
        is_over = following is None or following.plan is not None
        if not (is_over and self._furniture.columns):
            return tilting.Air(scene_of(self.subject))
        if self._air is None:
            self._air = tilting.Air(self.subject)
        return self._air

    @property
    def layout(self) -> PageLayout:
        """How the window is shared out at its size of now."""
        width, height = self.canvas.size
        return page_layout(width, height, scale=self._scale, furniture=self._furniture)

    def _group(
        self, key: Hashable, drawn: Callable[[], Iterable[actors.StyledMesh]]
    ) -> Hashable:
        """Return a group's key, its actors made and added when it is first needed."""
        if key not in self._groups:
            made = [props.prop_of(drawing, scale=self._scale) for drawing in drawn()]
            for actor in made:
                self._build.AddActor(actor)
            self._groups[key] = made
        return key

    # --- what is shown ---

    def update(self, selection: ViewSelection) -> None:
        """Show a selection: tubes, fittings, words and labels. The camera stays."""
        self.selection = selection
        layers: set[Hashable] = {"surroundings", "bodies", "keep-outs"}
        found = self._shown_shot() if selection.shot else self._shown_tubes()
        hidden = selection.hidden | ({"bodies"} if selection.shot else set())
        shown = (layers - hidden) | found
        for key, group in self._groups.items():
            for actor in group:
                actor.SetVisibility(key in shown)
        self.update_words()
        self.update_labels()

    def _shown_tubes(self) -> set[Hashable]:
        """Make what the selection needs of tubes and fittings; return the groups."""
        scene, selection = scene_of(self.subject), self.selection
        keys: set[Hashable] = set()
        for place, run in enumerate(runs_of(self.subject)):
            is_shown = place == selection.run
            candidate = run.tube_in_place if isinstance(run, PlannedRun) else None
            rank = run.rank_in_place if isinstance(run, PlannedRun) else None
            if is_shown:
                candidate = shown_candidate(self.subject, selection)
                rank = selection.rank
            drawn = partial(contents.ends_of_run, scene, run, candidate)
            keys.add(self._group(("fittings", place, rank), drawn))
            if is_shown or "other tubes" not in selection.hidden:
                draw = contents.run_on_show if is_shown else contents.run_beside
                drawn = partial(draw, scene, run, candidate)
                keys.add(self._group((draw.__name__, place, rank), drawn))
            if is_shown and candidate is not None:
                clearance, radius = scene.rules.clearance, scene.tube.radius
                near = [n for n in self._near_tubes() if not is_clear(n.gap, clearance)]
                drawn = partial(contents.clash_rings, candidate, near, radius=radius)
                keys.add(self._group(("clashes", place, rank), drawn))
        if self.following is not None:
            old, radius = self.following.old, scene.tube.radius
            keys.add(self._group(_OLD, partial(contents.old_tubes, old, radius=radius)))
        for stage in self._air_now():
            size = scene.tube.outer_diameter
            drawn = partial(tilting.marks, stage, tube_diameter=size)
            keys.add(self._group(("air", selection.tilt), drawn))
            if selection.tilt:
                drawn = partial(tilting.ground, scene, stage)
                keys.add(self._group(("ground", selection.tilt), drawn))
        return keys

    def find_shots(self) -> None:
        """Look for the order of putting together, and begin with its first shot."""
        self.together.seek()
        self.message = self.together.why_none
        first = min(1, len(self.together.shots))
        self.selection = replace(self.selection, shot=first)

    def _shown_shot(self) -> set[Hashable]:
        """Make what a shot needs of parts and tubes; return the groups."""
        plan, selection = self.subject, self.selection
        keys: set[Hashable] = set()
        if isinstance(plan, Plan):
            shot = self.together.shots[selection.shot - 1]
            drawn = partial(playing.shot_tubes, plan, shot)
            keys.add(self._group(("shot", selection.shot), drawn))
            if "bodies" not in selection.hidden:
                drawn = partial(playing.shot_bodies, plan, shot)
                keys.add(self._group(("shot bodies", selection.shot), drawn))
        return keys

    def _air_now(self) -> tuple[TiltStage, ...]:
        """Return the stage of the tilts that is shown, if anything is known of air."""
        tilt = self.selection.tilt
        return () if self.selection.shot else self.air.stages[tilt : tilt + 1]

    def _near_tubes(self) -> tuple[NearTube, ...]:
        if not isinstance(self.subject, Plan):
            return ()
        key = (self.selection.run, self.selection.rank)
        if key not in self._near:
            self._near[key] = contents.near_tubes(self.subject, self.selection)
        return self._near[key]

    def _nearest_tube(self) -> NearTube | None:
        return next(iter(self._near_tubes()), None)

    def find_effects(self) -> None:
        """Find what choosing each candidate would do to other runs, if not done yet.

        It takes a few hundredths of a second, once: best while nobody waits.
        """
        if self._effects is None:
            plan = self.subject if isinstance(self.subject, Plan) else None
            found = () if plan is None or len(plan.runs) < 2 else effects(plan)
            self._effects = {(one.run, one.rank): one for one in found}

    def _effect(self) -> Effect | None:
        """Return what choosing the candidate shown would do, if it is worth saying.

        The chosen one changes nothing, unless it touches another tube.
        """
        run, rank = shown_run(self.subject, self.selection), self.selection.rank
        if run is None or rank is None:
            return None
        near = self._nearest_tube()
        clearance = scene_of(self.subject).rules.clearance
        if rank == run.rank_in_place and (
            near is None or is_clear(near.gap, clearance)
        ):
            return None
        self.find_effects()
        return (self._effects or {}).get((run.name, rank))

    # --- words and labels ---

    def update_words(self) -> None:
        """Write panel and footer anew, in the window's size of now."""
        layout = self.layout
        self._build.SetViewport(*layout.scene_viewport)
        words: tuple[Section, ...] = ()
        if layout.panel_width:
            words = captions.sections(
                self.subject,
                self.selection,
                near=self._nearest_tube(),
                effect=self._effect(),
                following=self.following,
                stages=self.air.stages,
                shots=self.together.shots,
            )
        footer = ""
        if self._furniture.footer_rows:
            columns = layout.footer_columns
            footer = captions.footer(columns=columns, message=self.message)
        self._panel.draw(words, footer=footer, layout=layout)

    def hide_labels(self) -> None:
        """Take the labels away, until `update_labels`."""
        for prop in self._labels:
            self._build.RemoveViewProp(prop)
        self._labels = []

    def update_labels(self) -> None:
        """Place the labels for the camera of now."""
        self.hide_labels()
        if "names" in self.selection.hidden:
            return
        letters = self.layout.letters * LABEL_LETTERS
        self._labels = props.label_props(
            self.placed_labels(), letters=letters, scale=self._scale
        )
        for prop in self._labels:
            self._build.AddViewProp(prop)

    def placed_labels(self) -> tuple[PlacedLabel, ...]:
        """Return the labels that are readable with the camera of now."""
        letters = self.layout.letters * LABEL_LETTERS
        wanted = contents.names(self.subject, self.selection)
        if self.selection.shot:  # ports and tubes that are not there yet go without
            wanted = tuple(one for one in wanted if one.kind in {"body", "wall"})
        air = [name for one in self._air_now() for name in tilting.mark_names(one)]
        wanted = (*self._axis_names(), *air, *wanted)
        spots = self._on_picture(np.array([name.at for name in wanted]))
        wishes = [
            LabelWish(
                text=name.text,
                kind=name.kind,
                anchor=(float(x), float(y)),
                size=props.label_size(name.text, letters=letters),
            )
            for name, (x, y) in zip(wanted, spots, strict=True)
        ]
        width, height = self.canvas.build_size
        rim = 6.0 * self._scale
        in_sight = (
            actors.datum_points(scene_of(self.subject)),
            contents.tube_points(self.subject, self.selection),
            contents.other_points(self.subject, self.selection),
            np.array([name.at for name in air]).reshape(-1, 3),
        )
        return place_labels(
            wishes,
            frame=(rim, rim, width - rim, height - rim),
            keep_free=self._on_picture(np.vstack(in_sight)),
        )

    def _axis_names(self) -> tuple[WantedLabel, ...]:
        scene = scene_of(self.subject)
        reach = actors.datum_arrow_length(scene) * actors.DATUM_NAME_AT
        places = ((reach, 0.0, 0.0), (0.0, reach, 0.0), (0.0, 0.0, reach))
        return tuple(
            WantedLabel(text=text, kind="axis", at=place)
            for text, place in zip(scene.axis_names, places, strict=True)
        )

    def _on_picture(self, points: Array) -> Array:
        """Return where points of the case are on the build's part, (n, 2) [pixels]."""
        if not len(points):
            return np.empty((0, 2))
        flat = np.column_stack([points, np.ones(len(points))]) @ self.projection.T
        shares = flat[:, :2] / flat[:, 3:4]
        return np.asarray(shares * self.canvas.build_size, dtype=np.float64)

    @property
    def projection(self) -> Array:
        """How the camera of now sees the case, (4, 4), homogeneous.

        From points [mm] to shares of the build's part, from its lower left corner.
        """
        width, height = self.canvas.build_size
        lens = self._build.GetActiveCamera()
        matrix = lens.GetCompositeProjectionTransformMatrix(width / height, -1.0, 1.0)
        whole = pv.array_from_vtkmatrix(matrix)
        # VTK counts from -1 to 1, shares from 0 to 1.
        whole[:2] = (whole[:2] + whole[3]) / 2.0
        return np.asarray(whole, dtype=np.float64)

    # --- the camera ---

    def look(self, eye: Eye, *, measure: Measure) -> None:
        """Look from a direction, with everything in the picture.

        Parameters
        ----------
        eye : Eye
        measure : callable
            `camera.framing`, or `camera.parallel_framing` for no perspective.
        """
        width, height = self.canvas.build_size
        frame = measure(self._outer, eye, aspect=width / height)
        lens = self._build.GetActiveCamera()
        lens.SetParallelProjection(frame.is_parallel)
        lens.SetViewAngle(camera.VIEW_ANGLE_DEG)
        lens.SetParallelScale(frame.height / 2.0)
        focus, towards = np.asarray(frame.focus), np.asarray(eye.towards_eye)
        lens.SetFocalPoint(*focus)
        lens.SetPosition(*(focus + frame.distance * towards))
        lens.SetViewUp(*eye.up)
        self._build.ResetCameraClippingRange()

    def render(self) -> None:
        """Draw the picture anew."""
        self._build.ResetCameraClippingRange()
        self.canvas.window.Render()
