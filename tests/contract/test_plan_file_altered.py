"""A plan that was altered is refused, or prints what it printed before.

Every value is changed in turn, and every pair of like keys exchanged, one alteration at a
time. The suite takes 300 of them; ``LOOPSOLVER_FULL=1`` takes 5,000.

What no scene can tell is left out of an altered plan: so it may also print what the same
plan prints when nothing but its sum is taken away.
"""

from __future__ import annotations

import copy
import itertools
import json
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final

import pytest

from loopsolver.cli.main import main
from tests.builders.flat_case import CROSSING
from tests.contract.mixed_case import SCENE as MIXED
from tests.full import IS_FULL

SHARES: Final = 100 if IS_FULL else 10
"""Into so many tests the alterations are cut, each of some seconds."""

EACH: Final = 50 if IS_FULL else 30
"""Alterations a test."""

KEPT: Final = ("bends", "compare")
"""The commands whose output is held."""

Place = tuple[int | str, ...]
Alteration = tuple[str, Callable[[Any], None]]
Outcome = tuple[int, str]


@dataclass(frozen=True, kw_only=True)
class Original:
    """A plan with what the commands print of it, whole and without its sum."""

    path: Path
    content: dict[str, Any]
    printed: dict[str, tuple[Outcome, Outcome]]


def places(value: Any, here: Place = ()) -> Iterator[Place]:
    """Yield every place in a JSON value but the root."""
    if here:
        yield here
    keys: Any = ()
    if isinstance(value, dict):
        keys = value.keys()
    elif isinstance(value, list):
        keys = range(len(value))
    for key in keys:
        yield from places(value[key], (*here, key))


def at(content: Any, place: Place) -> Any:
    for key in place:
        content = content[key]
    return content


def put(content: Any, place: Place, value: Any) -> None:
    at(content, place[:-1])[place[-1]] = value


def put_copy(content: Any, *, place: Place, value: Any) -> None:
    put(content, place, copy.deepcopy(value))


def others(value: Any) -> tuple[Any, ...]:
    """Return values that may stand for another one by a slip."""
    if isinstance(value, bool):
        return (not value,)
    if isinstance(value, int):
        return (value + 1, value - 1, 0)
    if isinstance(value, float):
        return (value + 1.0, value - 10.0, 1.01 * value, -value, 0.0, value + 0.002)
    if isinstance(value, str):
        return (f"{value}x", value[:-1], "")
    if value is None:
        return (1, "why")
    return ()


def changes(content: Any) -> Iterator[Alteration]:
    """Yield every value changed in turn."""
    for place in places(content):
        for value in others(at(content, place)):
            if place[-1] != "chosen":
                yield (
                    f"{place} = {value!r}",
                    partial(put_copy, place=place, value=value),
                )


def exchanges(content: Any, *, deepest: int = 99) -> Iterator[Alteration]:
    """Yield every pair of like keys exchanged: both of one name, or in one list."""
    like: dict[tuple[Any, ...], list[Place]] = {}
    for place in places(content):
        is_listed = isinstance(place[-1], int)
        key = (len(place), place[-2] if is_listed else place[-1], is_listed)
        if len(place) <= deepest:
            like.setdefault(key, []).append(place)
    for group in like.values():
        for one, other in itertools.combinations(group, 2):
            if one[-1] == "chosen" or at(content, one) == at(content, other):
                continue

            def exchange(altered: Any, one: Place = one, other: Place = other) -> None:
                first, second = at(altered, one), at(altered, other)
                put(altered, one, second)
                put(altered, other, first)

            yield f"{one} and {other} exchanged", exchange


@pytest.fixture(scope="module")
def originals(tmp_path_factory: pytest.TempPathFactory) -> tuple[Original, ...]:
    """The plans that are altered: one with all there is, one with a run left out."""
    return tuple(
        original(tmp_path_factory.mktemp(name), text)
        for name, text in (("mixed", MIXED), ("crossing", CROSSING))
    )


def original(folder: Path, scene: str) -> Original:
    file, path = folder / "case.toml", folder / "case.plan.json"
    file.write_text(scene, encoding="utf-8")
    assert main(["route", str(file), "-o", str(path)]) in {0, 3}
    content = json.loads(path.read_text("utf-8"))
    bare = {key: value for key, value in content.items() if key != "sum"}
    printed = {}
    for command in KEPT:
        whole = outcome(path, content, command)
        printed[command] = (whole, outcome(path, bare, command))
        assert whole[1]
    return Original(path=path, content=content, printed=printed)


def outcome(path: Path, content: Any, command: str) -> Outcome:
    """Return the exit status of a command on a plan, and what it printed."""
    import contextlib
    import io

    path.write_text(json.dumps(content), encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main([command, str(path)])
    assert "Traceback" not in err.getvalue()
    return status, out.getvalue()


def picked(every: list[Alteration], count: int, seed: int) -> list[Alteration]:
    """Return some of the alterations, the same ones each time."""
    return random.Random(seed).sample(every, min(count, len(every)))


def wrongly_printed(plan: Original, alterations: list[Alteration]) -> list[str]:
    """Return which alterations are neither refused nor without effect, by command."""
    wrong = []
    for name, alter in alterations:
        altered = copy.deepcopy(plan.content)
        alter(altered)
        for command, allowed in plan.printed.items():
            found = outcome(plan.path, altered, command)
            if found != (2, "") and found not in allowed:
                wrong.append(f"{command} after {name}: status {found[0]}")
    return wrong


@pytest.mark.parametrize("share", range(SHARES))
def test_an_altered_plan_is_refused_or_prints_the_same(
    share: int, originals: tuple[Original, ...]
) -> None:
    for plan in originals:
        some = [
            *picked(list(changes(plan.content)), EACH // 4 + 1, share),
            *picked(list(exchanges(plan.content)), EACH // 4 + 1, share),
        ]
        assert wrongly_printed(plan, some) == []


def test_runs_and_candidates_exchanged_as_a_whole(
    originals: tuple[Original, ...],
) -> None:
    for plan in originals:
        whole = list(exchanges(plan.content, deepest=4))
        assert wrongly_printed(plan, whole) == []


def test_without_its_sum_a_plan_says_less_and_nothing_else(
    originals: tuple[Original, ...],
) -> None:
    for plan in originals:
        for whole, bare in plan.printed.values():
            assert whole[0] == bare[0]
        tables = [text.partition("the loop:")[0] for _, text in plan.printed["compare"]]
        lines = [set(text.splitlines()) for text in tables]
        if "left out" not in plan.printed["compare"][0][1]:
            assert lines[0] == lines[1]
        for word in ("proven", "rounds", "routes found"):
            assert word not in plan.printed["compare"][1][1]
