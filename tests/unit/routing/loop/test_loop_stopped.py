"""A loop that is stopped while it is solved: what has been found by then is kept.

And said to be. Stopped is what the search asks for between its steps: here it is told
so from the so manieth asking on, or from when a function is called.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import combinations, islice, pairwise
from pathlib import Path
from typing import Any, Final

import pytest

from loopsolver.plan import RANKINGS, Plan
from loopsolver.report.planning import route_scene
from loopsolver.routing import solve
from loopsolver.routing.control import Control, Event, RunRouted, RunStarted
from loopsolver.routing.diagnosis import probes
from loopsolver.routing.diagnosis.no_route import NoPlace, NotRouted
from loopsolver.routing.loop import (
    integer_programme,
    parallel_search,
    solving,
)
from loopsolver.routing.loop.orders import Orders
from loopsolver.routing.loop.route_pool import Route, RoutePool, clash_table
from loopsolver.routing.loop.router import Router
from loopsolver.routing.loop.set_packing import SetPacking
from loopsolver.routing.loop.solving import Loop, solve_any_order, solve_loop
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import load_scene
from tests.builders import port_texts as texts
from tests.builders.flat_case import CROSSING, ONE_ACROSS_TWO, flat_case
from tests.builders.ring_cases import ring
from tests.builders.windowed_cases import two_windows
from tests.full import IS_FULL

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


@pytest.fixture
def tall(tmp_path: Path) -> Scene:
    """Two runs that cross, where one tube can be laid over the other."""
    path = tmp_path / "tall.toml"
    text = flat_case([("one", 40.0, 120.0), ("two", 200.0, 60.0)], width=240.0)
    text = text.replace("300, 22]", "300, 80]")
    path.write_text(
        text.replace("max_bends = 4", "max_bends = 5\ncandidates = 1"),
        encoding="utf-8",
    )
    return load_scene(path)


@dataclass
class Asked:
    """Says that the search is stopped from the so manieth asking on."""

    stop_at: float = float("inf")
    times: int = 0

    def __call__(self) -> bool:
        self.times += 1
        return self.times >= self.stop_at

    @property
    def control(self) -> Control:
        return Control(stopped=self)


@dataclass
class Press:
    """Says that the search is stopped from when a function is called."""

    monkeypatch: pytest.MonkeyPatch
    is_pressed: bool = False
    calls: int = field(default=0, init=False)

    def at(self, owner: Any, name: str, number: int) -> Control:
        """A control that is stopped at the so manieth call."""
        real = getattr(owner, name)
        self.is_pressed, self.calls = False, 0

        def wrapped(*args: Any, **options: Any) -> Any:
            self.calls += 1
            self.is_pressed |= self.calls == number
            return real(*args, **options)

        self.monkeypatch.setattr(owner, name, wrapped)
        return Control(stopped=lambda: self.is_pressed)


@pytest.fixture
def press(monkeypatch: pytest.MonkeyPatch) -> Press:
    return Press(monkeypatch)


ASKED_OF_ROUTES: Final = (
    (solve, "quick_routes"),
    (solve, "routes_in_turn"),
    (probes, "routes_in_turn"),
)
"""Where it is asked whether there is any route."""


@pytest.fixture
def once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Makes every probe once: they are pure, and asked for again and again here."""
    for module, name in ASKED_OF_ROUTES:
        found = getattr(module, name)
        first = functools.cache(lambda of, found=found: tuple(islice(found(of), 1)))
        monkeypatch.setattr(module, name, first)


def solved(scene: Scene, control: Control | None = None, **kept: Candidate) -> Loop:
    """Return the loop of a scene; of some runs, by name, a candidate is kept."""
    return solve_loop(
        scene, scene.runs, key=BY_BENDS, kept=kept, control=control or Control()
    )


def without_negotiation(control: Control) -> Control:
    """Return a control under which runs that are left out go to the rounds at once."""
    effort = control.effort
    none = replace(effort.congestion, negotiations=0)
    return replace(control, effort=replace(effort, congestion=none))


def fit(loop: Loop, scene: Scene) -> bool:
    routes = [run.chosen for run in loop.runs if run.chosen is not None]
    return not any(_clash(one, two, scene) for one, two in combinations(routes, 2))


def _clash(one: Route, two: Route, scene: Scene) -> bool:
    rules = scene.rules
    table = clash_table(
        [one], [two], tube_radius=scene.tube.radius, clearance=rules.clearance
    )
    return bool(table.any()) or not set(one.ports).isdisjoint(two.ports)


def worth(loop: Loop) -> tuple[float, ...]:
    """More runs are better, then fewer bends and what else counts; the less the better."""
    return (-sum(run.chosen is not None for run in loop.runs), *loop.total)


def test_left_alone_it_is_done(crossing: Scene) -> None:
    assert solved(crossing).ended == "done"


def test_no_time_is_not_a_stop(crossing: Scene) -> None:
    loop = solve_loop(crossing, crossing.runs, key=BY_BENDS, seconds=0.0)
    assert loop.ended == "time"
    assert [run.why for run in loop.runs] == [NotRouted(), NotRouted()]


def test_a_deadline_is_kept_as_well_as_the_seconds(crossing: Scene) -> None:
    control = Control(deadline=0.0)  # long over on any clock
    loop = solve_loop(crossing, crossing.runs, key=BY_BENDS, control=control)
    assert loop.ended == "time"


# ----------------------------------------------------------------- at every asking


def hold_true(loop: Loop, scene: Scene, names: set[str]) -> None:
    """What is said of a loop, however early it was stopped."""
    assert {run.request.name for run in loop.runs} == names
    assert fit(loop, scene)
    for run in loop.runs:
        assert (run.chosen is None) == (run.why is not None)
        if isinstance(run.why, NoPlace):
            assert run.why.in_the_way or run.why.taken
    if any(isinstance(run.why, NotRouted) for run in loop.runs):
        assert loop.ended == "stopped early"


def askings(of: Callable[[Control], object], step: int) -> list[int]:
    """Each so manieth asking of a search, from the first to one after the last."""
    asked = Asked()
    of(asked.control)
    assert asked.times > step, "there is nothing to stop"
    return [*range(1, asked.times + 1, 1 if IS_FULL else step), asked.times + 1]


@pytest.mark.usefixtures("once")
def test_stopped_at_any_asking_a_loop_is_what_was_found_by_then() -> None:
    scene = two_windows()
    whole, before = solved(scene), None
    for number in askings(lambda control: solved(scene, control), 1):
        loop = solved(scene, Asked(number).control)
        hold_true(loop, scene, {"first", "second"})
        assert before is None or worth(loop) <= worth(before), "later is no worse"
        assert worth(whole) <= worth(loop)
        before = loop
    assert before is not None
    assert before.ended == "done"  # the last was not stopped
    assert worth(before) == worth(whole)


@pytest.mark.usefixtures("once")
def test_stopped_at_any_asking_a_run_that_is_left_out_says_why(crossing: Scene) -> None:
    names = {run.name for run in crossing.runs}
    for number in askings(lambda control: solved(crossing, control), 17):
        loop = solved(crossing, Asked(number).control)
        hold_true(loop, crossing, names)
        out = [run.why for run in loop.runs if isinstance(run.why, NoPlace)]
        assert all(why.is_all_tried == (loop.ended == "done") for why in out)
        assert all(why.in_the_way for why in out)


@pytest.mark.usefixtures("once")
def test_stopped_at_any_asking_a_circuit_in_any_order_is_kept() -> None:
    scene = ring(6, parts=3, flow="either")
    parts = [part.name for part in scene.components]

    def circuit(control: Control) -> Loop:
        return solve_any_order(scene, parts, key=BY_BENDS, control=control)

    loops = [circuit(Asked(number).control) for number in askings(circuit, 47)]
    whole, before = loops[-1], None
    assert whole.ended == "done"
    for loop in loops:
        hold_true(loop, scene, {run.request.name for run in loop.runs})
        assert len(loop.runs) == len(parts)
        assert worth(whole) <= worth(loop)
        if loop.ended != "stopped early":
            assert before is None or worth(loop) <= worth(before), "later is no worse"
            before = loop
    assert before is not None
    assert worth(before) == worth(whole)


@pytest.mark.usefixtures("once")
def test_stopped_at_any_asking_no_plan_is_lost(
    side_by_side: Scene, tmp_path: Path
) -> None:
    """Tubes are made parallel last: that is stopped as well."""
    source, path = tmp_path / "beside.toml", tmp_path / "beside.plan.json"
    ended = []
    for number in askings(
        lambda control: route_scene(side_by_side, control=control), 1
    ):
        plan = route_scene(side_by_side, control=Asked(number).control)
        plan.write(path, scene_path=source, force=True)
        read = Plan.read(path)
        assert read.loop is not None
        ended.append(read.loop.ended)
        for run in read.runs:
            assert (run.chosen is None) == (run.why is not None)
    early = ended.count("stopped early")
    late = len(ended) - early - 1
    assert ended == ["stopped early"] * early + ["stopped"] * late + ["done"]
    assert early >= 2  # before either run
    assert late >= 2  # in the choice, and after it


def test_between_any_two_searches_it_is_asked(
    crossing: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So a stop waits for one search at the most, and none begins after it."""
    events: list[str] = []

    def logged(owner: Any, name: str) -> None:
        real = getattr(owner, name)

        def wrapped(*args: Any, **options: Any) -> Any:
            events.append(name)
            return real(*args, **options)

        monkeypatch.setattr(owner, name, wrapped)

    logged(solve, "_clear_of_own")
    for module, name in ASKED_OF_ROUTES:
        logged(module, name)
    logged(integer_programme, "_least")
    logged(parallel_search._Search, "_improve_two")

    def asked() -> bool:
        events.append("?")
        return False

    solved(crossing, Control(stopped=asked))
    route_scene(two_windows(), control=Control(stopped=asked))
    searches = {*events} - {"?"}
    names = {name for _, name in ASKED_OF_ROUTES}
    assert searches == {"_clear_of_own", "_least", "_improve_two", *names}
    assert all("?" in pair for pair in pairwise(events))


def test_between_two_formers_of_a_run_it_is_asked() -> None:
    """Of three formers, tried the smallest first, the largest by then gives the tube."""
    of = facing(99.0, bend_radius=[42, 21, 28], max_bends=2)
    radii = []
    for number in range(1, 5):
        found = solve.solve_beside(
            of,
            of.runs[0],
            (),
            control=Asked(number).control,
        )
        radii.append({one.centreline.radius for one in found.candidates})
    assert radii == [set(), {21.0}, {28.0}, {42.0}]


def facing(aside: float, **rules: object) -> Scene:
    """Ports that face each other, so much between their axes: 99 is enough for all."""
    return texts.scene(
        texts.seated("pump", (50.0, 100.0, 150.0), (1, 0, 0)),
        texts.seated("card", (250.0, 100.0 + aside, 150.0), (-1, 0, 0)),
        texts.run("pump", "card"),
        **rules,
    )


# ----------------------------------------------------------------- at certain places


def test_in_a_round_the_choice_before_it_is_kept(crossing: Scene, press: Press) -> None:
    loop = solved(crossing, press.at(Router, "beside", 1))
    assert loop.ended == "stopped"
    assert [run.chosen is None for run in loop.runs] == [False, True]
    why = loop.runs[1].why
    assert isinstance(why, NoPlace)
    # Who is in the way is known at once.
    assert [met.run for met in why.in_the_way] == ["left to right"]
    assert (why.remedies, why.is_all_tried) == ((), False)


def test_in_a_round_a_run_that_was_left_out_takes_a_route_that_is_free(
    tall: Scene, press: Press
) -> None:
    """The pool takes routes of either run alone, then one beside the first choice."""
    loop = solved(tall, without_negotiation(press.at(RoutePool, "add", 3)))
    assert [len(run.alone) for run in loop.runs] == [1, 1]
    assert [bool(run.beside) for run in loop.runs].count(True) == 1
    assert all(run.chosen and run.why is None for run in loop.runs)
    assert fit(loop, tall)
    assert (loop.ended, loop.is_proven) == ("stopped", False)
    used = [run.chosen.candidate for run in loop.runs if run.chosen]
    assert loop.total == tuple(map(sum, zip(*map(BY_BENDS, used), strict=True)))


def test_of_routes_that_a_broken_round_brought_nothing_is_proven(
    tall: Scene, press: Press
) -> None:
    loop = solved(tall, without_negotiation(press.at(RoutePool, "add", 6)))
    assert all(run.chosen for run in loop.runs)
    assert loop.rounds == 1
    assert (loop.ended, loop.is_proven) == ("stopped", False)


def test_in_the_first_choice_runs_are_taken_in_turn(
    crossing: Scene, side_by_side: Scene, press: Press
) -> None:
    loop = solved(crossing, press.at(SetPacking, "best", 1))
    assert (loop.ended, loop.is_proven) == ("stopped", False)
    assert [run.chosen is None for run in loop.runs] == [False, True]
    loop = solved(side_by_side, press.at(SetPacking, "best", 1))
    assert loop.ended == "stopped"
    assert all(run.chosen for run in loop.runs)
    assert fit(loop, side_by_side)


def test_in_the_first_choice_what_is_kept_comes_first(
    tmp_path: Path, press: Press
) -> None:
    path = tmp_path / "across.toml"
    path.write_text(ONE_ACROSS_TWO, encoding="utf-8")
    scene = load_scene(path)
    two = route_scene(scene, runs=["two"]).run("two").chosen_candidate
    assert two is not None
    loop = solved(scene, press.at(SetPacking, "best", 1), two=two)
    assert loop.ended == "stopped"
    assert [run.chosen is None for run in loop.runs] == [True, False, True]


def test_before_a_run_is_routed_it_says_so_and_the_others_are_kept(
    side_by_side: Scene, press: Press
) -> None:
    loop = solved(side_by_side, press.at(Router, "alone", 2))
    first, second = loop.runs
    assert loop.ended == "stopped early"
    assert first.chosen is not None
    assert (second.alone, second.beside, second.chosen) == ((), (), None)
    assert second.why == NotRouted()


def test_a_kept_candidate_needs_no_routing(side_by_side: Scene, press: Press) -> None:
    plan = route_scene(side_by_side)
    kept = plan.run("two").chosen_candidate
    assert kept is not None
    loop = solved(side_by_side, press.at(Router, "alone", 2), two=kept)
    assert loop.ended == "stopped early"
    assert loop.runs[1].chosen is not None
    assert loop.runs[1].chosen.candidate == kept


def test_who_is_told_of_a_run_may_stop_before_it(side_by_side: Scene) -> None:
    told: list[Event] = []
    control = Control(tell=told.append, stopped=lambda: len(told) >= 3)
    loop = solved(side_by_side, control)
    alone = tuple(route.candidate for route in loop.runs[0].alone)
    assert told == [
        RunStarted(name="one", number=1, count=2),
        RunRouted(name="one", candidates=alone),
        RunStarted(name="two", number=2, count=2),
    ]
    assert [bool(run.alone) for run in loop.runs] == [True, False]


def test_before_anything_is_routed_there_is_nothing_to_keep(
    crossing: Scene, press: Press
) -> None:
    loop = solved(crossing, press.at(Router, "alone", 1))
    assert (loop.ended, loop.total, loop.pool) == ("stopped early", (), 0)
    assert [run.why for run in loop.runs] == [NotRouted(), NotRouted()]


def test_while_it_is_tried_what_helps_the_choice_stays(
    crossing: Scene, press: Press
) -> None:
    loop = solved(crossing, press.at(solving, "no_place", 1))
    assert (loop.ended, loop.is_proven) == ("stopped", True)
    assert [run.chosen is None for run in loop.runs] == [False, True]
    why = loop.runs[1].why
    assert isinstance(why, NoPlace)
    assert why.in_the_way
    assert not why.is_all_tried


def test_while_tubes_are_made_parallel_the_choice_stays(
    side_by_side: Scene, press: Press
) -> None:
    whole = route_scene(side_by_side)
    assert whole.loop is not None
    assert whole.loop.ended == "done"
    control = press.at(parallel_search, "parallel_routes", 1)
    plan = route_scene(side_by_side, control=control)
    assert plan.loop is not None
    assert plan.loop.ended == "stopped"
    assert all(run.chosen for run in plan.runs)


@pytest.mark.parametrize("seed", [2, 6])
def test_among_orders_the_best_order_so_far_is_kept(press: Press, seed: int) -> None:
    scene = ring(seed, parts=3, flow="either")
    parts = [part.name for part in scene.components]
    whole = solve_any_order(scene, parts, key=BY_BENDS)
    assert whole.ended == "done"
    # The first order is laid; the stop comes before there is a choice among all of them.
    control = press.at(Orders, "clear", 1)
    loop = solve_any_order(scene, parts, key=BY_BENDS, control=control)
    assert loop.ended == "stopped"
    assert all(run.chosen for run in loop.runs)
    assert fit(loop, scene)
    assert whole.total <= loop.total
    # Other orders can be no better where this one is as good as if tubes could pass
    # through each other.
    assert loop.is_proven == (loop.total == pytest.approx(loop.bound, abs=1e-3))
