"""The search for tubes in a process of its own, so that the window never waits for it.

The window knocks when there is another scene, which stops the search for the one before;
the search asks for the scene when it is ready to take it. So neither ever waits for the
other to read.
"""

from __future__ import annotations

import signal
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import Any, Final

from loopsolver.plan import Plan
from loopsolver.routing.control import (
    Control,
    Event,
    Explaining,
    RoundDone,
    RunStarted,
)
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Scene
from loopsolver.words import counted

_KNOCK: Final = "another scene"
_READY: Final = "ready"


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubtful:
    """What is doubtful in the scene."""

    doubts: tuple[Doubt, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Failed:
    """The search ended by a fault of its own; `why` is what is known of it."""

    why: str


News = Event | Doubtful | Plan | Failed
"""What the search tells: how far it is, and at last the plan or that there is none."""


def progress_words(news: News) -> str:
    """Return what the search is at; nothing where the news do not say."""
    match news:
        case RunStarted(name=name, number=number, count=count):
            return f"routing {name} ({number} of {count})"
        case RoundDone(rounds=rounds, best=best):
            runs = counted(len(best), "run")
            return f"best so far for {runs}, after {counted(rounds, 'round')}"
        case Explaining(name=name):
            return f"trying what would help {name}"
    return ""


class SearchProcess:
    """The search, as the window sees it."""

    def __init__(self) -> None:
        """Start the process, which has much to load."""
        self._number = 0
        self._asked: tuple[Scene, dict[str, Any]] | None = None
        self._start()

    def _start(self) -> None:
        context = get_context("spawn")
        self._pipe, other = context.Pipe()
        self._process = context.Process(target=_serve, args=(other,), daemon=True)
        self._process.start()
        other.close()

    def begin(self, scene: Scene, **asked: Any) -> None:
        """Search for the tubes of a scene, instead of those of the one before.

        `asked` is what `route_scene` is asked for beside it.
        """
        self._number += 1
        self._asked = (scene, asked)
        try:
            self._pipe.send(_KNOCK)
        except OSError:  # it has died; another takes its place
            self._start()
            self._pipe.send(_KNOCK)

    def news(self) -> Iterator[News]:
        """Yield what it has told of the scene since it was asked last."""
        try:
            while self._pipe.poll():
                told = self._pipe.recv()
                if told == _READY:
                    self._pipe.send((self._number, self._asked))
                    continue
                number, news = told
                if number == self._number:
                    yield news
        except (EOFError, OSError):
            if self._asked is not None:
                self._asked = None
                yield Failed(why="its process has ended")

    def close(self) -> None:
        """End the process, whatever it does."""
        self._process.terminate()
        self._process.join()
        self._pipe.close()


def _serve(pipe: Connection) -> None:
    """Search for the tubes of one scene after the other, until nobody is there."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the window
    try:
        while True:
            pipe.recv()
            while pipe.poll():
                pipe.recv()
            pipe.send(_READY)
            asked = pipe.recv()
            while asked == _KNOCK:
                asked = pipe.recv()
            number, (scene, wishes) = asked
            for news in _searched(number, scene, wishes, pipe):
                pipe.send((number, news))
    except (EOFError, OSError):
        return


def _searched(
    number: int, scene: Scene, wishes: dict[str, Any], pipe: Connection
) -> Iterator[News]:
    """Yield what comes of a search; nothing more once another scene is there."""
    # Heavy, and of no use to the window, which imports this module as well.
    from loopsolver.report.planning import route_scene
    from loopsolver.scene.doubts import doubts

    control = Control(stopped=pipe.poll, tell=lambda event: pipe.send((number, event)))
    try:
        yield Doubtful(doubts=doubts(scene))
        plan = route_scene(scene, **wishes, control=control)
        if not control.stopped():
            yield plan
    except OSError:
        raise
    except Exception as error:  # whatever it is, the window goes on
        yield Failed(why=f"{type(error).__name__}: {error}")
