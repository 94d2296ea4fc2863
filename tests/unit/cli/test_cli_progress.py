"""A bar only where somebody waits at a terminal."""

from __future__ import annotations

import io
import math
import re
import sys
import threading
import time

import pytest

from loopsolver.cli import progress as progress_module
from loopsolver.cli.progress import ProgressLine
from loopsolver.lengths import INCHES, MILLIMETRES, Lengths
from loopsolver.routing.control import Explaining, RoundDone, RunStarted, TakingApart
from tests.builders.plans import candidate


class Terminal(io.StringIO):
    encoding = "utf-8"

    def isatty(self) -> bool:
        return True


PATIENCE = 60.0
"""After so long a test gives up waiting [s]; none that passes waits for it."""


def shown_on(terminal: io.StringIO, words: str) -> None:
    """Wait until a terminal shows some words, which a bar does in its own time."""
    until = time.monotonic() + PATIENCE
    while words not in terminal.getvalue():
        assert time.monotonic() < until, terminal.getvalue()
        time.sleep(0.01)


def route() -> None:
    with ProgressLine(MILLIMETRES) as progress:
        progress.tell(RunStarted(name="pump to card", number=1, count=2))
        progress.tell(RunStarted(name="card to pump", number=2, count=2))


@pytest.fixture(autouse=True)
def _terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr(progress_module, "_PATIENCE", 0.02)


def test_long_work_is_shown_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with ProgressLine(MILLIMETRES) as progress:
        progress.tell(RunStarted(name="pump to card", number=1, count=2))
        shown_on(terminal, "routing pump to card (1 of 2)")


def test_quick_work_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    # Longer than anybody waits: it does not wait for its patience to end.
    monkeypatch.setattr(progress_module, "_PATIENCE", 1e6)
    routing = threading.Thread(target=route, daemon=True)
    routing.start()
    routing.join(PATIENCE)
    assert not routing.is_alive()
    assert terminal.getvalue() == ""


def test_a_pipe_gets_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    pipe = io.StringIO()
    monkeypatch.setattr(sys, "stderr", pipe)
    before = threading.active_count()
    with ProgressLine(MILLIMETRES) as progress:
        progress.tell(RunStarted(name="pump to card", number=1, count=2))
        assert threading.active_count() == before  # nobody waits to show anything
    assert pipe.getvalue() == ""


def test_an_error_takes_the_bar_away_and_goes_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)

    def failing() -> None:
        with ProgressLine(MILLIMETRES) as progress:
            progress.tell(RunStarted(name="pump to card", number=1, count=2))
            shown_on(terminal, "pump to card")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        failing()


# Legs 300 + 200 with one square bend of radius 28, and a straight of 1016.
BEST = (
    candidate((0, 0, 0), (300, 0, 0), (300, 200, 0)),
    candidate((0, 0, 0), (0, 0, 1016)),
)
LENGTH = 300.0 + 200.0 - (2.0 - math.pi / 2.0) * 28.0 + 1016.0


@pytest.mark.parametrize(
    ("lengths", "length"),
    [(MILLIMETRES, f"{LENGTH:.0f} mm"), (INCHES, f"{LENGTH / 25.4:.0f} in")],
)
def test_the_best_so_far_is_shown_and_fits_eighty_columns(
    monkeypatch: pytest.MonkeyPatch, lengths: Lengths, length: str
) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with ProgressLine(lengths) as progress:
        progress.tell(RunStarted(name="pump to card", number=1, count=2))
        shown_on(terminal, "routing pump to card")
        progress.tell(RoundDone(rounds=0, best=BEST[:1]))
        shown_on(terminal, "first choice: ")
        progress.tell(RoundDone(rounds=12, best=BEST))
        shown_on(terminal, "round 12: ")
    shown = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", terminal.getvalue())
    assert "first choice: best so far 1 bend, " in shown
    assert f"round 12: best so far 1 bend, {length} in 2 runs" in shown
    assert max(len(row) for row in re.split(r"[\r\n]+", shown)) <= 80
    assert "\u2026" not in shown  # nothing is cut


def test_the_best_so_far_is_no_concern_of_a_pipe(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pipe = io.StringIO()
    monkeypatch.setattr(sys, "stderr", pipe)
    with ProgressLine(MILLIMETRES) as progress:
        progress.tell(RoundDone(rounds=1, best=BEST))
    assert pipe.getvalue() == ""


def test_what_the_search_tells_is_what_the_bar_shows() -> None:
    progress = ProgressLine(MILLIMETRES)
    progress.tell(RunStarted(name="pump to card", number=2, count=6))
    assert progress.text == "routing pump to card (2 of 6)"
    progress.tell(RoundDone(rounds=3, best=BEST))
    assert progress.text.startswith("round 3: best so far 1 bend, ")
    progress.tell(Explaining(name="card to pump"))
    assert progress.text == "trying what would help card to pump"
    progress.tell(TakingApart(loose=("front", "pump")))
    assert progress.text == "taking the loop apart with front and pump loose"
    progress.tell(TakingApart(loose=()))
    assert progress.text == "taking the loop apart with nothing loose"
