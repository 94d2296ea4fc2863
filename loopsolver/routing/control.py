"""What whoever asks for a search has to say: how hard it tries, when it ends, who hears."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, replace
from typing import Final, Literal

from loopsolver.routing.effort import USUAL, Effort
from loopsolver.routing.problem import Candidate

Ended = Literal["done", "time", "stopped", "stopped early"]
"""How a search ended: nothing more was to be gained, its time was over, or the user
stopped it: among rounds, or early, before every run was routed alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunStarted:
    """A run is going to be routed alone: the so manieth from 1, of so many."""

    name: str
    number: int
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRouted:
    """A run is routed alone: its candidates, in the order in which they were found."""

    name: str
    candidates: tuple[Candidate, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundDone:
    """The first choice for the loop is made, or a round of routing again is over.

    Attributes
    ----------
    rounds : int
        How many rounds there were; none after the first choice.
    best : tuple of Candidate
        Those that are best so far.
    """

    rounds: int
    best: tuple[Candidate, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Explaining:
    """It is going to be looked into why a run is not in the loop."""

    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TakingApart:
    """A loop is going to be taken apart with these parts loose."""

    loose: tuple[str, ...]


Event = RunStarted | RunRouted | RoundDone | Explaining | TakingApart
"""How far a search is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """How hard a search tries, what it asks between its steps, and whom it tells.

    Attributes
    ----------
    deadline : float
        When the search must be over, on the clock of `time.monotonic` [s].
    stopped : callable
        Whether the user wants it to end now. Once it says so it goes on to. The search
        then returns what it has.
    tell : callable
        Told of each event.
    effort : Effort
    jobs : int
        Over how many cores it may go.
    """

    deadline: float = math.inf
    stopped: Callable[[], bool] = lambda: False
    tell: Callable[[Event], None] = lambda _: None
    effort: Effort = USUAL
    jobs: int = 1

    @property
    def ending(self) -> Literal["stopped", "time"] | None:
        """What ends the search now; None where it may go on."""
        if self.stopped():
            return "stopped"
        return "time" if time.monotonic() >= self.deadline else None

    def within(self, seconds: float) -> Control:
        """Return a control whose deadline is so many seconds from now, or its own [s]."""
        return replace(self, deadline=min(self.deadline, time.monotonic() + seconds))

    def is_over(self) -> bool:
        """Whether the search has to end now."""
        return self.ending is not None

    @property
    def seconds_left(self) -> float:
        """How much of the time is left; none below 0 [s]."""
        return max(self.deadline - time.monotonic(), 0.0)

    @contextmanager
    def timed(self) -> Iterator[None]:
        """Leave what is done within as soon as `heed_time` is asked after the deadline."""
        before = _deadline.set(self.deadline)
        try:
            yield
        except _TimeIsUp:
            pass
        finally:
            _deadline.reset(before)


class _TimeIsUp(Exception):  # noqa: N818
    """Raised deep in a search, caught by who knows what to do without its result."""


_deadline: ContextVar[float] = ContextVar("deadline", default=math.inf)


def heed_time() -> None:
    """Leave the search where its time is up; asked wherever a search takes long.

    A search is a function of its problem alone, so that it need not be told of clocks:
    either all of its result is there or nothing of it.
    """
    if time.monotonic() >= _deadline.get():
        raise _TimeIsUp


UNATTENDED: Final = Control()
"""Nobody waits: the search ends by itself."""
