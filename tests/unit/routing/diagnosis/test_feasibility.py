"""Whether a run has a route: which search says so, and of how many bends."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.geometry.vectors import point
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.diagnosis.feasibility import routes_in_turn, square_routes
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.scene.model import BendAngles
from tests.builders.plans import GAIN
from tests.builders.problems import end_at, run_between
from tests.property.known_routes import ALONG_AXES, known_run


def run(aside: float, angles: BendAngles = (90.0,), max_bends: int = 2) -> RouteProblem:
    """Two ports that face each other 300 mm apart, their axes so far aside."""
    return run_between(
        end_at((100.0, 200.0, 250.0), "+x"),
        end_at((400.0, 200.0 + aside, 250.0), "-x"),
        angles=angles,
        max_bends=max_bends,
    )


def bends(problem: RouteProblem) -> int | None:
    """How many the first has that is found, if any is."""
    route = next(routes_in_turn(problem), None)
    return None if route is None else route.bends


@pytest.mark.parametrize("angles", [(90.0,), (45.0,), (45.0, 90.0), "any"])
def test_some_route_is_found_of_as_few_bends_as_there_must_be(
    angles: BendAngles,
) -> None:
    """In line none; aside two, one to each side, and with one there is none."""
    assert bends(run(0.0, angles, max_bends=0)) == 0
    assert bends(run(100.0, angles)) == 2
    assert bends(run(100.0, angles, max_bends=1)) is None


@pytest.mark.parametrize("angles", [(90.0,), (45.0, 90.0), "any"])
def test_all_that_the_search_for_candidates_has_is_found_in_turn(
    angles: BendAngles,
) -> None:
    problem = run(100.0, angles, max_bends=3)
    found = {one.bends for one in routes_in_turn(problem)}
    assert {one.bends for one in find_candidates(problem).candidates} <= found


def test_what_the_lattice_just_misses_is_found_in_turn_as_well() -> None:
    """A tube is known that was laid first, its levels free by 0.4 mm beside two arcs."""
    known = known_run(ALONG_AXES, 47)
    problem = replace(known.problem, turn_step_deg=90.0)
    assert first_square(problem) is None
    found = next(routes_in_turn(problem))
    assert found.length == pytest.approx(known.tube.length, abs=0.01)


def first_square(problem: RouteProblem) -> Candidate | None:
    return next(square_routes(problem, make_judge(problem)), None)


def test_the_straight_tube_and_that_of_two_bends_are_as_long_as_by_hand() -> None:
    straight = next(routes_in_turn(run(0.0)), None)
    square = first_square(run(100.0))
    assert straight is not None
    assert square is not None
    assert straight.length == pytest.approx(300.0)
    assert square.length == pytest.approx(400.0 - 2.0 * GAIN)


def test_a_turned_run_is_seen_in_its_own_frame() -> None:
    """By 30 degrees about z; the lattice's vertices are placed in the case again."""
    turn = math.radians(30.0)
    ahead = np.array([math.cos(turn), math.sin(turn), 0.0])
    aside = np.array([-math.sin(turn), math.cos(turn), 0.0])
    start = np.array([150.0, 150.0, 250.0])
    problem = run_between(
        end_at(start, ahead),
        end_at(point(start + 200.0 * ahead + 100.0 * aside), -ahead),
        angles=(90.0,),
        max_bends=2,
    )
    found = first_square(problem)
    assert found is not None
    assert found.length == pytest.approx(300.0 - 2.0 * GAIN)


def test_no_more_of_the_lattice_is_judged_than_the_effort_says() -> None:
    problem = run(100.0, max_bends=4)
    diagnosis = replace(problem.effort.diagnosis, most_judged=2)
    few = replace(problem, effort=replace(problem.effort, diagnosis=diagnosis))
    every = list(square_routes(problem, make_judge(problem)))
    assert len(every) > 2
    assert list(square_routes(few, make_judge(few))) == every[:2]
