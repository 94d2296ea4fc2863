"""Ctrl-C: while a search runs noted once, then as it was before; else tidied up after."""

from __future__ import annotations

import importlib
import os
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType

import pytest

from loopsolver.cli.stopping import (
    ended_by_the_system,
    forget_late_stop,
    leave_at_once,
    noted_stop,
    tidy_up_in,
)


@pytest.fixture(autouse=True)
def _handler() -> Iterator[None]:
    before = signal.getsignal(signal.SIGINT)
    yield
    signal.signal(signal.SIGINT, before)


def press() -> None:
    signal.raise_signal(signal.SIGINT)


@pytest.fixture
def heard() -> list[int]:
    """Signals that came to whom Ctrl-C belonged before."""
    found: list[int] = []

    def hear(number: int, _frame: FrameType | None) -> None:
        found.append(number)

    signal.signal(signal.SIGINT, hear)
    return found


def test_the_first_is_noted_and_the_next_ones_go_where_they_went(
    heard: list[int],
) -> None:
    with noted_stop() as stopped:
        assert not stopped()
        press()
        assert stopped()
        assert heard == []
        press()
        press()
        assert stopped()
    assert heard == [signal.SIGINT, signal.SIGINT]
    press()
    assert len(heard) == 3


@pytest.mark.parametrize("before", [signal.default_int_handler, signal.SIG_DFL])
def test_the_second_raises_where_python_or_the_system_had_the_key(
    before: signal.Handlers,
) -> None:
    def pressed_twice() -> None:
        with noted_stop():
            press()
            press()

    signal.signal(signal.SIGINT, before)
    with pytest.raises(KeyboardInterrupt):
        pressed_twice()
    assert signal.getsignal(signal.SIGINT) is before


def test_it_stays_ignored_where_it_is() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with noted_stop() as stopped:
        press()
        assert not stopped()
    assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN


def test_each_search_has_presses_of_its_own(heard: list[int]) -> None:
    def pressed_in_one() -> Callable[[], bool]:
        with noted_stop() as stopped:
            press()
        return stopped

    assert pressed_in_one()()
    with noted_stop() as stopped:
        assert not stopped()
    assert heard == []


@pytest.fixture
def left(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Statuses with which the process would have been left at once."""
    statuses: list[int] = []

    def leave(status: int) -> None:
        statuses.append(status)
        raise _Left

    monkeypatch.setattr(os, "_exit", leave)
    return statuses


class _Left(BaseException):
    """Where the process would have ended."""


@pytest.mark.parametrize("ask", [leave_at_once, lambda: tidy_up_in(press.__code__)])
def test_what_is_ignored_stays_so_from_the_start(ask: Callable[[], None]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    ask()
    press()


def test_before_there_is_anything_to_tidy_it_is_left_at_once(left: list[int]) -> None:
    """Status 130 is 128 and the number of the signal, as shells have it."""
    leave_at_once()
    with pytest.raises(_Left):
        press()
    assert left == [130]


def pressed_within() -> None:
    press()


def test_only_within_a_command_it_is_an_exception(left: list[int]) -> None:
    tidy_up_in(pressed_within.__code__)
    with pytest.raises(KeyboardInterrupt):
        pressed_within()
    assert left == []
    with pytest.raises(_Left):
        press()
    assert left == [130]


def pressed_while_importing(folder: Path, name: str) -> int:
    """Return what is imported, Ctrl-C being pressed meanwhile; wait for it to be heard."""
    module = folder / f"{name}.py"
    module.write_text("import signal\nsignal.raise_signal(signal.SIGINT)\ndone = 1\n")
    found = importlib.import_module(name)
    done: int = found.done
    while signal.getitimer(signal.ITIMER_REAL)[0]:
        pass
    return done


@pytest.fixture
def _alarm() -> Iterator[None]:
    before = signal.getsignal(signal.SIGALRM)
    yield
    signal.setitimer(signal.ITIMER_REAL, 0.0)
    signal.signal(signal.SIGALRM, before)


@pytest.mark.usefixtures("_alarm")
def test_an_import_is_let_finish_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(str(tmp_path))
    tidy_up_in(pressed_while_importing.__code__)
    with pytest.raises(KeyboardInterrupt):
        pressed_while_importing(tmp_path, "pressed_meanwhile")
    assert sys.modules["pressed_meanwhile"].done == 1
    del sys.modules["pressed_meanwhile"]


@pytest.mark.usefixtures("_alarm")
def test_what_still_waits_for_an_import_is_dropped_once_all_is_done() -> None:
    signal.signal(signal.SIGALRM, signal.SIG_IGN)
    signal.setitimer(signal.ITIMER_REAL, 3600.0)
    forget_late_stop()
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("before", "within"),
    [
        (signal.default_int_handler, signal.SIG_DFL),
        (signal.SIG_DFL, signal.SIG_DFL),
        (signal.SIG_IGN, signal.SIG_IGN),
    ],
)
def test_a_window_leaves_it_to_the_system_as_long_as_it_is_open(
    before: signal.Handlers, within: signal.Handlers
) -> None:
    signal.signal(signal.SIGINT, before)
    with ended_by_the_system():
        assert signal.getsignal(signal.SIGINT) is within
    assert signal.getsignal(signal.SIGINT) is before
