"""Ctrl-C: a command tidies up after itself, anything else is left at once."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import CodeType, FrameType

_INTERRUPTED = 130
_SOON = 0.002
"""After this long it is looked again whether an import is over [s]."""


def leave_at_once() -> None:
    """Have Ctrl-C end the process with status 130 and no words from now on.

    Unless it is ignored, as in a shell's background.
    """
    if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
        signal.signal(signal.SIGINT, _leave)


def tidy_up_in(code: CodeType) -> None:
    """Have Ctrl-C raise KeyboardInterrupt where `code` is being run, and else leave.

    An import is let finish first: what it imports may turn the exception into another,
    or stay half made.
    """

    def stop(number: int, frame: FrameType | None) -> None:
        if all(one.f_code is not code for one in _frames(frame)):
            _leave(number, frame)
        if _is_importing(frame) and hasattr(signal, "setitimer"):
            signal.setitimer(signal.ITIMER_REAL, _SOON)
        else:
            raise KeyboardInterrupt

    if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
        signal.signal(signal.SIGINT, stop)
        if hasattr(signal, "SIGALRM"):
            signal.signal(signal.SIGALRM, stop)


def forget_late_stop() -> None:
    """Drop a Ctrl-C that still waits for an import; asked once the work is done."""
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, 0.0)


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


@contextmanager
def ended_by_the_system() -> Iterator[None]:
    """Have the system itself end the process at Ctrl-C, where nothing is to tidy up.

    In the event loop of a window Python may not come to handle it for long.
    """
    before = signal.getsignal(signal.SIGINT)
    if before is not signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _leave(_number: int, _frame: FrameType | None) -> None:
    os._exit(_INTERRUPTED)


def _frames(frame: FrameType | None) -> Iterator[FrameType]:
    """Yield a frame and those that called it."""
    while frame is not None:
        yield frame
        frame = frame.f_back


def _is_importing(frame: FrameType | None) -> bool:
    names = (one.f_code.co_filename for one in _frames(frame))
    return any(name.startswith("<frozen importlib") for name in names)
