"""A stop at every write event of everything that writes, one by one.

The audit events of Python itself say where something is about to be opened for
writing, renamed, removed or made; the process is killed there, or Ctrl-C pressed, or
the operation fails.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from loopsolver.files import write_whole
from loopsolver.workshop.exchange import NOTE
from loopsolver.workshop.folder import LIST_NAME
from tests.contract.killed import State
from tests.contract.killed_cases import NEW, OLD
from tests.full import IS_FULL, only_in_full

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True, kw_only=True)
class Stopped:
    """What lay there after a stop at an event, and after the next command had begun."""

    how: str
    event: str
    left: State
    mended: State


@dataclass(frozen=True, kw_only=True)
class Story:
    """What lay there before, when nothing stopped the call, and after each stop."""

    before: State
    done: State
    stops: tuple[Stopped, ...]


def story(name: str, hows: str, folder: Path) -> Story:
    done = subprocess.run(
        [sys.executable, "-m", "tests.contract.killed", name, hows, folder / "folder"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    first, *rows = [
        json.loads(line) for line in done.stdout.splitlines() if line.startswith("[")
    ]
    rows = [
        Stopped(how=row[0], event=row[1], left=files(row[2]), mended=files(row[3]))
        for row in rows
    ]
    (whole,) = {json.dumps(row.left) for row in rows if not row.event}
    return Story(
        before=files(first[2]),
        done=json.loads(whole),
        stops=tuple(row for row in rows if row.event),
    )


def files(found: State) -> State:
    return {name: value for name, value in found.items() if value != "folder"}


def shown(found: State) -> State:
    """What a person sees who opens the folder."""
    return {
        name: value
        for name, value in found.items()
        if not any(part.startswith(".") for part in Path(name).parts)
    }


def sums(contents: dict[str, bytes]) -> State:
    return {
        f"out/{name}": hashlib.sha256(content).hexdigest()
        for name, content in contents.items()
    }


def assert_never_both(found: State, old: State, new: State) -> None:
    """Every sheet is old or new, none of either beside one of the other."""
    note = f"out/{NOTE}"
    changing = {name for name in old | new if old.get(name) != new.get(name)}
    there = {name: found[name] for name in shown(found) if name in changing}
    assert set(shown(found)) <= set(old) | set(new) | {note}
    is_old = [name for name in there if there[name] == old.get(name)]
    is_new = [name for name in there if there[name] == new.get(name)]
    assert len(is_old) + len(is_new) == len(there)
    assert not is_old or not is_new
    staying = set(old) - changing
    assert {name: found.get(name) for name in staying} == {
        name: old[name] for name in staying
    }
    if shown(found) not in (old, new):
        assert note in found, "some are missing and nothing says so"


B = {"b.pdf": OLD["b.pdf"], "b-plane-1.svg": OLD["b-plane-1.svg"]}
SETS = {
    "fresh": NEW["fresh"],
    "one run": {**NEW["one run"], **B},
    "mirrored": {**NEW["mirrored"], **B},
    "forced": NEW["forced"],
}
"""The sheets that must lie there afterwards: the new set, and other runs' as they were."""


@pytest.mark.parametrize("name", SETS)
def test_sheets_are_all_old_or_all_new_wherever_it_stops(
    name: str, tmp_path: Path
) -> None:
    hows = ["kill", "stop", "fail", *(["kill again"] if IS_FULL else [])]
    told = story(name, ", ".join(hows), tmp_path)
    new = sums(SETS[name])
    if name != "fresh":
        new["out/notes.txt"] = hashlib.sha256(b"mine").hexdigest()
    assert {k: v for k, v in told.done.items() if k != f"out/{LIST_NAME}"} == new
    for stop in told.stops:
        assert_never_both(stop.left, told.before, told.done)
        assert stop.mended in (told.before, told.done), stop
        if not stop.how.startswith("kill"):  # it could put things in order itself
            assert shown(stop.left) in (told.before, told.done), stop
    for how in ("kill", "stop", "fail"):
        is_new = [stop.mended == told.done for stop in told.stops if stop.how == how]
        assert len(is_new) > 3 * len(NEW[name])
        assert is_new == sorted(is_new), "once the new set is decided on, it stays"
        assert len(set(is_new)) == 2


@pytest.mark.parametrize("name", ["plan.json", "view.png"])
def test_a_file_is_old_or_new_and_leftovers_are_swept(
    name: str, tmp_path: Path
) -> None:
    told = story(name, "kill, stop, fail, kill again", tmp_path)
    keys = {name, ".loopsolver-notes.part"}  # the latter is nobody's leftover
    assert set(told.before) == set(told.done) == keys
    for stop in told.stops:
        assert stop.left[name] in (told.before[name], told.done[name])
        assert stop.mended[name] == stop.left[name]
        assert set(stop.mended) == keys | {f"next{Path(name).suffix}"}
        if stop.how != "fail" and stop.event == "os.rename":
            assert stop.left[name] == told.before[name]
    assert {stop.event for stop in told.stops} >= {"open", "os.rename"}


@pytest.mark.parametrize("whose", ["own", "parent's", "the system's"])
def test_what_a_living_process_writes_is_not_swept(tmp_path: Path, whose: str) -> None:
    """Its own number is the exception: nothing else can be writing under it."""
    number = {"own": os.getpid(), "parent's": os.getppid(), "the system's": 1}[whose]
    part = tmp_path / f".loopsolver-{number}.part"
    part.write_text("half")
    write_whole(tmp_path / "plan.json", b"{}")
    assert part.exists() == (whose != "own")


@only_in_full
@pytest.mark.parametrize(
    "name",
    ["sheets", "sheets again", "sheets, one run", "sheets, mirrored"],
)
def test_whole_sheets_commands_killed(name: str, tmp_path: Path) -> None:
    told = story(name, "kill", tmp_path)
    assert len(told.stops) > 12
    for stop in told.stops:
        assert_never_both(stop.left, told.before, told.done)
        assert stop.mended == told.done, stop


@only_in_full
@pytest.mark.parametrize("name", ["new", "route", "view"])
def test_whole_commands_killed(name: str, tmp_path: Path) -> None:
    told = story(name, "kill", tmp_path)
    assert len(told.stops) >= 3
    for stop in told.stops:
        assert shown(stop.left) in (told.before, told.done)
        assert stop.mended == told.done, stop
