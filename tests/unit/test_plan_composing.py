"""From a scene to a plan, the search itself replaced."""

from __future__ import annotations

import pytest

from loopsolver.errors import LoopsolverError, PlanError
from loopsolver.plan import Plan
from loopsolver.report.planning import route_scene
from loopsolver.routing.control import Control, Event, RunStarted
from loopsolver.routing.diagnosis.no_route import FacingBlocked, Reason, Shortfall
from loopsolver.routing.solve import Outcome
from tests.builders.plans import candidate
from tests.builders.scenes import scene, wanted
from tests.unit.laid_down import LaidDown

NAMES = ("pump to card", "card to front", "front to pump")
SCENE = scene(
    inner=(200.0, 200.0, 200.0),
    runs=[wanted(name, f"{name[0]}.out", "x.in") for name in NAMES],
)


BENT = candidate((0, 0, 0), (60, 0, 0), (60, 60, 0), gap=9.0)  # 108 mm
LONG = candidate((0, 0, 0), (180, 0, 0), gap=4.0)
BLOCKED = Reason(
    facts=(
        FacingBlocked(
            ports=("card.out", "pump.in"), near=Shortfall(name="tank", by=4.0)
        ),
    ),
    suggestions=(),
)
OUTCOMES = {
    NAMES[0]: Outcome(candidates=(BENT, LONG), refused=2),
    NAMES[1]: Outcome(candidates=(), why=BLOCKED),
    NAMES[2]: Outcome(candidates=()),
}


@pytest.fixture(autouse=True)
def _search(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "loopsolver.routing.loop.solving.solve_loop", LaidDown(OUTCOMES)
    )
    monkeypatch.setattr(
        "loopsolver.routing.loop.remedies.loop_remedies", lambda *_, **__: None
    )


def test_the_best_is_chosen_and_the_others_follow() -> None:
    plan = route_scene(SCENE)
    run = plan.runs[0]
    assert [one.name for one in plan.runs] == list(NAMES)
    assert run.candidates == (LONG, BENT)  # no bends before one
    assert (run.chosen, run.chosen_candidate) == (1, LONG)
    assert (run.from_port, run.to_port, run.refused) == ("p.out", "x.in", 2)
    assert run.why is None
    assert route_scene(SCENE, by="length").runs[0].candidates == (BENT, LONG)


def test_a_run_without_a_route_says_why() -> None:
    _, without, silent = route_scene(SCENE).runs
    assert (without.candidates, without.chosen) == ((), None)
    assert without.why == (
        "the straight tube between card.out and pump.in comes 4 mm too near to tank; no "
        "change that was tried helps: there is none to try"
    )
    assert without.chosen_candidate is None
    assert silent.why is not None
    assert "gave no reason" in silent.why


def test_only_the_runs_that_are_asked_for_in_the_order_of_the_scene() -> None:
    plan = route_scene(SCENE, runs=[NAMES[2], NAMES[0]])
    assert [run.name for run in plan.runs] == [NAMES[0], NAMES[2]]


def test_an_unknown_run_is_told_with_the_nearest_known_one() -> None:
    with pytest.raises(LoopsolverError, match="no run 'pump to crad'") as caught:
        route_scene(SCENE, runs=["pump to crad", "nothing like it"])
    first, second = str(caught.value).splitlines()
    assert "nearest: 'pump to card'" in first
    assert all(name in second for name in NAMES)


def test_an_unknown_ranking_is_told_with_the_known_ones() -> None:
    with pytest.raises(LoopsolverError, match="'beauty'; wanted one of bends, length"):
        route_scene(SCENE, by="beauty")


def test_progress_is_told_before_each_run() -> None:
    told: list[Event] = []
    route_scene(SCENE, control=Control(tell=told.append))
    assert told == [
        RunStarted(name=name, number=at, count=3)
        for at, name in enumerate(NAMES, start=1)
    ]


def test_runs_and_candidates_by_name_and_rank() -> None:
    plan: Plan = route_scene(SCENE)
    assert plan.run(NAMES[1]) is plan.runs[1]
    with pytest.raises(PlanError, match="no run 'x' in this plan; there are 'pump to"):
        plan.run("x")
    assert plan.runs[0].candidate(2) is BENT
    with pytest.raises(PlanError, match="has no candidate 3; it has candidates 1 to 2"):
        plan.runs[0].candidate(3)
    with pytest.raises(PlanError, match="has no candidate 1; it has none"):
        plan.runs[1].candidate(1)
