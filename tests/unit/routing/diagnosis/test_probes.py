"""What a probe searches, what is known of it then, and when no more are made.

The search is put aside: what it would find is said by the test.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from loopsolver.routing.control import Control
from loopsolver.routing.diagnosis import probes as probing
from loopsolver.routing.diagnosis.probes import Probes, RouteOf, Searches
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.scene.model import RunRequest, Scene
from tests.builders.problems import box_at, end_at, run_between
from tests.builders.short_runs import ONE_BEND, STRAIGHT, made
from tests.unit.routing.explain_scenes import At, build

SCENE = build(At((60.0, 100.0, 100.0), "+x"), At((240.0, 100.0, 100.0), "-x"))
FOUR, FIVE = (
    Change(rule="bends", before=3.0, after=count, subject="") for count in (4.0, 5.0)
)
BOXES = tuple(
    box_at((40.0 * number, 20.0, 20.0), (10.0, 10.0, 10.0), f"box {number}")
    for number in range(1, 11)
)


class Searched:
    """Stands in for a search: finds what it is told to and keeps what it was asked."""

    def __init__(self, found: Candidate | None = None) -> None:
        self.found = found
        self.asked: list[tuple[Scene, RunRequest]] = []

    def __call__(self, scene: Scene, run: RunRequest) -> Candidate | None:
        self.asked.append((scene, run))
        return self.found


def problem(leads: int = 30, probes: int = 44) -> RouteProblem:
    """A run between two ends among boxes, with so many probes at most."""
    made = run_between(
        end_at((60.0, 250.0, 250.0), "+x"),
        end_at((440.0, 250.0, 250.0), "-x"),
        angles=(90.0,),
        boxes=BOXES,
        max_bends=3,
    )
    diagnosis = replace(made.effort.diagnosis, leads=leads, probes=probes)
    return replace(made, effort=replace(made.effort, diagnosis=diagnosis))


def made_for(
    quick: RouteOf,
    *,
    some: RouteOf | None = None,
    best: RouteOf | None = None,
    leads: int = 30,
    **more: Any,
) -> Probes:
    """The probes of a run that is searched as told."""
    searches = Searches(
        problems=lambda *_: (problem(leads),),
        quick=quick,
        some=some or Searched(),
        best=best or Searched(),
    )
    return Probes(SCENE, SCENE.runs[0], searches, **more)


def test_what_was_searched_is_known_and_each_search_counts() -> None:
    some = Searched(made(ONE_BEND))
    probes = made_for(some, leads=2)
    for _ in range(3):
        assert probes.route_with(FOUR) is some.found
    assert len(some.asked) == 1
    before = (probes.may_lead, probes.may_refine)
    assert probes.route_with(FIVE) is some.found
    assert len(some.asked) == 2
    assert before == (True, True)
    assert (probes.may_lead, probes.may_refine) == (False, True)


def test_the_best_is_sought_where_there_is_some_and_with_no_more_bends() -> None:
    """Some tube of one bend is known: the best has one at most."""
    some, best = Searched(made(ONE_BEND)), Searched(made(STRAIGHT))
    probes = made_for(some, best=best)
    for _ in range(3):
        assert probes.best_with(FOUR) is best.found
    ((_, run),) = best.asked
    assert run.max_bends == 1
    assert made_for(Searched(), best=best).best_with(FOUR) is None
    assert len(best.asked) == 1


def test_what_the_best_does_not_bear_out_is_no_route() -> None:
    probes = made_for(Searched(made(ONE_BEND)))
    assert probes.some_with(FOUR) is not None
    assert probes.best_with(FOUR) is None
    assert probes.some_with(FOUR) is None


def test_what_is_found_soon_is_not_sought_again_and_what_is_not_is_once() -> None:
    soon, some = Searched(made(ONE_BEND)), Searched(made(STRAIGHT))
    probes = made_for(soon, some=some)
    assert probes.route_with(FOUR) is probes.some_with(FOUR) is soon.found
    assert not some.asked
    probes = made_for(Searched(), some=some)
    for _ in range(3):
        assert probes.route_with(FOUR) is None
        assert probes.some_with(FOUR) is some.found
    assert len(some.asked) == 1


def test_in_the_bare_case_only_its_walls_stand(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[RouteProblem] = []

    def none_in(one: RouteProblem) -> Iterator[Candidate]:
        asked.append(one)
        return iter(())

    monkeypatch.setattr(probing, "routes_in_turn", none_in)
    assert made_for(Searched()).bare_route() is None
    (bare,) = asked
    assert len(bare.obstacles) == 6
    assert all(one.name.startswith("wall facing") for one in bare.obstacles)


@pytest.mark.parametrize(("stock", "is_found"), [(240.0, True), (239.9, False)])
def test_in_the_bare_case_too_the_stock_must_be_enough(
    stock: float, is_found: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    route = replace(made(STRAIGHT), trim_allowance=(240.0 - made(STRAIGHT).length) / 2)
    monkeypatch.setattr(probing, "routes_in_turn", lambda _: iter([route]))
    scene = replace(SCENE, tube=replace(SCENE.tube, stock_length=stock))
    searches = Searches(
        problems=lambda *_: (problem(),),
        quick=Searched(),
        some=Searched(),
        best=Searched(),
    )
    found = Probes(scene, scene.runs[0], searches).bare_route()
    assert (found is not None) == is_found


def test_the_search_gets_the_scene_and_the_run_as_they_are_changed() -> None:
    some = Searched()
    clearance = Change(rule="clearance", before=3.0, after=1.5)
    made_for(some).route_with(clearance, FOUR)
    ((scene, run),) = some.asked
    assert (scene.rules.clearance, run.max_bends) == (1.5, 4)


def test_what_was_tried_first_of_each_rule_is_told_in_order() -> None:
    def wall(subject: str, by: float) -> Change:
        return Change(rule="case wall", subject=subject, before=0.0, after=by)

    probes = made_for(Searched())
    high, low = (wall(f"wall {side}x", 60.0) for side in "+-")
    probes.route_with(FIVE, high)
    probes.route_with(FOUR, low)
    probes.route_with(wall("wall +x", 2.0))
    assert probes.tried == (FIVE, high, low)


@pytest.mark.parametrize(
    "ask", [Probes.route_with, Probes.best_with, Probes.bare_route]
)
def test_who_is_stopped_searches_no_more(
    ask: Callable[[Probes], Candidate | None],
) -> None:
    some, best, stopped = Searched(made(ONE_BEND)), Searched(made(ONE_BEND)), [False]
    probes = made_for(some, best=best, control=Control(stopped=lambda: stopped[0]))
    assert (probes.may_lead, probes.may_refine) == (True, True)
    assert probes.route_with(FOUR) is some.found
    stopped[0] = True
    assert (probes.may_lead, probes.may_refine) == (False, False)
    assert ask(probes) is None
    assert (len(some.asked), len(best.asked)) == (1, 0)
    assert probes.route_with(FOUR) is some.found  # that is known already


def test_what_a_search_that_was_cut_short_does_not_find_is_not_known() -> None:
    stopped = [False]

    def cut_short(_scene: Scene, _run: RunRequest) -> None:
        stopped[0] = True

    probes = made_for(cut_short, control=Control(stopped=lambda: stopped[0]))
    assert probes.route_with(FOUR) is None
    assert probes.tried == ()
