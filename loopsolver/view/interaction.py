"""The window under the user's hands: keys, mouse, resizing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from vtkmodules.vtkCommonCore import vtkObject
from vtkmodules.vtkInteractionStyle import vtkInteractorStyleTrackballCamera
from vtkmodules.vtkRenderingCore import vtkRenderWindowInteractor

from loopsolver.errors import OutputError
from loopsolver.plan import Plan
from loopsolver.scene.axes import Sides
from loopsolver.view import camera, captions, pictures, playing, tilting
from loopsolver.view.camera import Eye
from loopsolver.view.canvas import new_canvas
from loopsolver.view.events import Timers, numbered, observe
from loopsolver.view.keeper import LET_GO, NO_PLAN, NOT_YET, Keeper
from loopsolver.view.pane import Measure
from loopsolver.view.panel import IN_WINDOW
from loopsolver.view.saves import LOOK_MS
from loopsolver.view.selection import Subject, ViewSelection
from loopsolver.view.stage import Stage
from loopsolver.view.steering import WindowState, after_key, after_mark, after_target

if TYPE_CHECKING:
    from loopsolver.view.follower import Follower
    from loopsolver.view.following import Following

SAMPLES: Final = 4
"""Samples a pixel, for smooth edges."""

IDLE_MS: Final = 250
"""Where the processor draws, edges are smoothed only when nothing more is asked for so
long [ms]: it costs it three times the drawing itself, and steps shall follow the keys.
"""

SHOT_MS: Final = 1800
"""How long a shot of putting together stays where they are played [ms]."""

CLICK: Final = 4
"""A press and release no further apart than this are a click, not a drag [pixels]."""


class Window:
    """A window on a scene or plan, and what its keys do.

    Parameters
    ----------
    subject : Scene or Plan
    first : ViewSelection
        What is shown first.
    size : tuple of 2 ints
        Width and height, on a screen that has room for it [pixels].
    follower : Follower or None
        What follows the subject's file, where it is a scene's.
    """

    def __init__(
        self,
        subject: Subject,
        first: ViewSelection,
        *,
        size: tuple[int, int],
        follower: Follower | None = None,
    ) -> None:
        self._follower = follower
        self._keeper: Keeper | None = None
        if follower is None and isinstance(subject, Plan):
            self._keeper = Keeper(subject)
        self._canvas = new_canvas(size, title=captions.window_title(subject))
        self._canvas.fit_screen()
        self._canvas.window.SetMultiSamples(SAMPLES)
        self._interactor = vtkRenderWindowInteractor()
        self._interactor.SetRenderWindow(self._canvas.window)
        self._stage = Stage(
            self._canvas, subject, first, scale=1.0, furniture=IN_WINDOW
        )
        self._standard: Eye | None = None
        self._drawn_size = (0, 0)
        self._is_slow = False
        self._timers = Timers(self._interactor)
        self._down: tuple[int, int] | None = None
        self._keys = self._key_table()

    def run(self) -> None:
        """Show the window and stay until it is closed."""
        if self._stage.selection.shot:
            self._stage.find_shots()
        self._interactor.Initialize()
        self._listen()
        self._stage.look(self._stage.first_eye, measure=camera.framing)
        self._stage.update(self._stage.selection)
        self._stage.render()
        self._drawn_size = self._canvas.size
        self._is_slow = self._canvas.is_drawn_by_processor()
        # The window is there; keys pressed from now on wait this once, not the steps.
        self._stage.find_effects()
        if self._follower is not None:
            self._timers.every(LOOK_MS, self._follow)
        if self._stage.selection.shot:
            self._timers.every(SHOT_MS, self._play)
        self._interactor.Start()
        if self._keeper is not None:
            self._keeper.close()
        self._canvas.window.Finalize()
        self._interactor.TerminateApp()

    def _listen(self) -> None:
        """Take over the keys, and follow the mouse and the window's size."""
        style = vtkInteractorStyleTrackballCamera()
        self._interactor.SetInteractorStyle(style)
        # VTK's own letter keys would clash: they do nothing.
        observe(style, "CharEvent", lambda _caller, _event: None)
        observe(style, "StartInteractionEvent", self._turning)
        observe(style, "EndInteractionEvent", self._turned)
        observe(self._interactor, "KeyPressEvent", self._pressed)
        # Before the style, which keeps what follows to itself.
        observe(self._interactor, "LeftButtonPressEvent", self._put_down, first=1.0)
        observe(self._interactor, "ConfigureEvent", self._resized)
        observe(self._interactor, "TimerEvent", numbered(self._timers.rang))

    def _key_table(self) -> dict[str, Callable[[], None]]:
        """Return what those keys do that more hangs on than what is shown."""
        keep = partial(self._with_keeper, self._keep)
        return {
            "Return": keep,
            "Enter": keep,
            "u": partial(self._with_keeper, Keeper.undo),
            "w": partial(self._with_keeper, Keeper.write),
            "a": self._tilt,
            "g": self._go_on,
            "1": lambda: self._standard_view(camera.front(self._sides)),
            "2": lambda: self._standard_view(camera.side(self._sides)),
            "3": lambda: self._standard_view(camera.top(self._sides)),
            "0": self._reset,
            "p": self._save_picture,
            "q": self._leave,
            "Escape": self._leave,
        }

    @property
    def _sides(self) -> Sides:
        return self._stage.sides_for(self._stage.selection)

    # --- keys ---

    def _pressed(self, _caller: vtkObject, _event: str) -> None:
        symbol = self._interactor.GetKeySym() or ""
        symbol = symbol.removeprefix("KP_")
        symbol = symbol.lower() if len(symbol) == 1 else symbol
        does, steered = self._keys.get(symbol), after_key(self._shown(), symbol)
        if self._keeper is not None and self._keeper.on_yes is not None:
            self._answer(self._keeper, symbol)
            return
        if steered is None and does is None:
            return
        self._stage.message = ""
        self._timers.stop(self._play)
        if steered is not None:
            self._steer(steered)
        elif does is not None:
            does()

    def _answer(self, keeper: Keeper, symbol: str) -> None:
        """Take a key for the answer to a question; those that only change letters wait."""
        if symbol.startswith(("Shift", "Control", "Alt", "Caps")):
            return
        on_yes, keeper.on_yes = keeper.on_yes, None
        is_yes = symbol == "y" and on_yes is not None
        told = on_yes if is_yes and on_yes is not None else lambda: "left as it is"
        self._with_keeper(lambda _keeper: told())

    def _shown(self) -> WindowState:
        return WindowState(
            subject=self._stage.subject,
            selection=self._stage.selection,
            towards_eye=self._stage.eye.towards_eye,
        )

    def _steer(self, shown: WindowState) -> None:
        """Show what a key or a click has made of what was shown."""
        stage, before = self._stage, self._stage.selection
        stage.message = shown.message
        now = shown.selection
        if (before.bent is None) != (now.bent is None):  # to the bench, or back
            stage.selection = now
            stage.first_eye = stage.eye_for(now)
            self._reset()
        elif (before.beside is None) != (now.beside is None):
            stage.update(now)
            parallel, usual = camera.parallel_framing, camera.framing
            self._look(stage.eye, measure=parallel if self._standard else usual)
        else:
            self._change(now)

    def _change(self, now: ViewSelection) -> None:
        self._stage.update(now)
        self._draw()

    def _draw(self) -> None:
        """Draw at once; where that is slow, smoothly only after a while."""
        self._draw_quickly()
        self._stage.render()
        if self._is_slow:
            self._timers.once(IDLE_MS, self._draw_smoothly)
        self._timers.wake()

    def _draw_quickly(self) -> None:
        self._timers.stop(self._draw_smoothly)
        if self._is_slow:
            self._canvas.window.SetMultiSamples(0)

    def _draw_smoothly(self) -> None:
        self._canvas.window.SetMultiSamples(SAMPLES)
        self._stage.render()
        self._timers.wake()

    # --- a file that is followed ---

    def _follow(self) -> None:
        """Look at the file that is followed, and show what is new."""
        if self._follower is not None and self._follower.follow():
            was_tilted = self._stage.selection.tilt
            self._stage.follow(self._with_kept(self._follower.now))
            if was_tilted and not self._stage.selection.tilt:
                self._stage.first_eye = self._stage.eye_for(self._stage.selection)
                self._reset()
            title = captions.window_title(self._stage.subject)
            self._canvas.window.SetWindowName(title)
            self._draw()

    def _tilt(self) -> None:
        """Lay the machine as the next tilt has it; after the last, as it is used."""
        stage, air = self._stage, self._stage.air
        if not air.is_sought:
            stage.message = tilting.LOOKING
            stage.update_words()
            self._draw_quickly()
            stage.render()
            air.seek()
        stage.message = tilting.why_none(self._stage.subject, air.stages)
        if stage.message:
            self._change(stage.selection)
            return
        stage.selection = tilting.step_tilt(stage.selection, air.stages)
        stage.first_eye = stage.eye_for(stage.selection)
        self._reset()

    def _go_on(self) -> None:
        """Show the next shot of putting together; after the last all of it."""
        stage, together = self._stage, self._stage.together
        if not together.is_sought:
            stage.message = playing.SEEKING
            stage.update_words()
            self._draw_quickly()
            stage.render()
            together.seek()
        stage.message = together.why_none
        before = stage.selection
        stage.selection = playing.step_shot(before, together.shots)
        if before.tilt or before.bent is not None:
            stage.first_eye = stage.eye_for(stage.selection)
            self._reset()
        else:
            self._change(stage.selection)

    def _play(self) -> None:
        """Go on to the next shot by itself; stay where all is together."""
        if self._stage.selection.shot:
            self._go_on()
        else:
            self._timers.stop(self._play)

    def _standard_view(self, eye: Eye) -> None:
        """Look from there, or from behind where that is what is seen already."""
        eye = camera.from_behind(eye) if eye == self._standard else eye
        self._standard = eye
        self._stage.message = captions.view_text(self._sides, eye.towards_eye)
        self._look(eye, measure=camera.parallel_framing)

    def _reset(self) -> None:
        self._standard = None
        self._look(self._stage.first_eye, measure=camera.framing)

    def _look(self, eye: Eye, *, measure: Measure) -> None:
        self._stage.look(eye, measure=measure)
        self._change(self._stage.selection)

    def _save_picture(self) -> None:
        """Save the build as it is seen, without panel and footer, in the working folder."""
        now = self._stage.selection
        self._draw_smoothly()
        try:
            name = captions.picture_name(self._stage.subject, now)
            path = pictures.free_name(Path.cwd(), name)
            pictures.write_picture(self._stage.build_pixels(), path)
            self._stage.message = f"saved {path.name} in {path.parent}"
        except (OutputError, OSError) as error:  # OSError: the folder is gone
            self._stage.message = f"not saved: {error}"
        self._change(now)

    # --- keeping candidates ---

    def _with_kept(self, now: Following) -> Following:
        """Return what is known of a file, with what is kept as far as that holds."""
        stage, keeper = self._stage, self._keeper
        if keeper is None:
            return now
        if keeper.go_on_with(now.plan):
            stage.keeping = keeper.now
            return replace(now, plan=keeper.now.plan)
        stage.message = "" if keeper.now.is_written else LET_GO
        self._timers.stop(self._hear)
        self._keeper = stage.keeping = None
        return now

    def _keeper_now(self) -> Keeper | None:
        """Return what keeps candidates; of a file that is followed, once it is solved."""
        followed = None if self._follower is None else self._follower.now.plan
        if self._keeper is None and followed is not None:
            self._keeper = Keeper(followed)
        return self._keeper

    def _with_keeper(self, does: Callable[[Keeper], str]) -> None:
        """Do something with what keeps candidates, and show what comes of it."""
        stage, keeper = self._stage, self._keeper_now()
        if keeper is None:
            stage.message = NO_PLAN if self._follower is None else NOT_YET
            self._change(stage.selection)
            return
        stage.message = does(keeper)
        stage.keep(keeper.now)
        self._draw()
        if not keeper.now.is_solving:
            self._timers.stop(self._hear)
        elif not self._timers.has(self._hear):  # what is kept is seen by now
            keeper.solve()
            self._timers.every(LOOK_MS, self._hear)

    def _keep(self, keeper: Keeper) -> str:
        return keeper.keep(self._stage.selection)

    def _hear(self) -> None:
        """Show what the search has told."""
        if self._keeper is not None and self._keeper.follow():
            self._with_keeper(lambda keeper: keeper.now.trouble)

    def _leave(self) -> None:
        """Close the window; where a plan is not written, ask first."""
        keeper = self._keeper
        if keeper is None or keeper.now.is_written or self._follower is not None:
            self._interactor.TerminateApp()
        else:
            self._with_keeper(lambda one: one.ask_to_leave(self._close))

    def _close(self) -> str:
        self._interactor.TerminateApp()
        return ""

    # --- mouse and size ---

    def _put_down(self, _caller: vtkObject, _event: str) -> None:
        self._down = self._interactor.GetEventPosition()

    def _turning(self, _caller: vtkObject, _event: str) -> None:
        self._draw_quickly()
        self._stage.hide_labels()

    def _turned(self, _caller: vtkObject, _event: str) -> None:
        """Show the labels again; a press and release in one place is a click."""
        down, (x, y) = self._down, self._interactor.GetEventPosition()
        self._down = None
        if down is not None and max(abs(down[0] - x), abs(down[1] - y)) <= CLICK:
            self._click(x, y)
            return
        self._standard = None
        self._stage.update_labels()
        self._draw()

    def _click(self, x: int, y: int) -> None:
        """Show what a click leads to, or measure from there."""
        stage, now = self._stage, self._shown()
        stage.message = ""
        self._timers.stop(self._play)
        if now.selection.marks is not None and stage.is_on_build(x, y):
            self._steer(after_mark(now, stage.mark_at(x, y)))
        elif target := stage.target_at(x, y):
            self._steer(after_target(now, target))
        else:
            self._change(now.selection)

    def _resized(self, _caller: vtkObject, _event: str) -> None:
        if self._canvas.size == self._drawn_size:
            return
        self._drawn_size = self._canvas.size
        self._stage.update_words()
        self._stage.update_labels()
        self._draw()
