"""`route --seconds` bounds the whole search: what is there by then is written.

No clock is raced: the clock that the search looks at is the test's own.
"""

import json
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from loopsolver.cli.main import main
from loopsolver.cli.progress import ProgressLine
from loopsolver.cli.route import search_ends
from loopsolver.routing.control import (
    Control,
    Event,
    Explaining,
    RoundDone,
    heed_time,
)
from tests.builders.flat_case import CROSSING
from tests.commands import SCENES
from tests.full import few_or_all


class Clock:
    """A clock that goes on by a step each time somebody looks at it."""

    def __init__(self, step: float) -> None:
        self.step, self.now = step, 0.0

    def __call__(self) -> float:
        self.now += self.step
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[float], Clock]:
    def set_to(step: float) -> Clock:
        found = Clock(step)
        monkeypatch.setattr(time, "monotonic", found)
        return found

    return set_to


def test_what_takes_too_long_is_left_and_nothing_else(
    clock: Callable[[float], Clock],
) -> None:
    clock(1.0)
    done = []
    with Control(deadline=4.5).timed():
        for number in range(9):
            heed_time()
            done.append(number)
    assert done == [0, 1, 2, 3]  # the fifth look at the clock is after 4.5
    heed_time()  # nobody waits any more
    with pytest.raises(ZeroDivisionError), Control().timed():
        _ = 1 / 0


@pytest.mark.parametrize("looks", [1, 20, 60, 150])
def test_a_run_that_was_not_reached_says_so(
    looks: int,
    here: Path,
    clock: Callable[[float], Clock],
    capsys: pytest.CaptureFixture[str],
) -> None:
    """However early the time is up: a plan of all runs, each with a tube or a reason."""
    found = clock(1.0)
    status = main(["route", str(SCENES / "wren.toml"), "--seconds", str(looks)])
    printed = capsys.readouterr()
    assert "Traceback" not in printed.err
    plan = json.loads((here / "wren.plan.json").read_text(encoding="utf-8"))
    assert plan["loop"]["ended"] == "time"
    lacking = [run for run in plan["runs"] if run["chosen"] is None]
    assert status == (3 if lacking else 0)
    assert all(run["why"] for run in lacking)
    assert looks > 1 or len(lacking) == len(plan["runs"])
    # Hardly anything is begun once the time is up: the clock is looked at a few times.
    assert found.now - looks < 60


@pytest.mark.parametrize("looks", [1, 40])
def test_a_loop_of_any_order_that_was_not_reached_says_so(
    looks: int,
    here: Path,
    clock: Callable[[float], Clock],
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Also where it is known what tubes cost at least, and none is laid yet."""
    text = (SCENES / "heron.toml").read_text(encoding="utf-8")
    parts = text[: text.index("[[runs]]")]
    (here / "any.toml").write_text(f'{parts}[loop]\norder = "any"\n', encoding="utf-8")
    clock(1.0)
    line = ["route", "any.toml", "--jobs", "1", "--seconds", str(looks)]
    assert main(["--traceback", *line]) == 3
    assert "Traceback" not in capsys.readouterr().err
    plan = json.loads((here / "any.plan.json").read_text(encoding="utf-8"))
    assert plan["loop"]["ended"] == "time"
    assert any(run["chosen"] is None and run["why"] for run in plan["runs"])


def test_the_time_is_counted_from_the_start_of_the_command(
    here: Path, clock: Callable[[float], Clock], capsys: pytest.CaptureFixture[str]
) -> None:
    """What starting took is gone: of 50 s all, so that nothing is searched any more."""
    found = clock(0.0)
    found.now = 1000.0
    line = ["route", str(SCENES / "wren.toml"), "--jobs", "1", "--seconds", "50"]
    for begun, is_over in ((950.0, True), (951.0, True), (999.0, False), (None, False)):
        status = main(line, begun=begun)
        plan = json.loads((here / "wren.plan.json").read_text(encoding="utf-8"))
        assert (plan["loop"]["ended"] == "time") == is_over, begun
        assert status == (3 if is_over else 0)
    capsys.readouterr()


@pytest.mark.parametrize(
    ("read", "seconds", "left"),
    [
        (2.0, 300.0, 297.0),  # half of what it took to read is left to write
        (2.0, 10.0, 7.5),  # but of little time a twentieth
        (0.0, 10.0, 10.0),
        (0.4, 0.0, -0.4),
    ],
)
def test_some_time_is_left_to_write(
    read: float, seconds: float, left: float, clock: Callable[[float], Clock]
) -> None:
    clock(0.0).now = 100.0 + read
    assert search_ends(100.0, seconds) == pytest.approx(100.0 + read + left)


@pytest.mark.parametrize(
    "name", few_or_all(["right to left"], ["right to left", "the loop as a whole"])
)
def test_what_would_help_is_not_looked_for_when_the_time_is_up(
    name: str,
    here: Path,
    clock: Callable[[float], Clock],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The time is up as soon as it is looked into what would help, of one run or of all."""
    found = clock(0.0)
    looks: list[float] = []

    def told(line: ProgressLine, event: Event) -> None:
        if isinstance(event, Explaining) and event.name == name:
            found.step, found.now = 1.0, 1000.0
            looks.append(found.now)

    monkeypatch.setattr(ProgressLine, "tell", told)
    (here / "crossing.toml").write_text(CROSSING, encoding="utf-8")
    assert main(["route", "crossing.toml", "--jobs", "1", "--seconds", "999"]) == 3
    assert looks
    plan = json.loads((here / "crossing.plan.json").read_text(encoding="utf-8"))
    (out,) = (run for run in plan["runs"] if run["chosen"] is None)
    assert out["why"]
    assert "would_fit" not in plan["loop"]
    assert "the search had ended" in capsys.readouterr().out
    assert found.now - looks[0] < 60


def test_whether_it_goes_together_is_not_looked_into_when_the_time_is_up(
    here: Path,
    clock: Callable[[float], Clock],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The time is up once there is a first choice for the loop."""
    found = clock(0.0)

    def told(line: ProgressLine, event: Event) -> None:
        if isinstance(event, RoundDone):
            found.now = 1000.0

    monkeypatch.setattr(ProgressLine, "tell", told)
    text = (SCENES / "wren.toml").read_text(encoding="utf-8")
    movable = '\n[assembly]\nmovable = ["block"]\n'
    (here / "loose.toml").write_text(text + movable, encoding="utf-8")
    assert main(["route", "loose.toml", "--jobs", "1", "--seconds", "999"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "No time was left to see whether it goes together" in said
    assert "in this order" not in said
