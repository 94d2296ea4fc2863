"""How far the routing is, on a terminal, once it takes long enough to wonder."""

from __future__ import annotations

import sys
import threading
from types import TracebackType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from rich.progress import Progress as Bar
    from rich.progress import TaskID

_PATIENCE: Final = 0.5
"""Work that is done sooner shows nothing [s]."""


class Progress:
    """A bar on standard error, gone when the work is done; nothing off a terminal.

    Called before each run with its name, its number and how many there are.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._bar: Bar | None = None
        self._task: TaskID | None = None
        self._now = ("", 1, 1)
        self._timer: threading.Timer | None = None

    def __enter__(self) -> Progress:
        """Start to wait for work that takes long."""
        if sys.stderr is not None and sys.stderr.isatty():
            self._timer = threading.Timer(_PATIENCE, self._appear)
            self._timer.daemon = True
            self._timer.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Take the bar away."""
        if self._timer is None:
            return
        self._timer.cancel()
        self._timer.join()
        with self._lock:
            if self._bar is not None:
                self._bar.stop()

    def __call__(self, name: str, number: int, total: int) -> None:
        """Show that this run is being routed now."""
        with self._lock:
            self._now = (name, number, total)
            if self._bar is not None and self._task is not None:
                text, done, total = self._shown()
                self._bar.update(
                    self._task, description=text, completed=done, total=total
                )

    def _shown(self) -> tuple[str, int, int]:
        name, number, total = self._now
        return f"routing {name} ({number} of {total})", number - 1, total

    def _appear(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, TextColumn, TimeElapsedColumn
        from rich.progress import Progress as Bar

        with self._lock:
            bar = Bar(
                TextColumn("{task.description}", markup=False),
                BarColumn(bar_width=20),
                TimeElapsedColumn(),
                console=Console(stderr=True, highlight=False),
                transient=True,
            )
            self._bar = bar
            text, done, total = self._shown()
            self._task = bar.add_task(text, completed=done, total=total)
            bar.start()
