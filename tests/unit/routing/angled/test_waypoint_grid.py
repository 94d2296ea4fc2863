"""Three and four free bends over a grid of vertices: sensible, and near what is wanted."""

import math
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.routing.angled.shortlist import lacking
from loopsolver.routing.angled.waypoint_grid import grid_routes
from tests.builders.problems import BEND_RADIUS, box_at, end_at, run_between
from tests.property.known_routes import TILTED_ANY, known_run
from tests.property.laid_tubes import Tube

SLIGHTEST, SHARPEST = math.radians(5.0), math.radians(120.0)


@pytest.mark.parametrize("bends", [3, 4])
@pytest.mark.parametrize("seed", [0, 5, 10])
def test_routes_leave_the_ports_straight_and_bend_sensibly(
    bends: int, seed: int
) -> None:
    problem = known_run(TILTED_ANY, seed).problem
    routes = grid_routes(problem, bends=bends)
    assert routes.shape[1:] == (bends + 2, 3)
    assert len(routes) > 10
    chosen = routes[np.linspace(0, len(routes) - 1, 200).astype(int)]
    for route in chosen:
        tube = Tube(vertices=route, radius=BEND_RADIUS)
        assert route[0] == pytest.approx(problem.start.seat)
        assert route[-1] == pytest.approx(problem.goal.seat)
        assert tube.ways[0] == pytest.approx(problem.start.direction, abs=1e-9)
        assert -tube.ways[-1] == pytest.approx(problem.goal.direction, abs=1e-9)
        assert tube.angles.min() >= SLIGHTEST - 1e-9
        assert tube.angles.max() <= SHARPEST + 1e-9
        assert (tube.straights[1:-1] > 15.0 - 12.1).all()
        assert (tube.straights[[0, -1]] > 17.0 - 6.1).all()
    lengths = [Tube(vertices=route, radius=BEND_RADIUS).length for route in chosen]
    assert (np.diff(lengths) > -1e-6).all()


@pytest.mark.parametrize("bends", [3, 4])
def test_a_wall_with_a_window_is_passed(bends: int) -> None:
    """Between the ports stands a wall with one window, 60 mm wide, off to the side."""
    start, goal = (
        end_at((60, 250, 250), (1, 0.2, 0.1)),
        end_at((440, 250, 250), (-1, 0.1, -0.2)),
    )
    wall = [
        box_at((250, 170, 250), (20, 340, 500)),
        box_at((250, 460, 250), (20, 80, 500)),
        box_at((250, 380, 90), (20, 160, 180)),
        box_at((250, 380, 370), (20, 160, 260)),
    ]
    problem = run_between(start, goal, angles="any", boxes=wall)
    routes = grid_routes(problem, bends=bends)
    assert np.isfinite(lacking(problem, routes, worth=np.zeros(len(routes)))).any()


@pytest.mark.parametrize(
    ("name", "bends"),
    [("most_over_two", 4), ("most_over_waypoints", 3), ("most_over_waypoints", 4)],
)
def test_no_more_routes_are_laid_than_are_asked_for(name: str, bends: int) -> None:
    problem = known_run(TILTED_ANY, 0).problem
    tries = replace(problem.effort.laying_out, **{name: 7})  # type: ignore[arg-type]
    few = replace(problem, effort=replace(problem.effort, laying_out=tries))
    routes = grid_routes(few, bends=bends)
    assert 0 < len(routes) <= 7


def test_no_room_no_route() -> None:
    """A wall so near in front of a port that not even its straight has room."""
    start, goal = end_at((60, 250, 250), (1, 0, 0)), end_at((440, 250, 250), (-1, 0, 0))
    wall = box_at((74, 250, 250), (10, 500, 500))
    problem = run_between(start, goal, angles="any", boxes=[wall])
    for bends in (3, 4):
        routes = grid_routes(problem, bends=bends)
        assert not np.isfinite(
            lacking(problem, routes, worth=np.zeros(len(routes)))
        ).any()
