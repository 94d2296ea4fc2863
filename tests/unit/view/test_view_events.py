"""Timers of a window, with an interactor that rings when the test says so."""

from __future__ import annotations

from typing import Any

from loopsolver.view.events import WAKE_MS, Timers


class Bells:
    """In place of VTK's interactor: it numbers timers and knows which were destroyed."""

    def __init__(self) -> None:
        self.made: list[tuple[str, int]] = []
        self.destroyed: list[int] = []

    def CreateRepeatingTimer(self, pause_ms: int) -> int:  # noqa: N802
        self.made.append(("every", pause_ms))
        return len(self.made)

    def CreateOneShotTimer(self, pause_ms: int) -> int:  # noqa: N802
        self.made.append(("once", pause_ms))
        return len(self.made)

    def DestroyTimer(self, number: int) -> None:  # noqa: N802
        self.destroyed.append(number)


def test_what_repeats_rings_until_it_is_stopped_and_is_begun_once() -> None:
    bells: Any = Bells()
    timers, rung = Timers(bells), []

    def ring() -> None:
        rung.append("a")

    timers.every(100, ring)
    timers.every(100, ring)
    assert bells.made == [("every", 100)]
    timers.rang(1)
    timers.rang(1)
    timers.rang(7)  # of nobody here
    assert rung == ["a", "a"]
    timers.stop(ring)
    timers.stop(ring)
    timers.rang(1)
    assert (rung, bells.destroyed, timers.has(ring)) == (["a", "a"], [1], False)


def test_what_is_done_once_waits_anew_when_it_is_asked_for_again() -> None:
    bells: Any = Bells()
    timers, rung = Timers(bells), []

    def ring() -> None:
        rung.append("a")

    timers.once(250, ring)
    timers.once(250, ring)
    assert bells.destroyed == [1]
    timers.rang(1)
    assert rung == []
    timers.rang(2)
    assert (rung, timers.has(ring)) == (["a"], False)
    timers.rang(2)
    assert rung == ["a"]


def test_waking_rings_once_and_does_nothing_else() -> None:
    bells: Any = Bells()
    timers = Timers(bells)
    timers.wake()
    timers.wake()
    assert bells.made == [("once", WAKE_MS), ("once", WAKE_MS)]
    assert bells.destroyed == [1]
    timers.rang(2)
    assert bells.destroyed == [1]
