"""Stops a call at each of its write events, one after the other: what lies there then.

Run as a program, ``python -m tests.contract.killed CASE HOWS FOLDER``: a process of its
own may fork, which one full of threads may not. A line of JSON for every event tells
what lay in the folder after the stop, and what after the next command had begun.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import shutil
import signal
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

State = dict[str, str]
"""What lies in a folder: relative paths, with the SHA-256 of what files hold."""

CHANGES = ("os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.chmod", "os.truncate")
CREATING = os.O_WRONLY | os.O_RDWR | os.O_CREAT


@dataclass(frozen=True, kw_only=True)
class Case:
    """Something that writes to a folder: what was there, the call, what comes next."""

    prepare: Callable[[Path], None]
    call: Callable[[Path], object]
    after: Callable[[Path], object]


def state(folder: Path) -> State:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        if path.is_file()
        else "folder"
        for path in sorted(folder.rglob("*"))
    }


def is_write(event: str, details: tuple[Any, ...], folder: str) -> bool:
    """Return whether an audit event is about to change something in a folder."""
    if event == "open":
        path, _, flags = details
        return isinstance(path, str) and bool(flags & CREATING) and folder in path
    if not event.startswith(CHANGES) and not event.startswith("shutil."):
        return False
    return any(folder in os.fspath(one) for one in details if not isinstance(one, int))


def end(how: str) -> None:
    if how == "kill":
        os.kill(os.getpid(), signal.SIGKILL)
    if how == "stop":
        raise KeyboardInterrupt
    raise OSError(errno.EIO, os.strerror(errno.EIO), "made up")


def in_child(call: Callable[[Path], object], folder: Path, *, how: str, at: int) -> str:
    """Run a call that ends at its `at`-th write event; return the event, or ""."""
    note = folder.with_name("event")
    note.write_text("")
    child = os.fork()
    if child:
        os.waitpid(child, 0)
        return note.read_text()
    seen = 0

    def hook(event: str, details: tuple[Any, ...]) -> None:
        nonlocal seen
        if is_write(event, details, str(folder)):
            seen += 1
            if seen == at:
                note.write_text(event)
                end(how)

    try:
        os.dup2(os.open(folder.with_name("told"), os.O_WRONLY | os.O_CREAT), 2)
        os.dup2(2, 1)
        sys.addaudithook(hook)
        call(folder)
    finally:
        os._exit(0)


def tell(*row: object) -> None:
    sys.stdout.write(json.dumps(row) + "\n")
    sys.stdout.flush()


def results(case: Case, folder: Path, *, how: str) -> None:
    """Print what comes of a stop at every event, and of none at all last.

    With "kill again" the next command is killed as well, at each of its own events.
    """
    before = folder.with_name("before")
    first, _, again = how.partition(" ")
    event, number = "first", 0
    while event:
        number += 1
        second, second_number = again, 0
        while event and (second or not second_number):
            second_number += 1
            shutil.rmtree(folder, ignore_errors=True)
            shutil.copytree(before, folder)
            event = in_child(case.call, folder, how=first, at=number)
            if event and again:
                second = in_child(case.after, folder, how=first, at=second_number)
            left = state(folder)
            if event:
                in_child(case.after, folder, how="", at=0)
            tell(how, event, left, state(folder))


def main() -> None:
    from tests.contract.killed_cases import CASES

    os.fsync = lambda fd: None  # what is killed is a process, not the machine
    name, hows, place = sys.argv[1:]
    folder = Path(place)
    before = folder.with_name("before")
    before.mkdir()
    CASES[name].prepare(before)
    tell("", "", state(before), {})
    for how in hows.split(", "):
        results(CASES[name], folder, how=how)


if __name__ == "__main__":
    main()
