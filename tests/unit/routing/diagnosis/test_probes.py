"""What a probe searches, how much work that counts for, and when no more are made.

The search is put aside: what it would find is said by the test. How much each search
counts for is what the effort says of it, added up by hand. With the usual effort a
square search takes 0.3 in an empty case and 1 among 40 bodies.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Box
from loopsolver.routing.control import Control
from loopsolver.routing.diagnosis import probes as probing
from loopsolver.routing.diagnosis.probes import (
    ALL,
    QUICK,
    SQUARE,
    Probes,
    all_searches,
)
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.scene.model import BendAngles
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
LEAST = 1e-9


def none_found(*_: Any) -> None:
    """Stands in for the search that `route` makes."""


class Searched:
    """Stands in for the search: finds what it is told to and keeps what it was asked."""

    def __init__(self, found: Candidate | None = None) -> None:
        self.found = found
        self.asked: list[tuple[RouteProblem, Any]] = []

    def __call__(
        self, problem: RouteProblem, *, stock_length: float, searches: Any
    ) -> Candidate | None:
        assert stock_length == SCENE.tube.stock_length
        self.asked.append((problem, searches))
        return self.found


@pytest.fixture
def searched(monkeypatch: pytest.MonkeyPatch) -> Searched:
    stub = Searched()
    monkeypatch.setattr(probing, "feasible_route", stub)
    return stub


def askew_box(number: int) -> Obstacle:
    """A box turned so that it stands square to nothing."""
    frame = axis_frame((40.0 * number, 20.0, 20.0), (0.6, 0.8, 0.0))
    box = Box(frame=frame, size=(10.0, 10.0, 10.0))
    return Obstacle(name=f"askew {number}", solid=box)


def run(
    *boxes: Obstacle,
    angles: BendAngles = (90.0,),
    max_bends: int = 3,
    way: Any = "+x",
    back: Any = "-x",
) -> RouteProblem:
    """A run between two ends in a roomy case."""
    return run_between(
        end_at((60.0, 250.0, 250.0), way),
        end_at((440.0, 250.0, 250.0), back),
        angles=angles,
        boxes=boxes,
        max_bends=max_bends,
    )


def made_for(
    problem: RouteProblem, *, lead: float = 30.0, every: float = 44.0, **more: Any
) -> Probes:
    """The probes of a run, with so much work to be done at most."""
    diagnosis = replace(problem.effort.diagnosis, lead_work=lead, work=every)
    problem = replace(problem, effort=replace(problem.effort, diagnosis=diagnosis))
    return Probes(SCENE, SCENE.runs[0], lambda *_: (problem,), best=none_found, **more)


def any_route(probes: Probes) -> Candidate | None:
    """Ask for the run as it is, with every search."""
    return probes.route_with(choice=all_searches)


SKEW = (0.6, 0.8, 0.0)
TILTED = (0.0, 0.6, 0.8)


@pytest.mark.parametrize(
    ("problem", "quick", "every"),
    [
        (run(), 0.3, 0.3 + 5.0),
        (run(*BOXES), 0.3 + 0.7 * 10 / 40, 0.475 + 5.0),
        (run(*BOXES * 4), 1.0, 1.0 + 5.0),
        (run(*BOXES * 5), 1.0, 1.0 + 5.0),
        (run(askew_box(1), askew_box(2)), 0.335 + 0.34, 0.335 + 0.34 + 5.0),
        (run(*BOXES[:2], way=SKEW, back=SKEW), 0.335 + 0.34, 0.675 + 5.0),
        (run(way=SKEW, back=TILTED), 1.3, 5.0),
        (run(angles=(45.0, 90.0)), 0.3 + 1.3, 0.3 + 5.0),
        (run(angles="any"), 6.0, 18.0),
        (run(max_bends=0), 0.1, 0.1),
        (run(*BOXES, angles="any", max_bends=0), 0.1, 0.1),
    ],
    ids=[
        "empty",
        "ten bodies",
        "crowded",
        "more than crowded",
        "bodies askew",
        "lattice askew",
        "no lattice",
        "listed angles",
        "any angle",
        "no bends",
        "no bends of any angle",
    ],
)
def test_a_search_that_finds_nothing_counts_for_what_the_effort_says(
    problem: RouteProblem, quick: float, every: float, searched: Searched
) -> None:
    for work, ask in ((quick, Probes.route_with), (every, any_route)):
        for more, is_left in ((LEAST, True), (-LEAST, False)):
            probes = made_for(problem, lead=work + more, every=work - more)
            assert probes.may_lead
            assert ask(probes) is None
            assert (probes.may_lead, probes.may_refine) == (is_left, not is_left)


@pytest.mark.parametrize(("more", "is_left"), [(LEAST, True), (-LEAST, False)])
def test_the_bare_case_counts_as_an_empty_one(
    more: float, is_left: bool, searched: Searched
) -> None:
    """The square search takes 0.3 in an empty case, that of few listed bends 1.3."""
    probes = made_for(run(*BOXES), lead=0.3 + 1.3 + more)
    assert probes.bare_route() is None
    assert probes.may_lead is is_left


def test_work_adds_up_to_the_last_bit_of_it(searched: Searched) -> None:
    """A straight tube is looked for twice, 0.1 each; what is just spent is not left."""
    probes = made_for(run(max_bends=0), lead=0.1, every=0.2 + LEAST)
    assert probes.route_with(FOUR) is None
    assert not probes.may_lead
    assert probes.may_refine
    assert probes.route_with(FIVE) is None
    assert probes.may_refine
    assert probes.bare_route() is None
    assert not probes.may_refine


def test_what_was_searched_is_known(searched: Searched) -> None:
    searched.found = made(ONE_BEND)
    probes = made_for(run(), lead=0.3 + LEAST)
    for _ in range(3):
        assert probes.route_with(FOUR) is searched.found
    assert len(searched.asked) == 1
    assert probes.may_lead
    assert probes.route_with(FIVE) is searched.found
    assert len(searched.asked) == 2
    assert not probes.may_lead


def test_a_tube_without_a_bend_costs_no_work(searched: Searched) -> None:
    searched.found = made(STRAIGHT)
    probes = made_for(run(), lead=LEAST)
    assert probes.route_with(FOUR) is searched.found
    assert probes.may_lead


@pytest.mark.parametrize(
    ("problem", "quick"),
    [
        (run(), SQUARE),
        (run(way=SKEW, back=TILTED), QUICK),
        (run(angles=(45.0, 90.0)), QUICK),
        (run(angles="any"), QUICK),
    ],
)
def test_slow_searches_are_left_out_unless_all_are_asked_for(
    problem: RouteProblem, quick: object, searched: Searched
) -> None:
    probes = made_for(problem)
    probes.route_with()
    any_route(probes)
    probes.bare_route()
    assert [searches for _, searches in searched.asked] == [quick, ALL, QUICK]


def test_in_the_bare_case_only_its_walls_stand(searched: Searched) -> None:
    made_for(run(*BOXES)).bare_route()
    ((problem, _),) = searched.asked
    assert len(problem.obstacles) == 6
    assert all(one.name.startswith("wall facing") for one in problem.obstacles)


def test_the_search_gets_the_scene_and_the_run_as_they_are_changed(
    searched: Searched,
) -> None:
    seen = []

    def problems(scene: Any, request: Any) -> tuple[RouteProblem, ...]:
        seen.append((scene.rules.clearance, request.max_bends))
        return (run(), run(max_bends=0))

    clearance = Change(rule="clearance", before=3.0, after=1.5)
    Probes(SCENE, SCENE.runs[0], problems, best=none_found).route_with(clearance, FOUR)
    assert seen == [(1.5, 4)]
    assert searched.asked[0][0].max_bends == 3  # the first is easiest to solve


def test_what_was_tried_first_of_each_rule_is_told_in_order(
    searched: Searched,
) -> None:
    def wall(subject: str, by: float) -> Change:
        return Change(rule="case wall", subject=subject, before=0.0, after=by)

    probes = made_for(run())
    high, low = (wall(f"wall {side}x", 60.0) for side in "+-")
    probes.route_with(FIVE, high)
    probes.route_with(FOUR, low)
    probes.route_with(wall("wall +x", 2.0))
    assert probes.tried == (FIVE, high, low)


@pytest.mark.parametrize("ask", [Probes.route_with, Probes.bare_route])
def test_who_is_stopped_searches_no_more(
    ask: Callable[[Probes], Candidate | None], searched: Searched
) -> None:
    searched.found = made(ONE_BEND)
    stopped = [False]
    probes = made_for(run(), control=Control(stopped=lambda: stopped[0]))
    assert (probes.may_lead, probes.may_refine) == (True, True)
    assert any_route(probes) is searched.found
    stopped[0] = True
    assert (probes.may_lead, probes.may_refine) == (False, False)
    assert ask(probes) is None
    assert len(searched.asked) == 1
    assert any_route(probes) is searched.found  # that is known already
