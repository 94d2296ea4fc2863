"""A bar only where somebody waits at a terminal."""

from __future__ import annotations

import io
import sys
import time

import pytest

from loopsolver.cli import progress as progress_module
from loopsolver.cli.progress import Progress


class Terminal(io.StringIO):
    encoding = "utf-8"

    def isatty(self) -> bool:
        return True


def route(seconds: float) -> None:
    with Progress() as progress:
        progress("pump to card", 1, 2)
        time.sleep(seconds)
        progress("card to pump", 2, 2)


@pytest.fixture(autouse=True)
def _terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr(progress_module, "_PATIENCE", 0.02)


def test_long_work_is_shown_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    route(1.0)
    assert "routing pump to card (1 of 2)" in terminal.getvalue()


def test_quick_work_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    monkeypatch.setattr(progress_module, "_PATIENCE", 30.0)
    began = time.monotonic()
    route(0.0)
    assert terminal.getvalue() == ""
    assert time.monotonic() - began < 5.0  # it does not wait for its patience to end


def test_a_pipe_gets_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    pipe = io.StringIO()
    monkeypatch.setattr(sys, "stderr", pipe)
    route(0.1)
    assert pipe.getvalue() == ""


def test_an_error_takes_the_bar_away_and_goes_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sys, "stderr", Terminal())

    def failing() -> None:
        with Progress() as progress:
            progress("pump to card", 1, 2)
            time.sleep(0.1)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        failing()
