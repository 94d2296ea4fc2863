"""What is told while a loop is solved."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from loopsolver.plan import RANKINGS, Progress
from loopsolver.routing.loop.solving import Loop, solve_any_order, solve_loop
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import load_scene
from tests.unit.flat_case import CROSSING
from tests.unit.routing.ring_cases import ring

BY_BENDS = RANKINGS["bends"]
Told = list[tuple[int, list[Candidate]]]


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
    assert told[0][0] == 0
    numbers = [number for number, _ in told]
    assert numbers == sorted(numbers)
    assert numbers[-1] == loop.rounds
    chosen = [run.chosen.candidate for run in loop.runs if run.chosen is not None]
    assert min(worth(best) for _, best in told) == worth(chosen)


def test_the_best_so_far_is_told_after_every_round(crossing: Scene) -> None:
    told: Told = []
    explained: list[str] = []
    progress = Progress(
        improved=lambda rounds, best: told.append((rounds, [*best])),
        explaining=explained.append,
    )
    loop = solve_loop(crossing, crossing.runs, key=BY_BENDS, progress=progress)
    check(told, loop)
    assert loop.rounds > 0
    assert explained == ["right to left"]
    assert [worth(best) for _, best in told] == sorted(
        (worth(best) for _, best in told), reverse=True
    )


def test_rounds_are_counted_on_from_order_to_order() -> None:
    scene = ring(6, parts=3, flow="either")
    parts = [part.name for part in scene.components]
    told: Told = []
    progress = Progress(improved=lambda rounds, best: told.append((rounds, [*best])))
    loop = solve_any_order(scene, parts, key=BY_BENDS, progress=progress)
    check(told, loop)
