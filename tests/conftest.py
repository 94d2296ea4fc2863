"""What holds for all tests: the same cases every time, and a table of what is measured."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from tests.interleaved import Measured, Pair, forget

# The same suite gives the same result, on slow machines too.
settings.register_profile(
    "the same every time", derandomize=True, deadline=None, database=None
)
settings.load_profile("the same every time")


@pytest.fixture(scope="session", autouse=True)
def _no_clock_ends_a_search() -> None:
    """Let rounds end by what they find: time is short where much else is going on."""
    from loopsolver.plan import composing
    from loopsolver.report import planning
    from loopsolver.routing.loop import solving

    for search in (
        solving.solve_loop,
        solving.solve_any_order,
        composing.planned_scene,
        planning.route_scene,
    ):
        assert search.__kwdefaults__ is not None
        search.__kwdefaults__["seconds"] = math.inf


@pytest.fixture(autouse=True)
def _nothing_is_remembered() -> None:
    """Let each test search by itself: others may have put faults into the search."""
    forget()


@pytest.fixture
def no_loop_remedies(monkeypatch: pytest.MonkeyPatch) -> None:
    """Seek nothing that would let a whole loop fit: in vain it takes seconds."""
    monkeypatch.setattr(
        "loopsolver.routing.loop.remedies.loop_remedies", lambda *_, **__: None
    )


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return an empty folder, which is the working folder as long as the test runs."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


FOLDER = "LOOPSOLVER_BENCH"
"""Names the variable that asks for the table, and for where its files go."""


@pytest.fixture
def measured(record_property: Callable[[str, object], None]) -> Measured:
    """What was measured, for the table: a pair in turn, and what else is worth a column."""

    def note(what: str, pair: Pair, *, most: float, **more: object) -> None:
        record_property(
            "bench",
            {
                "what": what,
                "names": pair.names,
                "seconds": pair.medians,
                "ratio": pair.ratio,
                "most": float(most),
                "pairs": len(pair.seconds[0]),
                **more,
            },
        )

    return note


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Print the table and write it as text and JSON, where that is asked for."""
    folder = os.environ.get(FOLDER)
    if not folder:
        return
    rows = list(_rows(terminalreporter.stats))
    text = "\n".join(_lines(rows))
    terminalreporter.section("measured: processor time, and how many times longer")
    terminalreporter.write_line(text)
    Path(folder).mkdir(parents=True, exist_ok=True)
    Path(folder, "bench.txt").write_text(f"{text}\n", encoding="utf-8")
    Path(folder, "bench.json").write_text(
        f"{json.dumps(rows, indent=2)}\n", encoding="utf-8"
    )


def _rows(stats: dict[str, list[Any]]) -> Iterator[dict[str, Any]]:
    """Yield a row a pair that was measured, in the order of the tests' names."""
    reports = [
        report
        for outcome in ("passed", "failed")
        for report in stats.get(outcome, [])
        if getattr(report, "when", None) == "call"
    ]
    for report in sorted(reports, key=lambda one: one.nodeid):
        for name, row in report.user_properties:
            if name == "bench":
                yield {"test": report.nodeid, **row}


def _lines(rows: list[dict[str, Any]]) -> Iterator[str]:
    """Yield the table: the two sides of every pair, their ratio and what it is held to."""
    for row in rows:
        sides = ", ".join(
            f"{name} {seconds:.3g} s"
            for name, seconds in zip(row["names"], row["seconds"], strict=True)
        )
        told = {"test", "what", "names", "seconds", "ratio", "most", "pairs"}
        more = "".join(f"; {key} {row[key]}" for key in row if key not in told)
        yield (
            f"{row['what']}: {sides}{more}\n"
            f"    {row['ratio']:.3g} times as long, held to {row['most']:.3g}; "
            f"median of {row['pairs']}"
        )
