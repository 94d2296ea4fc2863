"""What proves that there is no tube: by slots whose breadth is known."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.diagnosis.feasibility import routes_in_turn
from loopsolver.routing.no_way import is_proven_none
from loopsolver.routing.problem import RouteProblem
from loopsolver.scene.model import BendAngles
from tests.builders.problems import box_at, end_at, run_between

BREADTH = 500.0
"""Of the case to every side [mm]."""


def run(*boxes: Obstacle, angles: BendAngles = (90.0,)) -> RouteProblem:
    """Two ports that look at each other 300 mm apart, each 100 mm beside the middle."""
    return run_between(
        end_at((100.0, 150.0, 250.0), "+x"),
        end_at((400.0, 350.0, 250.0), "-x"),
        angles=angles,
        boxes=boxes,
        max_bends=4,
    )


def plates(slot: float) -> tuple[Obstacle, Obstacle]:
    """A plate across the whole case, with a slot so broad from wall to wall in it."""
    high = (BREADTH - slot) / 2.0
    return tuple(  # type: ignore[return-value]
        box_at((250.0, y, BREADTH / 2.0), (6.0, high, BREADTH), f"plate {y}")
        for y in (high / 2.0, BREADTH - high / 2.0)
    )


def test_a_plate_from_wall_to_wall_leaves_no_way() -> None:
    assert is_proven_none(run(*plates(0.0)))
    assert not is_proven_none(run())


@pytest.mark.parametrize("share", [0.3, 1.001, 1.5])
def test_a_slot_that_the_tube_fits_through_is_never_denied(share: float) -> None:
    """What the centre line keeps, twice over, is as broad as a slot must be."""
    reach = run().reach
    problem = run(*plates(2.0 * share * reach))
    if share > 1.0:
        assert not is_proven_none(problem)
        assert find_candidates(problem).candidates
    else:
        assert is_proven_none(problem)


@pytest.mark.parametrize("angles", [(90.0,), (45.0, 90.0), "any"])
def test_where_none_is_proven_none_is_looked_for(angles: BendAngles) -> None:
    problem = run(*plates(0.0), angles=angles)
    assert not find_candidates(problem).candidates
    assert next(routes_in_turn(problem), None) is None


@pytest.mark.parametrize(("lacking", "is_none"), [(0.2, True), (-0.2, False)])
def test_a_straight_that_is_not_free_leaves_no_way(
    lacking: float, is_none: bool
) -> None:
    """A body beside the middle of what the port's straight needs beyond its fitting."""
    problem = run()
    end = problem.start
    middle = end.seat[0] + (end.covered + end.straight) / 2.0
    foot = end.seat[1] + problem.reach - lacking
    small = box_at((middle, foot + 5.0, end.seat[2]), (1.0, 10.0, 10.0), "near")
    assert end.straight > end.covered
    assert is_proven_none(run(small)) == is_none


def test_of_ports_that_nearly_meet_nothing_is_said() -> None:
    problem = run(*plates(0.0))
    seat, straight = problem.start.seat, problem.start.straight
    near = replace(
        problem.goal,
        seat=(seat[0] + 2.0 * straight, seat[1], seat[2]),
        straight=straight,
    )
    assert math.dist(seat, near.seat) <= problem.start.straight + near.straight
    assert not is_proven_none(replace(problem, goal=near))
