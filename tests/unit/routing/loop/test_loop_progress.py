"""What is told while a loop is solved."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from loopsolver.plan import RANKINGS
from loopsolver.routing.control import (
    Control,
    Event,
    Explaining,
    RoundDone,
    RunRouted,
    RunStarted,
)
from loopsolver.routing.loop.neighbourhood import NeighbourhoodSearch
from loopsolver.routing.loop.routed_runs import RoutedRuns
from loopsolver.routing.loop.solving import Loop, solve_any_order, solve_loop
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import load_scene
from tests.builders.flat_case import CROSSING
from tests.builders.ring_cases import ring

BY_BENDS = RANKINGS["bends"]
Told = list[Event]


@pytest.fixture
def crossing(tmp_path: Path) -> Scene:
    path = tmp_path / "crossing.toml"
    path.write_text(CROSSING, encoding="utf-8")
    return load_scene(path)


def worth(best: Sequence[Candidate]) -> tuple[float, ...]:
    """More runs are better, then fewer bends and elbows, then less tube."""
    return (
        -len(best),
        sum(one.bends + one.elbows for one in best),
        round(sum(one.length for one in best), 3),
    )


def check(told: Told, loop: Loop) -> None:
    """The first choice, then rounds in their order; the best of all is what is kept."""
    rounds = [event for event in told if isinstance(event, RoundDone)]
    numbers = [event.rounds for event in rounds]
    assert numbers[0] == 0
    assert numbers == sorted(numbers)
    assert numbers[-1] == loop.rounds
    chosen = [run.chosen.candidate for run in loop.runs if run.chosen is not None]
    assert min(worth(event.best) for event in rounds) == worth(chosen)


def test_the_best_so_far_is_told_after_every_round(crossing: Scene) -> None:
    told: Told = []
    control = Control(tell=told.append)
    loop = solve_loop(crossing, crossing.runs, key=BY_BENDS, control=control)
    check(told, loop)
    assert loop.rounds > 0
    best = [worth(event.best) for event in told if isinstance(event, RoundDone)]
    assert best == sorted(best, reverse=True)
    one, other = (
        RunRouted(
            name=run.request.name,
            candidates=tuple(route.candidate for route in run.alone),
        )
        for run in loop.runs
    )
    assert told == [
        RunStarted(name="left to right", number=1, count=2),
        one,
        RunStarted(name="right to left", number=2, count=2),
        other,
        *(event for event in told if isinstance(event, RoundDone)),
        Explaining(name="right to left"),
    ]


def test_rounds_are_counted_on_after_others(crossing: Scene) -> None:
    told: Told = []
    control = Control(tell=told.append)
    routed = RoutedRuns(crossing, crossing.runs, BY_BENDS)
    search = NeighbourhoodSearch(routed, routed.every_run, control=control)
    rounds = search.search(after=7).rounds
    numbers = [event.rounds for event in told if isinstance(event, RoundDone)]
    assert rounds > 0
    assert (numbers[0], numbers[-1]) == (7, 7 + rounds)


def test_rounds_are_counted_on_from_order_to_order() -> None:
    scene = ring(6, parts=3, flow="either")
    parts = [part.name for part in scene.components]
    told: Told = []
    control = Control(tell=told.append)
    loop = solve_any_order(scene, parts, key=BY_BENDS, control=control)
    check(told, loop)
