"""Observers of what happens in a VTK window."""

from __future__ import annotations

from collections.abc import Callable

from vtkmodules.util.vtkConstants import VTK_INT
from vtkmodules.vtkCommonCore import vtkObject

Observer = Callable[[vtkObject, str], None]


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
