"""How far a search is, on a terminal, once it takes long enough to wonder."""

from __future__ import annotations

import sys
import threading
from types import TracebackType
from typing import TYPE_CHECKING, Any, Final

from loopsolver.lengths import Lengths
from loopsolver.words import counted, some_of

if TYPE_CHECKING:
    from rich.progress import Progress as Bar
    from rich.progress import TaskID

    from loopsolver.routing.control import Event, RoundDone

_PATIENCE: Final = 0.5
"""Work that is done sooner shows nothing [s]."""


class ProgressLine:
    """A bar on standard error, gone when the work is done; nothing off a terminal.

    It shows which run is routed, then what the best choice for the loop is so far; or what
    is loose while a loop is taken apart.
    """

    def __init__(self, lengths: Lengths) -> None:
        """Make a bar that tells lengths in this way."""
        self._lengths = lengths
        self._lock = threading.Lock()
        self._bar: Bar | None = None
        self._task: TaskID | None = None
        self._shown = _shown("")
        self._timer: threading.Timer | None = None

    def __enter__(self) -> ProgressLine:
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

    @property
    def text(self) -> str:
        """What the bar says now, or would say."""
        return str(self._shown["description"])

    def tell(self, event: Event) -> None:
        """Show how far the search is."""
        from loopsolver.routing.control import (
            Explaining,
            RunRouted,
            RunStarted,
            TakingApart,
        )

        if isinstance(event, RunRouted):
            return
        if isinstance(event, RunStarted):
            text = f"routing {event.name} ({event.number} of {event.count})"
            shown = _shown(text, completed=event.number - 1, total=event.count)
        elif isinstance(event, Explaining):
            shown = _shown(f"trying what would help {event.name}")
        elif isinstance(event, TakingApart):
            loose = some_of(event.loose, most=2) if event.loose else "nothing"
            shown = _shown(f"taking the loop apart with {loose} loose")
        else:
            shown = _shown(self._best_so_far(event))
        with self._lock:
            self._shown = shown
            if self._bar is not None and self._task is not None:
                self._bar.reset(self._task, start=True, **shown)

    def _best_so_far(self, event: RoundDone) -> str:
        """Return what the best choice for the loop is so far, after how many rounds."""
        bends = counted(sum(one.bends for one in event.best), "bend")
        length = self._lengths.rough(sum(one.length for one in event.best))
        after = f"round {event.rounds}" if event.rounds else "first choice"
        runs = counted(len(event.best), "run")
        return f"{after}: best so far {bends}, {length} in {runs}"

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
            self._task = bar.add_task(**self._shown)
            bar.start()


def _shown(
    description: str, *, completed: int = 0, total: int | None = None
) -> dict[str, Any]:
    """Return what a bar shows; `total` is None where nobody knows how much there is."""
    return {"description": description, "completed": completed, "total": total}
