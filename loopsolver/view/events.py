"""Observers of what happens in a VTK window, and its timers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from vtkmodules.util.vtkConstants import VTK_INT
from vtkmodules.vtkCommonCore import vtkObject
from vtkmodules.vtkRenderingCore import vtkRenderWindowInteractor

Observer = Callable[[vtkObject, str], None]
Does = Callable[[], None]

WAKE_MS: Final = 20
"""How soon after a drawing a timer rings to have waiting events looked at [ms]."""


def numbered(rang: Callable[[int], None]) -> Observer:
    """Return an observer of timers that is told which of them rang."""

    def observer(_caller: vtkObject, _event: str, timer: int) -> None:
        rang(timer)

    observer.CallDataType = VTK_INT  # type: ignore[attr-defined]
    return observer  # type: ignore[return-value]


def observe(
    where: vtkObject, event: str, observer: Observer, *, first: float = 0.0
) -> None:
    """Have an observer called at an event, the greatest `first` before the others.

    VTK's type hints know event numbers only.
    """
    add: Callable[[str, Observer, float], int] = where.AddObserver  # type: ignore[assignment]
    add(event, observer, first)


def _nothing() -> None:
    """Do nothing: the ringing is enough."""


class Timers:
    """What is done after a while, each thing by a timer of its own."""

    def __init__(self, interactor: vtkRenderWindowInteractor) -> None:
        self._interactor = interactor
        self._numbers: dict[Does, int] = {}
        self._ring_once: set[Does] = set()

    def every(self, pause_ms: int, does: Does) -> None:
        """Have something done time after time, until it is stopped."""
        if not self.has(does):
            self._numbers[does] = self._interactor.CreateRepeatingTimer(pause_ms)

    def once(self, pause_ms: int, does: Does) -> None:
        """Have something done once, after a pause from now."""
        self.stop(does)
        self._numbers[does] = self._interactor.CreateOneShotTimer(pause_ms)
        self._ring_once.add(does)

    def wake(self) -> None:
        """Have what happened while something was drawn looked at, too.

        It may have been taken off the wire by the drawing already, and VTK waits for the
        wire alone: until the next key or move of the mouse, or until a timer rings.
        """
        self.once(WAKE_MS, _nothing)

    def has(self, does: Does) -> bool:
        """Return whether something is to be done."""
        return does in self._numbers

    def stop(self, does: Does) -> None:
        """Do something no more."""
        self._ring_once.discard(does)
        number = self._numbers.pop(does, None)
        if number is not None:
            self._interactor.DestroyTimer(number)

    def rang(self, number: int) -> None:
        """Do what a timer is for."""
        for does, own in tuple(self._numbers.items()):
            if own == number:
                if does in self._ring_once:
                    del self._numbers[does]
                    self._ring_once.remove(does)
                does()
