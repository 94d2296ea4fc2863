"""The stage: the build and the words, put on a canvas and changed by selections."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from loopsolver.clearance.gap import is_clear
from loopsolver.geometry.vectors import Array
from loopsolver.hydraulics.filling import TiltStage
from loopsolver.plan import Effect, Plan, effects
from loopsolver.scene.axes import Sides
from loopsolver.scene.model import Scene
from loopsolver.view import (
    blank_steps,
    camera,
    captions,
    clashes,
    contents,
    keys,
    naming,
    playing,
    pointing,
    props,
    tilting,
)
from loopsolver.view.camera import Eye
from loopsolver.view.canvas import Canvas
from loopsolver.view.figures import NearTube
from loopsolver.view.labels import LabelWish, PlacedLabel, place_labels
from loopsolver.view.marks import ClickedMark
from loopsolver.view.pane import OF_SUBJECT, Measure, Pane
from loopsolver.view.panel import (
    Furniture,
    PageLayout,
    WindowWords,
    halves,
    page_layout,
)
from loopsolver.view.panel_lines import Section, Target
from loopsolver.view.pictures import Pixels
from loopsolver.view.scenery import scenery
from loopsolver.view.selection import (
    Subject,
    ViewSelection,
    carried_over,
    scene_of,
    shown_candidate,
    shown_run,
)

if TYPE_CHECKING:
    from loopsolver.view.following import Following
    from loopsolver.view.keeping import Keeping

LABEL_LETTERS: Final = 0.88
"""Letters of labels as a share of the panel's."""


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
        self.keeping: Keeping | None = None
        self._scale = scale
        self._furniture = furniture
        self._pane = Pane(canvas.build, scale=scale)
        self._held: Pane | None = None
        self._panel = WindowWords(canvas.words)
        self._lay(subject, selection)
        self._lay_scene(scene_of(subject))
        self.first_eye = self.eye_for(selection)

    def _lay(self, subject: Subject, selection: ViewSelection) -> None:
        """Take a subject on, and make what does not depend on the selection."""
        self.subject, self.selection = subject, selection
        self.following: Following | None = None
        self._near: dict[tuple[int, int | None], tuple[NearTube, ...]] = {}
        self._effects: dict[tuple[str, int], Effect] | None = None
        self._air: tilting.Air | None = None
        self.together = playing.Together(subject)

    def _lay_scene(self, scene: Scene) -> None:
        """Make what depends on the scene alone."""
        self._outer = contents.outer_points(scene)
        self._in_the_way = contents.solids_in_the_way(scene)

    def follow(self, following: Following) -> None:
        """Show what is known of a file now; what stayed the same is not made again."""
        selection = self._taken_on(following.subject)
        self.following = following
        self.update(selection)

    def keep(self, keeping: Keeping) -> None:
        """Show what is known now of the candidates that are kept."""
        following = self.following
        selection = self._taken_on(keeping.plan)
        if following is not None:  # what was told of the file stays
            self.following = replace(following, plan=keeping.plan)
        self.keeping = keeping
        self.update(selection)

    def _taken_on(self, subject: Subject) -> ViewSelection:
        """Take on another subject, if it is another; return what is shown of it."""
        before = self.subject
        selection = carried_over(before, self.selection, subject)
        if subject != before:
            is_same = scene_of(subject) == scene_of(before)
            for pane in self._panes:
                if is_same:
                    pane.drop_kinds(OF_SUBJECT)
                else:
                    pane.drop_all()
            selection = replace(selection, tilt=0, shot=0)
            self._lay(subject, selection)
            if not is_same:
                self._lay_scene(scene_of(subject))
                self.first_eye = self.eye_for(selection)
        return selection

    @property
    def _panes(self) -> list[Pane]:
        return [self._pane] if self._held is None else [self._held, self._pane]

    def eye_for(self, selection: ViewSelection) -> Eye:
        """Return where to look from to see what is selected best."""
        sides, steps = self.sides_for(selection), self._bench_lines(selection)
        if steps:
            return camera.best_eye(steps, (), sides=sides)
        lines = contents.lines_to_see(self.subject, selection)
        return camera.best_eye(lines, self._in_the_way, sides=sides)

    def _bench_lines(self, selection: ViewSelection) -> list[Array]:
        """Return points along the tube after each of its bends, if it is bent now."""
        candidate = shown_candidate(self.subject, selection)
        if selection.bent is None or candidate is None:
            return []
        return blank_steps.points_of_all_steps(candidate, scene_of(self.subject))

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

    # --- what is shown ---

    def update(self, selection: ViewSelection) -> None:
        """Show a selection: tubes, fittings, words and labels. The camera stays."""
        self.selection = selection
        self._share_out()
        for pane, shown in self._shown:
            pane.unlabel()
            wanted = scenery(
                self.subject,
                shown,
                near=self._near_tubes(shown),
                following=self.following,
                air=self._air_now(),
                shots=self.together.shots,
            )
            keys = {pane.group(key, draw) for key, draw in wanted.items()}
            pane.show(keys, plane=shown.plane)
        self.update_words()
        self.update_labels()

    @property
    def _shown(self) -> list[tuple[Pane, ViewSelection]]:
        """The panes that are seen, and what each of them shows."""
        now = self.selection
        if self._held is None or now.beside is None:
            return [(self._pane, now)]
        held = replace(now, rank=now.beside)
        return [(self._held, held), (self._pane, now)]

    def _share_out(self) -> None:
        """Give the build all its room, or each of two candidates one half."""
        if self.selection.beside is not None and self._held is None:
            self._held = Pane(self.canvas.another_build(), scale=self._scale)
            # The views are linked: one camera for both.
            lens = self._pane.renderer.GetActiveCamera()
            self._held.renderer.SetActiveCamera(lens)
        whole = self.layout.scene_viewport
        is_split = self.selection.beside is not None
        left, right = halves(whole) if is_split else (whole, whole)
        self._pane.renderer.SetViewport(*right)
        if self._held is not None:
            self._held.renderer.SetViewport(*left)
            self._held.renderer.SetDraw(is_split)
            self._held.renderer.SetInteractive(is_split)

    def find_shots(self) -> None:
        """Look for the order of putting together, and begin with its first shot."""
        self.together.seek()
        self.message = self.together.why_none
        shot = min(1, len(self.together.shots))
        self.selection = replace(self.selection, shot=shot)

    def _air_now(self) -> tuple[TiltStage, ...]:
        """Return the stage of the tilts that is shown, if anything is known of air."""
        tilt = self.selection.tilt
        return () if self.selection.shot else self.air.stages[tilt : tilt + 1]

    def _near_tubes(self, selection: ViewSelection) -> tuple[NearTube, ...]:
        if not isinstance(self.subject, Plan):
            return ()
        key = (selection.run, selection.rank)
        if key not in self._near:
            self._near[key] = clashes.near_tubes(self.subject, selection)
        return self._near[key]

    def _nearest_tube(self) -> NearTube | None:
        return next(iter(self._near_tubes(self.selection)), None)

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
        self._share_out()
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
                keeping=self.keeping,
            )
        footer = ""
        if self._furniture.footer_rows:
            columns = layout.footer_columns
            footer = keys.footer(columns=columns, message=self.message)
        self._panel.draw(words, footer=footer, layout=layout)

    def target_at(self, x: float, y: float) -> Target | None:
        """Return what a click in the window leads to: a row's, else that of a tube."""
        row = self._panel.target_at(x, y)
        return row or pointing.tube_at(self.subject, self._shown, x, y)

    def mark_at(self, x: float, y: float) -> ClickedMark | None:
        """Return what a click in the window means where something is measured."""
        return pointing.place_at(self.subject, self._shown, x, y)

    def is_on_build(self, x: float, y: float) -> bool:
        """Return whether a place in the window is on the build."""
        return pointing.sight_through(self._shown, x, y) is not None

    def hide_labels(self) -> None:
        """Take the labels away, until `update_labels`."""
        for pane in self._panes:
            pane.unlabel()

    def update_labels(self) -> None:
        """Place the labels for the camera of now."""
        letters = self.layout.letters * LABEL_LETTERS
        for pane, shown in self._shown:
            pane.label(self.placed_labels(pane, shown), letters=letters)

    def placed_labels(
        self, pane: Pane, selection: ViewSelection
    ) -> tuple[PlacedLabel, ...]:
        """Return the labels of a pane that are readable with the camera of now."""
        letters = self.layout.letters * LABEL_LETTERS
        near = self._near_tubes(selection)
        air = self._air_now()
        wanted = naming.wanted_labels(self.subject, selection, near=near, air=air)
        anchors = pane.spots(np.array([name.at for name in wanted]))
        width, height = pane.size
        rim = 6.0 * self._scale
        pairs = zip(wanted, anchors, strict=True)
        texts = [(name.text, name.kind, at) for name, at in pairs]
        if selection.beside is not None:
            held = " is held" if selection.rank == selection.beside else ""
            top = np.array([width / 2.0, height - rim - letters])
            texts.insert(0, (f"candidate {selection.rank}{held}", "heading", top))
        wishes = [
            LabelWish(
                text=text,
                kind=kind,
                anchor=(float(at[0]), float(at[1])),
                size=props.label_size(text, letters=letters),
            )
            for text, kind, at in texts
        ]
        return place_labels(
            wishes,
            frame=(rim, rim, width - rim, height - rim),
            keep_free=pane.spots(
                naming.in_sight(self.subject, selection, near=near, air=air)
            ),
        )

    # --- the camera ---

    def look(self, eye: Eye, *, measure: Measure) -> None:
        """Look from a direction, with everything in the picture.

        Parameters
        ----------
        eye : Eye
        measure : callable
            `camera.framing`, or `camera.parallel_framing` for no perspective.
        """
        self._share_out()
        steps = self._bench_lines(self.selection)
        points = np.vstack(steps) if steps else self._outer
        self._pane.look(points, eye, measure=measure)

    @property
    def eye(self) -> Eye:
        """Where the camera of now looks from."""
        return self._pane.eye

    @property
    def projection(self) -> Array:
        """How the camera of now sees the case: see `Pane`."""
        return self._pane.projection

    def build_pixels(self) -> Pixels:
        """Return what the window shows of the build."""
        pane, _ = self._shown[0]
        return self.canvas.build_pixels(*pane.origin)

    def render(self) -> None:
        """Draw the picture anew."""
        self._pane.renderer.ResetCameraClippingRange()
        self.canvas.window.Render()
