"""Searches in processes, over the cores of the machine: what they find is remembered.

Whoever needs a result asks for it afterwards as ever, so that the answer is the same
over however many cores. Processes are started only where the work is worth it.
"""

from __future__ import annotations

import os
import signal
import threading
import time
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from multiprocessing import get_all_start_methods, get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Final

from loopsolver.routing.control import Control
from loopsolver.routing.problem import Found
from loopsolver.routing.solve import Task, is_known, remember, searched

LOOK: Final = 0.1
"""How long it is waited before the control is asked again [s]."""

ALIVE: Final = 0.5
"""How often a process looks whether who started it is still there [s]."""

START: Final = 0.2 if "fork" in get_all_start_methods() else 3.0
"""What it takes to start processes, which the work must be worth twice [s]."""


def search_ahead(tasks: Sequence[Task], control: Control) -> None:
    """Search what will be asked for, over as many cores as the control allows.

    The first search tells how long they take: processes are started for the others where
    that is worth it. Once the search is over they are ended, whatever they do.

    Parameters
    ----------
    tasks : sequence of Task
        Those not known yet are searched.
    control : Control
    """
    new = [task for task in dict.fromkeys(tasks) if not is_known(task)]
    if min(control.jobs, len(new) - 1) < 2:
        return
    begun = time.perf_counter()
    with control.timed():
        searched(*new.pop(0))
    if len(new) * (time.perf_counter() - begun) < 2.0 * START:
        return
    for task, found in _found(new, control):
        remember(task, found)


def _found(tasks: Sequence[Task], control: Control) -> Iterator[tuple[Task, Found]]:
    """Yield what processes find, as it comes; a search that fails is left out."""
    left = list(range(len(tasks)))[::-1]
    with _workers(tasks, min(control.jobs, len(tasks))) as pipes:
        for pipe in pipes:
            pipe.send(left.pop())
        busy = set(pipes)
        while busy and not control.is_over():
            ready = wait(list(busy), LOOK)
            for pipe in [one for one in pipes if one in busy and one in ready]:
                try:
                    number, found = pipe.recv()
                except EOFError:
                    busy.discard(pipe)
                    continue
                if found is not None:
                    yield tasks[number], found
                if left:
                    pipe.send(left.pop())
                else:
                    busy.discard(pipe)


@contextmanager
def _workers(tasks: Sequence[Task], count: int) -> Iterator[list[Connection]]:
    """Start processes that search tasks by number, and end them all afterwards."""
    is_quick = START < 1.0
    context = get_context("fork") if is_quick else get_context("spawn")
    workers: list[BaseProcess] = []
    pipes: list[Connection] = []
    try:
        for _ in range(count):
            pipe, other = context.Pipe()
            worker = context.Process(
                target=_work, args=(other, tasks, os.getpid()), daemon=True
            )
            with warnings.catch_warnings():
                # No thread of ours holds a lock that a search needs.
                warnings.simplefilter("ignore", DeprecationWarning)
                worker.start()
            other.close()
            workers.append(worker)
            pipes.append(pipe)
        yield pipes
    finally:
        for one in workers:
            one.kill()
        for one, pipe in zip(workers, pipes, strict=True):
            one.join()
            pipe.close()


def _work(pipe: Connection, tasks: Sequence[Task], parent: int) -> None:
    """Search what is asked for by number, until nobody is there to ask."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for who started it
    threading.Thread(target=_leave_without, args=(parent,), daemon=True).start()
    with suppress(EOFError, OSError):
        while True:
            number = pipe.recv()
            found = None
            with suppress(Exception):  # it is met again by who asks for the result
                found = searched(*tasks[number])
            pipe.send((number, found))


def _leave_without(parent: int) -> None:
    """End this process once the one that started it is gone."""
    while os.getppid() == parent:
        time.sleep(ALIVE)
    os._exit(1)
