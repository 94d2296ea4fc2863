"""What keys and clicks make of what is shown. Pure: a selection in, another one out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from loopsolver.geometry.vectors import Point
from loopsolver.scene.walls import PICTURED, room
from loopsolver.view import section_plane, selection
from loopsolver.view.blank_steps import step_bend
from loopsolver.view.marks import ClickedMark
from loopsolver.view.measuring import with_mark
from loopsolver.view.panel_lines import Target, ToRun
from loopsolver.view.selection import (
    Hideable,
    Subject,
    ViewSelection,
    scene_of,
    shown_candidate,
    toggle,
    with_candidate,
    with_run,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowState:
    """What a window shows, and what it says of what was done last.

    Attributes
    ----------
    subject : Scene or Plan
    selection : ViewSelection
    towards_eye : Point
        From the build to the eye; unit length.
    message : str
    """

    subject: Subject
    selection: ViewSelection
    towards_eye: Point
    message: str = ""

    def having(self, now: ViewSelection, message: str = "") -> WindowState:
        """Return the same with another selection and what is said of it."""
        return replace(self, selection=now, message=message)


Steered = Callable[[WindowState], WindowState]
"""What a key does."""


def after_key(shown: WindowState, symbol: str) -> WindowState | None:
    """Return what is shown after a key; None for one that does not change what is shown."""
    steered = _STEERED.get(symbol)
    return None if steered is None else steered(shown)


def after_target(shown: WindowState, target: Target) -> WindowState:
    """Return what is shown after a click on a tube, or on a row of the panel."""
    subject, now = shown.subject, shown.selection
    if isinstance(target, ToRun):
        return shown.having(with_run(subject, now, target.place))
    return shown.having(with_candidate(subject, now, target.rank))


def after_mark(shown: WindowState, mark: ClickedMark | None) -> WindowState:
    """Return what is shown after a click to measure."""
    if mark is None:
        return shown.having(shown.selection, "nothing there to measure from")
    return shown.having(with_mark(shown.selection, mark))


def _run(shown: WindowState, *, by: int) -> WindowState:
    return shown.having(selection.step_run(shown.subject, shown.selection, by=by))


def _candidate(shown: WindowState, *, by: int) -> WindowState:
    return shown.having(selection.step_candidate(shown.subject, shown.selection, by=by))


def _layer(shown: WindowState, *, layer: Hideable) -> WindowState:
    now = toggle(shown.selection, layer)
    done = "hidden" if layer in now.hidden else "shown"
    return shown.having(now, f"{layer} {done}")


def _help(shown: WindowState) -> WindowState:
    now = shown.selection
    return shown.having(replace(now, is_helping=not now.is_helping))


def _bend(shown: WindowState) -> WindowState:
    candidate = shown_candidate(shown.subject, shown.selection)
    if candidate is None:
        return shown.having(shown.selection, "there is no tube to bend")
    return shown.having(step_bend(shown.selection, candidate.bends))


def _beside(shown: WindowState) -> WindowState:
    now = selection.step_beside(shown.subject, shown.selection)
    if now == shown.selection:
        return shown.having(now, "there is no second candidate")
    return shown.having(now)


def _measure(shown: WindowState) -> WindowState:
    now = shown.selection
    if now.marks is not None:
        return shown.having(replace(now, marks=None), "measuring ended")
    begun = replace(now, marks=(), bent=None, tilt=0, shot=0)
    return shown.having(begun, "click two places or axes")


def _plane(shown: WindowState) -> WindowState:
    now, scene = shown.selection, scene_of(shown.subject)
    inside = room(scene, beyond=PICTURED)
    plane = section_plane.next_plane(
        now.plane, room=inside, towards_eye=shown.towards_eye
    )
    told = "cut open" if plane else "whole again"
    return shown.having(replace(now, plane=plane), told)


def _move_plane(shown: WindowState, *, by: float) -> WindowState:
    now, scene = shown.selection, scene_of(shown.subject)
    if now.plane is None:
        return shown.having(now, "no section plane: x cuts the build open")
    inside = room(scene, beyond=PICTURED)
    return shown.having(
        replace(now, plane=section_plane.moved(now.plane, by=by, room=inside))
    )


_STEERED: Final[Mapping[str, Steered]] = {
    "Down": partial(_run, by=1),
    "Up": partial(_run, by=-1),
    "Right": partial(_candidate, by=1),
    "Left": partial(_candidate, by=-1),
    "b": partial(_layer, layer="bodies"),
    "k": partial(_layer, layer="keep-outs"),
    "t": partial(_layer, layer="other tubes"),
    "n": partial(_layer, layer="names"),
    "s": _bend,
    "v": _beside,
    "m": _measure,
    "x": _plane,
    "comma": partial(_move_plane, by=-section_plane.PLANE_STEP),
    "period": partial(_move_plane, by=section_plane.PLANE_STEP),
    "h": _help,
}
