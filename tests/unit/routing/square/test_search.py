"""Candidates of square bends: the straight one, the fewest bends, and other ways round.

A straight tube holds 12 mm in either fitting and is straight for 17 mm at either end, so
24 mm is the least. Its axis keeps 10 mm from everything.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.vectors import Point, point
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.square.search import (
    WORTH,
    square_candidates,
    squeezed_candidates,
)
from tests.builders.plans import GAIN
from tests.builders.problems import box_at, end_at, run_between
from tests.property.known_routes import ALONG_AXES, known_run
from tests.property.laid_tubes import complaints, tube_of

START: Point = (100.0, 250.0, 250.0)


def run(
    goal: Point,
    *boxes: Obstacle,
    way: str | Point = "+x",
    back: str | Point = "-x",
    max_bends: int = 0,
    candidates: int = 6,
) -> RouteProblem:
    problem = run_between(
        end_at(START, way),
        end_at(goal, back),
        angles=(90.0,),
        boxes=boxes,
        max_bends=max_bends,
    )
    return replace(problem, candidates=candidates, trim_allowance=35.0)


def found(problem: RouteProblem) -> tuple[Candidate, ...]:
    routes = square_candidates(problem, make_judge(problem))
    assert routes.refused == 0
    return routes.candidates


@pytest.mark.parametrize(("length", "count"), [(300.0, 1), (24.0, 1), (23.9, 0)])
def test_ports_that_face_in_line_have_the_straight_tube(
    length: float, count: int
) -> None:
    routes = found(run((100.0 + length, 250.0, 250.0)))
    assert [one.bends for one in routes] == [0] * count
    for one in routes:
        assert one.length == pytest.approx(length)
        assert one.blank == pytest.approx(length + 70.0)


@pytest.mark.parametrize(
    ("goal", "way", "back"),
    [
        ((300.0, 251.0, 250.0), "+x", "-x"),
        ((300.0, 250.0, 250.0), "+x", "+x"),
        ((300.0, 250.0, 250.0), "-x", "-x"),
        ((300.0, 250.0, 250.0), "-x", "+x"),
        ((300.0, 250.0, 250.0), "+x", "-y"),
        (START, "+x", "-x"),
    ],
)
def test_others_have_none(goal: Point, way: str, back: str) -> None:
    assert found(run(goal, way=way, back=back)) == ()


@pytest.mark.parametrize(("apart", "count"), [(10.0, 1), (9.9, 0)])
def test_a_straight_tube_keeps_the_clearance(apart: float, count: int) -> None:
    box = box_at((200.0, 250.0 + apart + 10.0, 250.0), (20.0, 20.0, 20.0))
    routes = found(run((300.0, 250.0, 250.0), box))
    assert [one.gap.distance for one in routes] == pytest.approx([3.0] * count)


def test_the_fewest_bends_come_first_then_the_shortest() -> None:
    """100 mm aside: two bends, and legs of 300 and 100 mm together whatever the place."""
    routes = found(run((400.0, 350.0, 250.0), max_bends=4))
    assert routes[0].bends == 2
    assert routes[0].length == pytest.approx(400.0 - 2.0 * GAIN)
    order = [(one.bends, one.length) for one in routes]
    assert order == sorted(order)
    assert {one.trim_allowance for one in routes} == {35.0}


@pytest.mark.parametrize("most", [1, 2])
def test_no_more_are_shown_than_are_asked_for(most: int) -> None:
    wall = box_at((250.0, 300.0, 250.0), (40.0, 200.0, 60.0))
    goal = (400.0, 350.0, 250.0)
    every = found(run(goal, wall, max_bends=4, candidates=9))
    assert len(every) >= 2
    assert found(run(goal, wall, max_bends=4, candidates=most)) == every[:most]


def test_other_ways_round_are_not_much_longer() -> None:
    """Of each bend count the shortest is shown whatever its length."""
    wall = box_at((250.0, 250.0, 250.0), (40.0, 300.0, 60.0))
    routes = found(run((400.0, 250.0, 250.0), wall, max_bends=5, candidates=20))
    shortest = min(one.length for one in routes)
    firsts = {one.bends: one for one in reversed(routes)}
    others = [
        one for one in routes if all(one is not first for first in firsts.values())
    ]
    assert others
    assert all(one.length <= WORTH * shortest + 1e-6 for one in others)


def test_in_a_frame_of_its_own_a_tube_ends_on_its_seats() -> None:
    """Both ports turned by 30 degrees about z, 300 mm apart and 100 mm aside."""
    turn = math.radians(30.0)
    ahead = np.array([math.cos(turn), math.sin(turn), 0.0])
    aside = np.array([-math.sin(turn), math.cos(turn), 0.0])
    goal = point(np.array(START) + 260.0 * ahead + 100.0 * aside)
    routes = found(run(goal, way=point(ahead), back=point(-ahead), max_bends=2))
    assert routes[0].bends == 2
    assert routes[0].length == pytest.approx(360.0 - 2.0 * GAIN)
    for one in routes:
        assert one.centreline.vertices[0] == pytest.approx(START)
        assert one.centreline.vertices[-1] == pytest.approx(goal)


def test_what_just_fits_between_the_coordinates_is_found_with_less_clearance() -> None:
    """A tube is known that was laid first, its levels free by 0.4 mm beside two arcs."""
    known = known_run(ALONG_AXES, 47)
    judge = make_judge(known.problem)
    assert not square_candidates(known.problem, judge).candidates
    (candidate,) = squeezed_candidates(known.problem, judge).candidates
    assert not complaints(tube_of(candidate), known.problem)
    assert candidate.length == pytest.approx(known.tube.length, abs=0.01)


def test_what_keeps_the_clearance_nowhere_is_no_candidate() -> None:
    """A plate leaves 9.9 mm to either side of the axis of the only straight tube."""
    plates = [
        box_at((200.0, 250.0 + side * 19.9, 250.0), (20.0, 20.0, 900.0))
        for side in (-1.0, 1.0)
    ]
    problem = run((300.0, 250.0, 250.0), *plates)
    found = squeezed_candidates(problem, make_judge(problem))
    assert (found.candidates, found.refused) == ((), 0)
