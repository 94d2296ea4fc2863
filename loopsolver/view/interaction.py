"""The window under the user's hands: keys, mouse, resizing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from vtkmodules.util.vtkConstants import VTK_INT
from vtkmodules.vtkCommonCore import vtkObject
from vtkmodules.vtkInteractionStyle import vtkInteractorStyleTrackballCamera
from vtkmodules.vtkRenderingCore import vtkRenderWindowInteractor

from loopsolver.errors import OutputError
from loopsolver.plan import Plan
from loopsolver.scene.axes import Sides
from loopsolver.view import camera, captions, pictures, playing, tilting
from loopsolver.view.camera import Eye
from loopsolver.view.canvas import new_canvas
from loopsolver.view.keeper import Keeper
from loopsolver.view.panel import IN_WINDOW
from loopsolver.view.saves import LOOK_MS
from loopsolver.view.selection import Subject, ViewSelection
from loopsolver.view.stage import Measure, Stage
from loopsolver.view.steering import Shown, after_key, after_mark, after_target

if TYPE_CHECKING:
    from loopsolver.view.follower import Follower

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
        What follows the subject's file; without one a plan's candidates can be kept.
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
        self._idle_timer: int | None = None
        self._look_timer: int | None = None
        self._play_timer: int | None = None
        self._solve_timer: int | None = None
        self._down: tuple[int, int] | None = None
        self._asks: Callable[[], None] | None = None
        self._keys = self._key_table()

    def run(self) -> None:
        """Show the window and stay until it is closed."""
        if self._stage.selection.shot:
            self._stage.find_shots()
        self._interactor.Initialize()
        self._listen()
        self._stage.update_words()
        self._stage.look(self._stage.first_eye, measure=camera.framing)
        self._stage.update(self._stage.selection)
        self._stage.render()
        self._drawn_size = self._canvas.size
        self._is_slow = self._canvas.is_drawn_by_processor()
        # The window is there; keys pressed from now on wait this once, not the steps.
        self._stage.find_effects()
        if self._follower is not None:
            self._look_timer = self._interactor.CreateRepeatingTimer(LOOK_MS)
        if self._stage.selection.shot:
            self._play_timer = self._interactor.CreateRepeatingTimer(SHOT_MS)
        self._interactor.Start()
        if self._keeper is not None:
            self._keeper.close()
        self._canvas.window.Finalize()
        self._interactor.TerminateApp()

    def _listen(self) -> None:
        """Take over the keys, and follow the mouse and the window's size."""
        style = vtkInteractorStyleTrackballCamera()
        self._interactor.SetInteractorStyle(style)
        # VTK's own letter keys (wireframe, stereo, ...) would clash: they do nothing.
        _observe(style, "CharEvent", lambda _caller, _event: None)
        _observe(style, "StartInteractionEvent", self._turning)
        _observe(style, "EndInteractionEvent", self._turned)
        _observe(self._interactor, "KeyPressEvent", self._pressed)
        _observe(self._interactor, "LeftButtonPressEvent", self._put_down, first=1.0)
        _observe(self._interactor, "ConfigureEvent", self._resized)
        _observe(self._interactor, "TimerEvent", _numbered(self._rang))

    def _key_table(self) -> dict[str, Callable[[], None]]:
        """Return what each key does, by VTK's name of the key."""
        return {
            "Return": self._keep,
            "Enter": self._keep,
            "u": self._undo,
            "w": self._ask_and_write,
            "a": self._tilt,
            "g": self._go_on,
            "1": lambda: self._standard_view(camera.front(self._sides)),
            "2": lambda: self._standard_view(camera.side(self._sides)),
            "3": lambda: self._standard_view(camera.top(self._sides)),
            "0": self._reset,
            "p": self._save_picture,
            "q": self._ask_and_close,
            "Escape": self._ask_and_close,
        }

    @property
    def _subject(self) -> Subject:
        return self._stage.subject

    @property
    def _sides(self) -> Sides:
        return self._stage.sides_for(self._stage.selection)

    # --- keys ---

    def _pressed(self, _caller: vtkObject, _event: str) -> None:
        symbol = self._interactor.GetKeySym() or ""
        symbol = symbol.removeprefix("KP_")
        symbol = symbol.lower() if len(symbol) == 1 else symbol
        asks, self._asks = self._asks, None
        if asks is not None and symbol == "y":
            asks()
            return
        does = self._keys.get(symbol)
        now = self._shown()
        steered = after_key(now, symbol)
        if does is not None or steered is not None or asks is not None:
            self._stage.message = "left as it is" if asks is not None else ""
            self._stop_playing()
        if steered is not None:
            self._steer(steered)
        elif does is not None:
            does()
        elif asks is not None:
            self._change(now.selection)

    def _shown(self) -> Shown:
        return Shown(
            subject=self._subject,
            selection=self._stage.selection,
            towards_eye=self._stage.eye.towards_eye,
        )

    def _steer(self, shown: Shown) -> None:
        """Show what a key or a click has made of it."""
        before = self._stage.selection
        self._stage.message = shown.message
        was, now = before.bent is None, shown.selection.bent is None
        if was != now:  # from the case to the bench, or back
            self._stage.selection = shown.selection
            self._stage.first_eye = self._stage.eye_for(shown.selection)
            self._reset()
            return
        self._change(shown.selection)
        if (before.beside is None) != (shown.selection.beside is None):
            self._look(self._stage.eye, measure=self._measure)

    def _change(self, now: ViewSelection) -> None:
        self._stage.update(now)
        self._draw()

    def _draw(self) -> None:
        """Draw at once; where that is slow, smoothly only after a while."""
        self._draw_quickly()
        self._stage.render()
        if self._is_slow:
            self._idle_timer = self._interactor.CreateOneShotTimer(IDLE_MS)

    def _draw_quickly(self) -> None:
        if self._idle_timer is not None:
            self._interactor.DestroyTimer(self._idle_timer)
            self._idle_timer = None
        if self._is_slow:
            self._canvas.window.SetMultiSamples(0)

    def _draw_smoothly(self) -> None:
        self._canvas.window.SetMultiSamples(SAMPLES)
        self._stage.render()

    def _rang(self, timer: int) -> None:
        """Do what a timer is for."""
        if timer == self._look_timer:
            self._follow()
        elif timer == self._play_timer:
            self._play()
        elif timer == self._idle_timer:
            self._idle_timer = None
            self._draw_smoothly()
        elif timer == self._solve_timer:
            self._hear()

    def _follow(self) -> None:
        """Look at the file that is followed, and show what is new."""
        if self._follower is not None and self._follower.follow():
            was_tilted = self._stage.selection.tilt
            self._stage.follow(self._follower.now)
            if was_tilted and not self._stage.selection.tilt:
                self._stage.first_eye = self._stage.eye_for(self._stage.selection)
                self._reset()
            title = captions.window_title(self._subject)
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
        stage.message = tilting.why_none(self._subject, air.stages)
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
        was_tilted = stage.selection.tilt
        stage.selection = playing.step_shot(stage.selection, together.shots)
        if was_tilted:
            stage.first_eye = stage.eye_for(stage.selection)
            self._reset()
        else:
            self._change(stage.selection)

    def _play(self) -> None:
        """Go on to the next shot by itself; stay where all is together."""
        if self._stage.selection.shot:
            self._go_on()
        else:
            self._stop_playing()

    def _stop_playing(self) -> None:
        if self._play_timer is not None:
            self._interactor.DestroyTimer(self._play_timer)
            self._play_timer = None

    def _standard_view(self, eye: Eye) -> None:
        """Look from there, or from behind where that is what is seen already."""
        eye = camera.from_behind(eye) if eye == self._standard else eye
        self._standard = eye
        self._stage.message = captions.view_text(self._sides, eye.towards_eye)
        self._look(eye, measure=camera.parallel_framing)

    @property
    def _measure(self) -> Measure:
        """How the camera of now is framed: in parallel in a standard view."""
        return camera.framing if self._standard is None else camera.parallel_framing

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
            name = captions.picture_name(self._subject, now)
            path = pictures.free_name(Path.cwd(), name)
            pictures.write_picture(self._stage.build_pixels(), path)
            self._stage.message = f"saved {path.name} in {path.parent}"
        except (OutputError, OSError) as error:  # OSError: the folder is gone
            self._stage.message = f"not saved: {error}"
        self._change(now)

    # --- keeping candidates ---

    def _keep(self) -> None:
        """Keep the candidate shown, show that at once, and have the rest solved."""
        stage, keeper = self._stage, self._keeper
        if keeper is None:
            stage.message = "candidates are kept where a plan is viewed"
            self._change(stage.selection)
            return
        stage.message = keeper.keep(stage.selection)
        stage.keep(keeper.now)
        self._draw()
        if not stage.message:
            keeper.solve()
            self._solve_timer = self._interactor.CreateRepeatingTimer(LOOK_MS)

    def _hear(self) -> None:
        """Show what the search has told."""
        if self._keeper is not None and self._keeper.follow():
            self._stage.keep(self._keeper.now)
            self._draw()
            if not self._keeper.now.is_solving:
                self._stop_hearing()

    def _stop_hearing(self) -> None:
        if self._solve_timer is not None:
            self._interactor.DestroyTimer(self._solve_timer)
            self._solve_timer = None

    def _undo(self) -> None:
        stage, keeper = self._stage, self._keeper
        if keeper is None or len(keeper.now.steps) == 1:
            stage.message = "nothing to undo"
            self._change(stage.selection)
            return
        self._stop_hearing()
        keeper.undo()
        stage.message = "taken back"
        stage.keep(keeper.now)
        self._draw()

    def _ask_and_write(self) -> None:
        """Write the plan; where its file is not as it was read, ask first."""
        stage, keeper = self._stage, self._keeper
        if keeper is None or keeper.now.is_written:
            stage.message = "nothing to write: no candidate was kept"
        elif keeper.now.is_solving:
            stage.message = "not written: the rest is still being solved"
        elif why := keeper.why_ask:
            stage.message = f"{why} y writes, any other key leaves it"
            self._asks = self._write
        else:
            self._write()
            return
        self._change(stage.selection)

    def _write(self) -> None:
        stage, keeper = self._stage, self._keeper
        if keeper is None:
            return
        try:
            stage.message = f"written to {keeper.write().name}"
        except OutputError as error:
            stage.message = f"not written: {error}"
        stage.keep(keeper.now)
        self._draw()

    def _ask_and_close(self) -> None:
        """Close the window; where a plan is not written, ask first."""
        keeper = self._keeper
        if keeper is None or keeper.now.is_written:
            self._close()
            return
        self._stage.message = "the plan is not written: y closes, w writes it"
        self._asks = self._close
        self._change(self._stage.selection)

    def _close(self) -> None:
        self._interactor.TerminateApp()

    # --- mouse and size ---

    def _put_down(self, _caller: vtkObject, _event: str) -> None:
        self._down = self._interactor.GetEventPosition()

    def _click(self, x: int, y: int) -> None:
        """Show what a click leads to, or measure from there."""
        stage, now = self._stage, self._shown()
        self._stop_playing()
        if now.selection.marks is not None and stage.is_on_build(x, y):
            self._steer(after_mark(now, stage.mark_at(x, y)))
        elif target := stage.target_at(x, y):
            self._steer(after_target(now, target))

    def _turning(self, _caller: vtkObject, _event: str) -> None:
        self._standard = None
        self._draw_quickly()
        self._stage.hide_labels()

    def _turned(self, _caller: vtkObject, _event: str) -> None:
        """Show the labels again; a press and release in one place is a click."""
        down, (x, y) = self._down, self._interactor.GetEventPosition()
        self._down = None
        self._stage.update_labels()
        if down is not None and max(abs(down[0] - x), abs(down[1] - y)) <= CLICK:
            self._click(x, y)
        self._draw()

    def _resized(self, _caller: vtkObject, _event: str) -> None:
        if self._canvas.size == self._drawn_size:
            return
        self._drawn_size = self._canvas.size
        self._stage.update_words()
        self._stage.update_labels()
        self._draw()


def _numbered(rang: Callable[[int], None]) -> Observer:
    """Return an observer of timers that is told which of them rang."""

    def observer(_caller: vtkObject, _event: str, timer: int) -> None:
        rang(timer)

    observer.CallDataType = VTK_INT  # type: ignore[attr-defined]
    return observer  # type: ignore[return-value]


Observer = Callable[[vtkObject, str], None]


def _observe(
    where: vtkObject, event: str, observer: Observer, *, first: float = 0.0
) -> None:
    """Have an observer called at an event, the greatest `first` before the others.

    VTK's type hints know event numbers only.
    """
    add: Callable[[str, Observer, float], int] = where.AddObserver  # type: ignore[assignment]
    add(event, observer, first)
