"""Free angles: what is sensible, square routes bent back, and corners in closed form."""

import math
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.geometry.frames import rotation_matrix
from loopsolver.routing.angled.free import (
    free_candidates,
    nearly_square,
)
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.routing.worth import MORE_BENDS
from tests.builders.problems import BEND_RADIUS, BETWEEN, STRAIGHT, end_at, run_between
from tests.property.known_routes import TILTED_ANY, known_run
from tests.property.laid_tubes import Tube, candidate_complaints, tube_of
from tests.unit.routing.touching import Array

TURNED = rotation_matrix([20.0, 35.0, -50.0])


SQUARE = np.eye(3)


def missing(far: float, *, turned: Array = SQUARE, home: int = 0) -> RouteProblem:
    """Ports side by side, 150 mm apart along y, that miss being level by so much.

    The first looks along x, the other along the axis `home`; all of it turned.
    """
    start = np.array([250.0, 180.0, 250.0])
    goal = start + turned @ np.array([0.0, 150.0, far])
    return run_between(
        end_at(start, turned[:, 0]), end_at(goal, turned[:, home]), angles="any"
    )


def closes(route: Array, problem: RouteProblem) -> bool:
    """Whether a route begins and ends on the seats, along the ports' axes."""
    tube = Tube(vertices=route, radius=BEND_RADIUS)
    ends: list[tuple[TubeEnd, Array, Array]] = [
        (problem.start, tube.vertices[0], tube.ways[0]),
        (problem.goal, tube.vertices[-1], -tube.ways[-1]),
    ]
    return all(
        np.linalg.norm(vertex - end.seat) < 1e-9
        and np.linalg.norm(way - end.direction) < 1e-9
        for end, vertex, way in ends
    )


@pytest.mark.parametrize("far", [0.3, 2.0, 4.9])
@pytest.mark.parametrize(
    ("turned", "home", "counts"),
    [(SQUARE, 0, {2, 4, 5}), (TURNED, 1, {3, 5})],
    ids=["side by side", "tilted"],
)
def test_square_routes_are_bent_back_on_to_the_true_port(
    far: float, turned: Array, home: int, counts: set[int]
) -> None:
    """One leg alone leans, by the miss over no less than the least leg between bends.

    Ports at the same place along x and z need legs there and back, or none, besides
    the first: x y -x; x y -x -y; with z and -z or y and -y put in between, more.
    """
    problem = missing(far, turned=turned, home=home)
    routes = [route for route, _ in nearly_square(problem)]
    assert {len(route) - 2 for route in routes} == counts
    most = math.degrees(math.atan(far / (2.0 * BEND_RADIUS + BETWEEN)))
    for route in routes:
        assert closes(route, problem)
        angles = np.degrees(Tube(vertices=route, radius=BEND_RADIUS).angles)
        assert np.abs(angles - 90.0).max() <= most + 1e-6
        assert len(route) > 3


def test_nothing_is_moved_that_is_in_line_or_far_out_of_it() -> None:
    for far in (0.0, 5.1, 30.0):
        problem = missing(far)
        for route, _ in nearly_square(problem):
            tube = Tube(vertices=route, radius=BEND_RADIUS)
            assert closes(route, problem)
            assert np.degrees(tube.angles) == pytest.approx(90.0, abs=1e-6)


def test_ports_askew_have_no_square_routes() -> None:
    problem = missing(0.0)
    goal = replace(problem.goal, direction=end_at((0, 0, 0), (1, 1, 0)).direction)
    assert list(nearly_square(replace(problem, goal=goal))) == []


@pytest.mark.parametrize("angle_deg", [5.0, 30.0, 45.0, 75.0, 90.0, 118.0])
def test_a_corner_of_any_angle_is_one_bend(angle_deg: float) -> None:
    """As long as both legs less what a bend saves: 2 R tan(w/2) - R w."""
    angle = math.radians(angle_deg)
    corner = np.array([250.0, 250.0, 250.0])
    out = TURNED @ np.array([1.0, 0.0, 0.0])
    home = TURNED @ np.array([math.cos(angle), math.sin(angle), 0.0])
    take_out = BEND_RADIUS * math.tan(angle / 2.0)
    legs = STRAIGHT + take_out + 5.0, STRAIGHT + take_out + 40.0
    problem = run_between(
        end_at(corner - legs[0] * out, out),
        end_at(corner + legs[1] * home, -home),
        angles="any",
        max_bends=1,
    )
    (found,) = free_candidates(problem, make_judge(problem))
    assert candidate_complaints(found, problem) == []
    assert np.degrees(tube_of(found).angles) == pytest.approx([angle_deg])
    wanted = sum(legs) - 2.0 * take_out + BEND_RADIUS * angle
    assert found.length == pytest.approx(wanted, abs=1e-6)
    off = min((angle_deg - 45.0, angle_deg - 90.0), key=abs)
    assert found.departures_deg == pytest.approx([off], abs=1e-6)


@pytest.mark.parametrize("angle_deg", [121.0, 140.0, 165.0])
def test_a_corner_sharper_than_a_former_bears_is_none(angle_deg: float) -> None:
    angle = math.radians(angle_deg)
    far = np.array([250.0, 250.0, 250.0]) + 250.0 * np.array(
        [1.0 + math.cos(angle), math.sin(angle), 0.0]
    )
    home = (-math.cos(angle), -math.sin(angle), 0.0)
    problem = run_between(
        end_at((250, 250, 250), (1, 0, 0)),
        end_at(far, home),
        angles="any",
        inner=(900.0, 900.0, 900.0),
        max_bends=1,
    )
    assert not list(free_candidates(problem, make_judge(problem)))


@pytest.mark.parametrize("seed", [5])
def test_no_more_than_two_bends_above_the_fewest(seed: int) -> None:
    problem = known_run(TILTED_ANY, seed).problem
    found = list(free_candidates(problem, make_judge(problem)))
    counts = {candidate.bends for candidate in found}
    assert max(counts) <= min(counts) + MORE_BENDS
    angles_deg = [np.degrees(tube_of(candidate).angles) for candidate in found]
    assert all((some <= 120.0 + 1e-6).all() for some in angles_deg)
    assert all((some >= 5.0 - 1e-6).all() for some in angles_deg if len(some) > 2)
    assert all(len(c.departures_deg) == c.bends for c in found)
