"""Ctrl-C while a loop is solved: what has been found by then is kept, and said to be."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from loopsolver.plan import RANKINGS
from loopsolver.report.planning import route_scene
from loopsolver.routing.loop import parallel_search, solving
from loopsolver.routing.loop.route_pool import clash_table
from loopsolver.routing.loop.router import Router
from loopsolver.routing.loop.set_packing import SetPacking
from loopsolver.routing.loop.solving import Loop, solve_any_order, solve_loop
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import load_scene
from tests.unit.flat_case import CROSSING, ONE_ACROSS_TWO, flat_case
from tests.unit.routing.ring_cases import ring

BY_BENDS = RANKINGS["bends"]


@pytest.fixture
def crossing(tmp_path: Path) -> Scene:
    """Two runs of which only one can be laid."""
    path = tmp_path / "crossing.toml"
    path.write_text(CROSSING, encoding="utf-8")
    return load_scene(path)


@pytest.fixture
def side_by_side(tmp_path: Path) -> Scene:
    """Two runs that keep clear of each other."""
    path = tmp_path / "beside.toml"
    text = flat_case([("one", 40.0, 60.0), ("two", 200.0, 120.0)], width=240.0)
    path.write_text(text, encoding="utf-8")
    return load_scene(path)


Stop = Callable[[Any, str, int], None]


@pytest.fixture
def stop(monkeypatch: pytest.MonkeyPatch) -> Stop:
    """Lets a function raise as Ctrl-C does, from its so manieth call on, once."""

    def stop_at(owner: Any, name: str, number: int) -> None:
        real = getattr(owner, name)
        calls: Iterator[int] = iter(range(1, 10**6))

        def wrapped(*args: Any, **options: Any) -> Any:
            if next(calls) == number:
                raise KeyboardInterrupt
            return real(*args, **options)

        monkeypatch.setattr(owner, name, wrapped)

    return stop_at


def solved(scene: Scene) -> Loop:
    return solve_loop(scene, scene.runs, key=BY_BENDS)


def fit(loop: Loop, scene: Scene) -> bool:
    routes = [run.chosen for run in loop.runs if run.chosen is not None]
    return not any(
        clash_table(
            [one],
            [two],
            tube_radius=scene.tube.radius,
            clearance=scene.rules.clearance,
        ).any()
        for one, two in combinations(routes, 2)
    )


def test_left_alone_it_is_done(crossing: Scene) -> None:
    assert solved(crossing).ended == "done"


def test_no_time_is_not_a_stop(crossing: Scene) -> None:
    loop = solve_loop(crossing, crossing.runs, key=BY_BENDS, seconds=0.0)
    assert loop.ended == "time"
    assert loop.is_cut_short


def test_in_a_round_the_choice_before_it_is_kept(crossing: Scene, stop: Stop) -> None:
    stop(Router, "beside", 1)
    loop = solved(crossing)
    assert loop.ended == "stopped"
    assert [run.chosen is None for run in loop.runs] == [False, True]
    why = loop.runs[1].why
    assert why is not None
    assert "'left to right'" in why  # who is in the way is known at once
    assert "not tried: the search was stopped" in why
    assert [met.run for met in loop.runs[1].in_the_way] == ["left to right"]


def test_in_the_first_choice_runs_are_taken_in_turn(
    crossing: Scene, side_by_side: Scene, stop: Stop
) -> None:
    stop(SetPacking, "best", 1)
    loop = solved(crossing)
    assert (loop.ended, loop.is_proven) == ("stopped", False)
    assert [run.chosen is None for run in loop.runs] == [False, True]
    stop(SetPacking, "best", 1)
    loop = solved(side_by_side)
    assert (loop.ended, loop.is_proven) == ("stopped", False)
    assert all(run.chosen for run in loop.runs)
    assert fit(loop, side_by_side)


def test_in_the_first_choice_what_is_kept_comes_first(
    tmp_path: Path, stop: Stop
) -> None:
    path = tmp_path / "across.toml"
    path.write_text(ONE_ACROSS_TWO, encoding="utf-8")
    scene = load_scene(path)
    two = route_scene(scene, runs=["two"]).run("two").chosen_candidate
    assert two is not None
    stop(SetPacking, "best", 1)
    loop = solve_loop(scene, scene.runs, key=BY_BENDS, kept={"two": two})
    assert loop.ended == "stopped"
    assert [run.chosen is None for run in loop.runs] == [True, False, True]


def test_before_a_run_is_routed_it_says_so_and_the_others_are_kept(
    side_by_side: Scene, stop: Stop
) -> None:
    stop(Router, "alone", 2)
    first, second = (loop := solved(side_by_side)).runs
    assert loop.ended == "stopped early"
    assert first.chosen is not None
    assert (second.alone, second.beside, second.chosen) == ((), (), None)
    assert second.why is not None
    assert "stopped before this run was routed" in second.why


def test_a_kept_candidate_needs_no_routing(side_by_side: Scene, stop: Stop) -> None:
    plan = route_scene(side_by_side)
    kept = plan.run("two").chosen_candidate
    assert kept is not None
    stop(Router, "alone", 2)
    loop = solve_loop(side_by_side, side_by_side.runs, key=BY_BENDS, kept={"two": kept})
    assert loop.ended == "stopped early"
    assert loop.runs[1].chosen is not None
    assert loop.runs[1].chosen.candidate == kept


def test_before_anything_is_routed_there_is_nothing_to_keep(
    crossing: Scene, stop: Stop
) -> None:
    stop(Router, "alone", 1)
    with pytest.raises(KeyboardInterrupt):
        solved(crossing)


def test_while_it_is_tried_what_helps_the_choice_stays(
    crossing: Scene, stop: Stop
) -> None:
    stop(solving, "hindrance", 1)
    loop = solved(crossing)
    assert (loop.ended, loop.is_proven) == ("stopped", True)
    assert [run.chosen is None for run in loop.runs] == [False, True]
    assert loop.runs[1].in_the_way


def test_a_second_one_goes_up(crossing: Scene, stop: Stop) -> None:
    stop(Router, "beside", 1)
    stop(solving, "untried", 1)
    with pytest.raises(KeyboardInterrupt):
        solved(crossing)


def test_a_second_one_after_an_early_one_goes_up(crossing: Scene, stop: Stop) -> None:
    stop(Router, "alone", 2)
    stop(SetPacking, "best", 1)
    with pytest.raises(KeyboardInterrupt):
        solved(crossing)


def test_while_tubes_are_made_parallel_the_choice_stays(
    side_by_side: Scene, stop: Stop
) -> None:
    whole = route_scene(side_by_side)
    assert whole.loop is not None
    assert whole.loop.ended == "done"
    stop(parallel_search, "parallel_routes", 1)
    plan = route_scene(side_by_side)
    assert plan.loop is not None
    assert plan.loop.ended == "stopped"
    assert all(run.chosen for run in plan.runs)


@pytest.mark.parametrize("seed", [2, 6])
def test_among_orders_the_best_order_so_far_is_kept(stop: Stop, seed: int) -> None:
    scene = ring(seed, parts=3, flow="either")
    parts = [part.name for part in scene.components]
    whole = solve_any_order(scene, parts, key=BY_BENDS)
    assert whole.ended == "done"
    # The first order is settled; the stop comes before there is a second one.
    stop(solving.Orders, "next", 2)
    loop = solve_any_order(scene, parts, key=BY_BENDS)
    assert loop.ended == "stopped"
    assert all(run.chosen for run in loop.runs)
    assert fit(loop, scene)
    assert whole.total <= loop.total
    # Other orders can be no better where this one is as good as if tubes could pass
    # through each other.
    assert loop.is_proven == (loop.total == pytest.approx(loop.bound, abs=1e-3))
