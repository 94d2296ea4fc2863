"""Chosen tubes against each other."""

from __future__ import annotations

import pytest

from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.plan import Plan, PlannedRun, touches
from loopsolver.routing.judge import judged, make_judge
from loopsolver.routing.loop.route_pool import Route, clash_table
from loopsolver.routing.problem import Candidate, RouteProblem, TubeEnd
from loopsolver.routing.square.search import square_candidates
from loopsolver.scene.model import Rules, Scene
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.stock import Tube

Points = tuple[tuple[float, float, float], ...]


def planned(name: str, *tubes: Points, chosen: int | None) -> PlannedRun:
    return PlannedRun(
        name=name,
        from_port="a.out",
        to_port="b.in",
        candidates=tuple(
            Candidate(
                centreline=Centreline(vertices=vertices, radius=28.0),
                gap=Gap(distance=9.0, name="wall", at=vertices[0]),
                trim_allowance=30.0,
            )
            for vertices in tubes
        ),
        chosen=chosen,
        why=None if tubes else "no room",
    )


def plan_of(*runs: PlannedRun) -> Plan:
    scene = Scene(
        title="Invented",
        units="mm",
        case_inner=(500.0, 500.0, 500.0),
        up=(0.0, 0.0, 1.0),
        tube=Tube(
            material="acrylic",
            outer_diameter=14.0,
            inner_diameter=10.0,
            bend_radii=(28.0,),
            stock_length=500.0,
            trim_allowance=30.0,
        ),
        rules=Rules(
            clearance=3.0,
            straight_between_bends=15.0,
            bend_angles=(90.0,),
            max_bends=5,
            candidates=6,
        ),
        components=(),
        keep_outs=(),
        runs=(),
    )
    return Plan(scene=scene, runs=runs)


ALONG: Points = ((0, 0, 0), (100, 0, 0))


def across(height: float) -> Points:
    """A straight that crosses ALONG square, so many millimetres above it."""
    return ((40, -50, height), (40, 50, height))


@pytest.mark.parametrize("height", [0.0, 10.0, 14.0, 16.0, 16.9])
def test_tubes_nearer_than_the_clearance_touch(height: float) -> None:
    plan = plan_of(
        planned("one", ALONG, chosen=1), planned("two", across(height), chosen=1)
    )
    (touch,) = touches(plan)
    assert (touch.first, touch.second) == ("one", "two")
    # Crossing lines so far apart, less two radii of 7 mm.
    assert touch.gap == pytest.approx(height - 14.0, abs=2e-4)
    assert touch.at == pytest.approx((40.0, 0.0, height / 2.0), abs=2e-2)


@pytest.mark.parametrize("height", [17.0, 17.1, 60.0])
def test_tubes_that_keep_the_clearance_do_not(height: float) -> None:
    plan = plan_of(
        planned("one", ALONG, chosen=1), planned("two", across(height), chosen=1)
    )
    assert touches(plan) == ()


def test_only_chosen_candidates_count() -> None:
    runs = [planned("one", ALONG, chosen=1), planned("none", chosen=None)]
    near, far = across(10.0), across(40.0)
    assert touches(plan_of(*runs, planned("two", near, far, chosen=2))) == ()
    assert len(touches(plan_of(*runs, planned("two", near, far, chosen=1)))) == 1


def test_inside_of_a_bend_a_neighbour_may_stand_where_the_vertices_box_is() -> None:
    # The box of a bent tube's vertices holds the corner that the tube never enters.
    bent: Points = ((0, 0, 0), (100, 0, 0), (100, 100, 0))
    post: Points = ((50, 50, -50), (50, 50, 50))
    # From the post to either straight's line: 50 mm.
    plan = plan_of(planned("bent", bent, chosen=1), planned("post", post, chosen=1))
    assert touches(plan) == ()


def test_pairs_stand_in_the_order_of_the_runs() -> None:
    plan = plan_of(
        planned("c", ALONG, chosen=1),
        planned("a", across(15.0), chosen=1),
        planned("b", across(-15.0), chosen=1),
    )
    assert [(t.first, t.second) for t in touches(plan)] == [("c", "a"), ("c", "b")]


@pytest.mark.parametrize(("short_of", "passes"), [(5e-5, True), (2e-4, False)])
def test_clear_enough_is_the_same_for_plan_pool_and_judge(
    short_of: float, passes: bool
) -> None:
    """Gaps are measured to a ten-thousandth of a millimetre, so none is told finer."""
    near = across(17.0 - short_of)
    plan = plan_of(planned("one", ALONG, chosen=1), planned("two", near, chosen=1))
    assert (touches(plan) == ()) == passes
    routes = [
        Route(
            run=number,
            from_port=f"{number}.a",
            to_port=f"{number}.b",
            candidate=run.candidates[0],
        )
        for number, run in enumerate(plan.runs)
    ]
    clashes = clash_table(routes[:1], routes[1:], tube_radius=7.0, clearance=3.0)
    assert clashes[0, 0] == (not passes)
    # The same tube under a body of its own height's distance.
    box = Box(frame=Frame(origin=(50.0, 0.0, 20.0 - short_of)), size=(20.0, 20.0, 20.0))
    problem = RouteProblem(
        start=TubeEnd(
            seat=ALONG[0], direction=(1.0, 0.0, 0.0), straight=17.0, covered=12.0
        ),
        goal=TubeEnd(
            seat=ALONG[1], direction=(-1.0, 0.0, 0.0), straight=17.0, covered=12.0
        ),
        bend_radius=28.0,
        tube_radius=7.0,
        clearance=3.0,
        straight_between_bends=15.0,
        bend_angles=(90.0,),
        max_bends=0,
        candidates=6,
        case_inner=(500.0, 500.0, 500.0),
        obstacles=(Obstacle(name="box", solid=box),),
    )
    line = plan.runs[0].candidates[0].centreline
    assert judged(make_judge(problem), line).passes == passes
    assert bool(square_candidates(problem, make_judge(problem)).candidates) == passes
