"""The judge: routes that are right pass, and every kind of fault is seen."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.routing.judge import Verdict, judged, make_judge
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.rules import Breach
from loopsolver.routing.sampled_tube import Pieces, crosses_itself, laid_tube
from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from tests.builders import problems

RIGHT: tuple[Point, ...] = (
    (0.0, 0.0, 0.0),
    (100.0, 0.0, 0.0),
    (100.0, 100.0, 0.0),
    (100.0, 100.0, 100.0),
)
PLATE = Box(frame=Frame(origin=(50.0, 20.0, 0.0)), size=(40.0, 20.0, 40.0))
"""Its face at y = 10 lies 10 mm from the first leg: just the tube and the clearance."""

PROBLEM = problems.problem(
    problems.end_at(RIGHT[0], "+x"),
    problems.end_at(RIGHT[3], "-z"),
    [Obstacle(name="plate", solid=PLATE)],
    inner=(400.0, 400.0, 400.0),
    max_bends=4,
)


def verdict(vertices: tuple[Point, ...], problem: RouteProblem = PROBLEM) -> Verdict:
    line = Centreline(vertices=vertices, radius=problem.bend_radius)
    return judged(make_judge(problem), line)


def nearly(value: float) -> Any:
    return pytest.approx(value, abs=1e-9)


def short_straight(number: int, count: int, length: float, least: float) -> Breach:
    found = nearly(length)
    return Breach(
        rule="straight", found=found, limits=(least,), number=number, count=count
    )


def test_right_route_passes_with_its_gap() -> None:
    found = verdict(RIGHT)
    assert found.passes
    assert found.faults == ()
    assert found.gap is not None
    assert found.gap.name == "plate"
    assert found.gap.distance == pytest.approx(3.0, abs=1e-4)


def test_too_near_by_a_hundredth_is_refused_with_what_it_is_near_to() -> None:
    nearer = replace(PLATE, frame=Frame(origin=(50.0, 19.99, 0.0)))
    problem = replace(PROBLEM, obstacles=(Obstacle(name="plate", solid=nearer),))
    (fault,) = verdict(RIGHT, problem).faults
    assert (fault.rule, fault.at, fault.limits) == ("clearance", "plate", (3.0,))
    assert fault.found == pytest.approx(2.99, abs=1e-4)
    assert not verdict(RIGHT, problem).passes


def test_arc_that_is_too_near_is_refused() -> None:
    """A post 9.9 mm inside the middle of the first arc, far from both straights."""
    inside = (28.0 - 18.1 / math.sqrt(2.0)) * 1.0
    post = Cylinder(
        frame=axis_frame((100.0 - inside, inside, 0.0), (0.0, 0.0, 1.0)),
        diameter=0.02,
        height=10.0,
    )
    problem = replace(PROBLEM, obstacles=(Obstacle(name="post", solid=post),))
    (fault,) = verdict(RIGHT, problem).faults
    assert (fault.rule, fault.at) == ("clearance", "post")


def test_what_lies_in_the_fitting_is_not_looked_at() -> None:
    """A body round the first 12 mm, and one a millimetre longer than the covered part."""
    around = Box(frame=Frame(origin=(-6.0, 0.0, 0.0)), size=(16.0, 30.0, 30.0))
    problem = replace(PROBLEM, obstacles=(Obstacle(name="pump", solid=around),))
    assert verdict(RIGHT, problem).passes
    longer = replace(around, size=(17.0, 30.0, 30.0))
    problem = replace(PROBLEM, obstacles=(Obstacle(name="pump", solid=longer),))
    assert not verdict(RIGHT, problem).passes


UNEQUAL = replace(
    PROBLEM, goal=replace(PROBLEM.goal, straight=40.0, covered=30.0), obstacles=()
)
"""The start's fitting covers 12 mm and wants 17 straight, the goal's 30 and 40."""


@pytest.mark.parametrize(
    ("first", "last", "missing"),
    # A square bend of 28 mm radius takes 28 mm off either leg.
    [
        (17.0, 40.0, ()),
        (16.0, 40.0, (short_straight(1, 3, 16.0, 17.0),)),
        (17.0, 39.0, (short_straight(3, 3, 39.0, 40.0),)),
    ],
)
def test_each_end_is_held_to_its_own_straight(
    first: float, last: float, missing: tuple[Breach, ...]
) -> None:
    x, z = first + 28.0, last + 28.0
    route: tuple[Point, ...] = ((0, 0, 0), (x, 0, 0), (x, 100, 0), (x, 100, z))
    far = Box(frame=Frame(origin=(900.0, 0.0, 0.0)), size=(9.0, 9.0, 9.0))
    problem = replace(
        UNEQUAL,
        goal=replace(UNEQUAL.goal, seat=route[3]),
        obstacles=(Obstacle(name="far", solid=far),),
    )
    assert verdict(route, problem).faults == missing


@pytest.mark.parametrize(
    ("origin", "axis", "covered"),
    [((0.0, 0.0, 0.0), 0, 12.0), ((100.0, 100.0, 100.0), 2, 30.0)],
)
def test_each_end_is_left_out_as_far_as_its_own_fitting_covers_it(
    origin: Point, axis: int, covered: float
) -> None:
    """A block about a tube's end; the first disc that counts lies 7 + 3 mm beyond it."""
    inward = 1.0 if axis == 0 else -1.0
    for reach, passes in ((covered - 10.0, True), (covered - 9.5, False)):
        centre, size = list(origin), [40.0, 40.0, 40.0]
        size[axis] = 10.0 + reach
        centre[axis] += inward * (reach - 10.0) / 2.0
        block = Box(frame=Frame(origin=point(centre)), size=point(size))
        problem = replace(UNEQUAL, obstacles=(Obstacle(name="block", solid=block),))
        assert verdict(RIGHT, problem).passes == passes, reach


@pytest.mark.parametrize(
    ("vertices", "rule", "number"),
    [
        # First leg of 44 mm: 16 mm straight instead of 17.
        (
            ((0, 0, 0), (44, 0, 0), (44, 100, 0), (100, 100, 0), (100, 100, 100)),
            "straight",
            1,
        ),
        # On in line at the third bend.
        (
            ((0, 0, 0), (100, 0, 0), (100, 100, 0), (100, 100, 70), (100, 100, 100)),
            "turn",
            3,
        ),
        # 170 mm up and back down: it turns by more than is allowed.
        (((0, 0, 0), (100, 0, 0), (150, 80, 0), (100, 100, 100)), "bend angle", 2),
    ],
)
def test_broken_rules_are_refused(
    vertices: tuple[Point, ...], rule: str, number: int
) -> None:
    found = verdict(vertices)
    assert not found.passes
    assert (rule, number) in {(fault.rule, fault.number) for fault in found.faults}


def test_seventy_millimetres_between_two_vertices_are_too_few() -> None:
    short: tuple[Point, ...] = (
        (0.0, 0.0, 0.0),
        (100.0, 0.0, 0.0),
        (100.0, 70.0, 0.0),
        (100.0, 70.0, 100.0),
    )
    problem = replace(PROBLEM, goal=replace(PROBLEM.goal, seat=short[3]))
    assert verdict(short, problem).faults == (short_straight(2, 3, 14.0, 15.0),)


def test_more_bends_than_allowed_are_refused() -> None:
    found = verdict(RIGHT, replace(PROBLEM, max_bends=1))
    assert found.faults[0] == Breach(rule="bends", found=2, limits=(1,))


def test_missed_far_seat_is_refused() -> None:
    goal = replace(PROBLEM.goal, seat=(100.0, 100.0, 100.02))
    (fault,) = verdict(RIGHT, replace(PROBLEM, goal=goal)).faults
    assert fault == Breach(rule="far seat", found=nearly(0.02))
    near = replace(PROBLEM.goal, seat=(100.0, 100.0, 100.005))
    assert verdict(RIGHT, replace(PROBLEM, goal=near)).passes


def test_missed_near_seat_is_refused() -> None:
    start = replace(PROBLEM.start, seat=(0.0, 0.02, 0.0))
    assert verdict(RIGHT, replace(PROBLEM, start=start)).faults


def test_wrong_directions_are_refused() -> None:
    askew = replace(PROBLEM.goal, direction=AXES["+z"])
    faults = verdict(RIGHT, replace(PROBLEM, goal=askew)).faults
    assert Breach(rule="arrival", found=180.0) in faults
    sideways = replace(PROBLEM.start, direction=AXES["+y"])
    assert not verdict(RIGHT, replace(PROBLEM, start=sideways)).passes


LOOP: tuple[Point, ...] = (
    (0.0, 0.0, 0.0),
    (200.0, 0.0, 0.0),
    (200.0, 100.0, 0.0),
    (100.0, 100.0, 0.0),
    (100.0, -100.0, 0.0),
)
"""Comes round and crosses its own first leg."""


def test_tube_through_itself_does_not_pass_but_is_no_fault_of_the_search() -> None:
    far = Box(frame=Frame(origin=(900.0, 0.0, 0.0)), size=(9.0, 9.0, 9.0))
    problem = replace(
        PROBLEM,
        goal=replace(PROBLEM.goal, seat=LOOP[-1], direction=AXES["+y"]),
        obstacles=(Obstacle(name="far", solid=far),),
    )
    found = verdict(LOOP, problem)
    assert found.faults == ()
    assert found.own_way == Breach(rule="itself")
    assert not found.passes


def test_tube_over_itself_passes_with_room_between() -> None:
    """The same loop rising by 80 mm first: 80 mm between its centre lines."""
    over = tuple(
        (x, y, z + (80.0 if n > 1 else 0.0)) for n, (x, y, z) in enumerate(LOOP)
    )
    risen = (over[0], over[1], (200.0, 0.0, 80.0), *over[2:])
    assert not crosses_itself(laid(risen), 14.0)
    assert crosses_itself(laid(risen), 81.0)


def laid(vertices: Sequence[Point]) -> Pieces:
    """A tube that leaves along x in the plane of x and y."""
    line = Centreline(vertices=tuple(vertices), radius=28.0)
    tube = laid_tube(
        bend_table(line),
        start=vertices[0],
        direction=AXES["+x"],
        towards=np.array(AXES["+y"]),
    )
    return tube.pieces


def test_tube_back_through_its_own_fitting_does_not_pass() -> None:
    collar = Cylinder(
        frame=axis_frame((100.0, 0.0, 12.0), (0.0, 0.0, 1.0)),
        diameter=22.0,
        height=10.0,
    )
    far = Box(frame=Frame(origin=(900.0, 0.0, 0.0)), size=(9.0, 9.0, 9.0))
    problem = replace(
        PROBLEM,
        goal=replace(PROBLEM.goal, seat=(200.0, 100.0, 100.0), direction=AXES["-x"]),
        obstacles=(Obstacle(name="far", solid=far),),
        own_fittings=(Obstacle(name="fitting on pump.out", solid=collar),),
    )
    route: tuple[Point, ...] = (
        (0.0, 0.0, 0.0),
        (50.0, 0.0, 0.0),
        (50.0, 0.0, 100.0),
        (50.0, 100.0, 100.0),
        (200.0, 100.0, 100.0),
    )
    assert verdict(route, problem).passes
    in_the_way = replace(collar, frame=axis_frame((50.0, 10.0, 50.0), (0.0, 0.0, 1.0)))
    blocked = replace(
        problem,
        own_fittings=(Obstacle(name="fitting on pump.out", solid=in_the_way),),
    )
    found = verdict(route, blocked)
    assert found.faults == ()
    assert found.own_way == Breach(rule="own fitting", at="fitting on pump.out")
    back = replace(blocked, start=blocked.goal, goal=blocked.start)
    found = verdict(route[::-1], back)
    assert found.faults == ()
    assert found.own_way == Breach(rule="own fitting", at="fitting on pump.out")


def test_tube_sits_in_its_own_fittings() -> None:
    """Collars of 20 mm round both ends, where they belong."""
    seats = ((RIGHT[0], (1.0, 0.0, 0.0)), (RIGHT[-1], (0.0, 0.0, -1.0)))
    collars = tuple(
        Obstacle(
            name="collar",
            solid=Cylinder(
                frame=axis_frame(seat, direction), diameter=22.0, height=20.0
            ),
        )
        for seat, direction in seats
    )
    bent_thrice = replace(
        PROBLEM,
        start=replace(PROBLEM.start, seat=(0.0, 0.0, -100.0), direction=AXES["+z"]),
        own_fittings=collars[1:],
        obstacles=PROBLEM.obstacles,
    )
    assert verdict(((0.0, 0.0, -100.0), *RIGHT), bent_thrice).own_way is None
    other_end = replace(
        PROBLEM,
        goal=replace(PROBLEM.goal, seat=(200.0, 100.0, 100.0), direction=AXES["-x"]),
        own_fittings=collars[:1],
    )
    assert verdict((*RIGHT, (200.0, 100.0, 100.0)), other_end).own_way is None


@pytest.mark.parametrize(("home", "crossing"), [(120.0, False), (400.0, True)])
def test_two_sharp_bends_may_cross_their_own_beginning(
    home: float, crossing: bool
) -> None:
    """Legs about an equilateral triangle of 150 mm: after two corners of 120 degrees the
    tube heads for the first leg, which it meets 150 mm further on."""
    out = np.array([1.0, 0.0, 0.0])
    back = np.array([-0.5, math.sqrt(0.75), 0.0])
    down = np.array([-0.5, -math.sqrt(0.75), 0.0])
    vertices = np.cumsum([0.0 * out, 400.0 * out, 150.0 * back, home * down], axis=0)
    assert crosses_itself(laid(list(map(point, vertices))), 14.0) == crossing
