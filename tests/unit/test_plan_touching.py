"""Chosen tubes against each other."""

from __future__ import annotations

import pytest

from loopsolver.plan import Plan, PlannedRun, touches
from loopsolver.routing.judge import judged, make_judge
from loopsolver.routing.loop.route_pool import Route, clash_table
from loopsolver.routing.square.search import square_candidates
from tests.builders.plans import Points, candidate, planned
from tests.builders.problems import box_at, end_at, problem
from tests.builders.scenes import scene

CASE = (500.0, 500.0, 500.0)


def laid(name: str, *tubes: Points, chosen: int | None) -> PlannedRun:
    return planned(
        name,
        [candidate(*vertices, gap=9.0, name="wall") for vertices in tubes],
        chosen=chosen,
        why=None if tubes else "no room",
    )


def plan_of(*runs: PlannedRun) -> Plan:
    return Plan(scene=scene(inner=CASE), runs=runs)


ALONG: Points = ((0, 0, 0), (100, 0, 0))


def across(height: float) -> Points:
    """A straight that crosses ALONG square, so many millimetres above it."""
    return ((40, -50, height), (40, 50, height))


@pytest.mark.parametrize("height", [0.0, 10.0, 14.0, 16.0, 16.9])
def test_tubes_nearer_than_the_clearance_touch(height: float) -> None:
    plan = plan_of(laid("one", ALONG, chosen=1), laid("two", across(height), chosen=1))
    (touch,) = touches(plan)
    assert (touch.first, touch.second) == ("one", "two")
    # Crossing lines so far apart, less two radii of 7 mm.
    assert touch.gap == pytest.approx(height - 14.0, abs=2e-4)
    assert touch.at == pytest.approx((40.0, 0.0, height / 2.0), abs=2e-2)


@pytest.mark.parametrize("height", [17.0, 17.1, 60.0])
def test_tubes_that_keep_the_clearance_do_not(height: float) -> None:
    plan = plan_of(laid("one", ALONG, chosen=1), laid("two", across(height), chosen=1))
    assert touches(plan) == ()


def test_only_chosen_candidates_count() -> None:
    runs = [laid("one", ALONG, chosen=1), laid("none", chosen=None)]
    near, far = across(10.0), across(40.0)
    assert touches(plan_of(*runs, laid("two", near, far, chosen=2))) == ()
    assert len(touches(plan_of(*runs, laid("two", near, far, chosen=1)))) == 1


def test_inside_of_a_bend_a_neighbour_may_stand_where_the_vertices_box_is() -> None:
    # The box of a bent tube's vertices holds the corner that the tube never enters.
    bent: Points = ((0, 0, 0), (100, 0, 0), (100, 100, 0))
    post: Points = ((50, 50, -50), (50, 50, 50))
    # From the post to either straight's line: 50 mm.
    plan = plan_of(laid("bent", bent, chosen=1), laid("post", post, chosen=1))
    assert touches(plan) == ()


def test_pairs_stand_in_the_order_of_the_runs() -> None:
    plan = plan_of(
        laid("c", ALONG, chosen=1),
        laid("a", across(15.0), chosen=1),
        laid("b", across(-15.0), chosen=1),
    )
    assert [(t.first, t.second) for t in touches(plan)] == [("c", "a"), ("c", "b")]


@pytest.mark.parametrize(("short_of", "passes"), [(5e-5, True), (2e-4, False)])
def test_clear_enough_is_the_same_for_plan_pool_and_judge(
    short_of: float, passes: bool
) -> None:
    """Gaps are measured to a ten-thousandth of a millimetre, so none is told finer."""
    near = across(17.0 - short_of)
    plan = plan_of(laid("one", ALONG, chosen=1), laid("two", near, chosen=1))
    assert (touches(plan) == ()) == passes
    routes = [
        Route(
            run=number,
            ports=(f"{number}.a", f"{number}.b"),
            candidate=run.candidates[0],
        )
        for number, run in enumerate(plan.runs)
    ]
    clashes = clash_table(routes[:1], routes[1:], tube_radius=7.0, clearance=3.0)
    assert clashes[0, 0] == (not passes)
    # The same tube under a body of its own height's distance.
    above = box_at((50.0, 0.0, 20.0 - short_of), (20.0, 20.0, 20.0))
    alone = problem(
        end_at(ALONG[0], "+x"), end_at(ALONG[1], "-x"), [above], inner=CASE, max_bends=0
    )
    line = plan.runs[0].candidates[0].centreline
    assert judged(make_judge(alone), line).passes == passes
    assert bool(square_candidates(alone, make_judge(alone)).candidates) == passes
