"""Whether a run has a route: which search says so, and of how many bends."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.geometry.vectors import point
from loopsolver.routing.diagnosis.feasibility import (
    Search,
    feasible_route,
    free_routes,
    listed_routes,
    short_free_routes,
    short_listed_routes,
    square_routes,
    straight_routes,
)
from loopsolver.routing.judge import Judge, make_judge
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.scene.model import BendAngles
from tests.builders.plans import GAIN, candidate
from tests.builders.problems import end_at, run_between

EVERY = (
    straight_routes,
    square_routes,
    listed_routes,
    short_listed_routes,
    free_routes,
    short_free_routes,
)

LONG = candidate((0, 0, 0), (300, 0, 0))
SHORT = candidate((0, 0, 0), (200, 0, 0))


def run(aside: float, angles: BendAngles = (90.0,), max_bends: int = 2) -> RouteProblem:
    """Two ports that face each other 300 mm apart, their axes so far aside."""
    return run_between(
        end_at((100.0, 200.0, 250.0), "+x"),
        end_at((400.0, 200.0 + aside, 250.0), "-x"),
        angles=angles,
        max_bends=max_bends,
    )


def telling(*routes: Candidate) -> Search:
    """A search that finds these."""

    def search(problem: RouteProblem, judge: Judge) -> Iterator[Candidate]:
        assert judge.problem == problem
        yield from routes

    return search


@pytest.mark.parametrize(
    ("stock", "wanted"),
    [(360.0, LONG), (359.9, SHORT), (260.0, SHORT), (259.9, None)],
)
def test_the_first_route_that_the_stock_is_enough_for_is_taken(
    stock: float, wanted: Candidate | None
) -> None:
    """Their blanks are 60 mm longer than they are."""
    for searches in (
        [telling(LONG, SHORT)],
        [telling(), telling(LONG), telling(SHORT)],
    ):
        found = feasible_route(run(0.0), stock_length=stock, searches=searches)
        assert found == wanted


def first(search: Search, problem: RouteProblem) -> Candidate | None:
    return next(search(problem, make_judge(problem)), None)


def bends(search: Search, problem: RouteProblem) -> int | None:
    route = first(search, problem)
    return None if route is None else route.bends


@pytest.mark.parametrize(
    ("problem", "found_by"),
    [
        (run(0.0, max_bends=0), {straight_routes}),
        (run(100.0), {square_routes}),
        (run(100.0, (45.0,)), {listed_routes, short_listed_routes}),
        (run(100.0, "any"), {free_routes, short_free_routes}),
        (run(100.0, max_bends=1), set()),
    ],
    ids=["in line", "aside", "45 degrees", "any angle", "one bend is too few"],
)
def test_each_search_finds_what_it_is_for(
    problem: RouteProblem, found_by: set[Search]
) -> None:
    """Square bends may be looked for among listed ones as well: that is left out."""
    asked = EVERY[:2] + EVERY[4:] if problem.bend_angles_deg == (90.0,) else EVERY
    found = {search for search in asked if first(search, problem) is not None}
    assert found == found_by


def test_the_straight_tube_and_that_of_two_bends_are_as_long_as_by_hand() -> None:
    straight = first(straight_routes, run(0.0))
    square = first(square_routes, run(100.0))
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
    found = first(square_routes, problem)
    assert found is not None
    assert found.length == pytest.approx(300.0 - 2.0 * GAIN)


def test_no_more_of_the_lattice_is_judged_than_the_effort_says() -> None:
    problem = run(100.0, max_bends=4)
    diagnosis = replace(problem.effort.diagnosis, most_judged=2)
    few = replace(problem, effort=replace(problem.effort, diagnosis=diagnosis))
    every = list(square_routes(problem, make_judge(problem)))
    assert len(every) > 2
    assert list(square_routes(few, make_judge(few))) == every[:2]


def with_few(problem: RouteProblem, few: int) -> RouteProblem:
    """The run with so many bends taken for few."""
    diagnosis = replace(problem.effort.diagnosis, few_bends=few)
    return replace(problem, effort=replace(problem.effort, diagnosis=diagnosis))


def test_few_bends_of_listed_angles_are_as_few_as_the_effort_says() -> None:
    problem = run(100.0, (45.0,))
    assert bends(short_listed_routes, with_few(problem, 1)) is None
    assert bends(short_listed_routes, with_few(problem, 2)) == 2
    assert bends(short_listed_routes, replace(problem, max_bends=1)) is None


def test_of_more_bends_of_any_angle_those_that_are_nearly_square_are_found() -> None:
    problem = run(100.0, "any")
    assert bends(short_free_routes, with_few(problem, 1)) == 2
    assert bends(short_free_routes, replace(problem, max_bends=1)) is None
