"""Ctrl-C while a search runs: noted once, then as it was before."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from types import FrameType

import pytest

from loopsolver.cli.stopping import noted_stop


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
