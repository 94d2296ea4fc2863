"""What is left of a plan that nothing vouches for, and of one with other choices."""

from __future__ import annotations

import json
from typing import Any

import pytest

from loopsolver.plan.checking import parsed
from loopsolver.plan.document import PlanDocument, RunDocument
from loopsolver.plan.untold import (
    CHANGED_SINCE,
    NOT_SHOWN,
    sum_of,
    with_choices_changed,
    without_untold,
)
from tests.contract.true_plan import GOOD

IN_THE_WAY = [{"run": "other", "gap": -3.0, "at": [0.0, 0.0, 0.0]}]
LOOP = {
    "by": "bends",
    "total": [2.0, 265.964594, 0.0],
    "bound": [2.0, 265.964594, 0.0],
    "proven": True,
    "rounds": 0,
    "routes": 1,
}


def plan(**changes: Any) -> PlanDocument:
    """Return the true plan with a loop, its one run changed."""
    plain = json.loads(json.dumps({**GOOD, "loop": LOOP}))
    plain["runs"][0].update(changes)
    return parsed(plain, file="a.plan.json")


def only(document: PlanDocument) -> RunDocument:
    (run,) = document.runs
    return run


def test_of_an_edited_plan_only_what_a_scene_can_tell_is_left() -> None:
    before = plan(why="no room", in_the_way=IN_THE_WAY, refused=3)
    found = without_untold(before)
    assert (before.loop is None, found.loop) == (False, None)
    run = only(found)
    assert (run.why, run.in_the_way, run.refused) == (NOT_SHOWN, (), 0)
    assert run.candidates == only(before).candidates
    assert only(without_untold(plan())).why is None


@pytest.mark.parametrize("why", [None, "no room"])
@pytest.mark.parametrize("has_candidates", [True, False])
def test_where_choices_changed_the_reason_of_a_left_out_run_is_of_before(
    why: str | None, has_candidates: bool
) -> None:
    """A run without a route has its own reason, whatever the others choose."""
    changes: dict[str, Any] = {"why": why, "in_the_way": IN_THE_WAY}
    if not has_candidates:
        changes.update(candidates=[], chosen=None)
    before = plan(**changes)
    found = with_choices_changed(before)
    assert found.loop == before.loop
    if why is None or not has_candidates:
        assert found == before
    else:
        run = only(found)
        assert (run.why, run.in_the_way) == (CHANGED_SINCE, ())
        assert run.candidates == only(before).candidates


def test_a_sum_is_taken_of_runs_whatever_they_are() -> None:
    """A file may hold anything: what is no list of runs counts as it stands."""
    odd: list[dict[str, Any]] = [
        {"runs": 3.0},
        {"runs": {"chosen": 1.0}},
        {"runs": [1.0]},
        {"runs": ["a"]},
    ]
    assert len({sum_of(one) for one in [*odd, {}]}) == 5
    assert sum_of({"runs": [{"chosen": 1.0}, 2.0]}) == sum_of({"runs": [{}, 2.0]})
