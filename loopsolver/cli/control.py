"""Ctrl-C while a search runs: it is noted, and the search asks for it."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def noted_stop() -> Iterator[Callable[[], bool]]:
    """Note the first Ctrl-C, and give what tells whether it came.

    The next one does what it would have done before: it ends the command. Where Ctrl-C
    is ignored, as in a shell's background, it stays so.
    """
    before = signal.getsignal(signal.SIGINT)
    presses: list[int] = []

    def note(number: int, frame: FrameType | None) -> None:
        if presses:
            (before if callable(before) else signal.default_int_handler)(number, frame)
        presses.append(number)

    if before is not signal.SIG_IGN:
        signal.signal(signal.SIGINT, note)
    try:
        yield lambda: bool(presses)
    finally:
        signal.signal(signal.SIGINT, before)
