"""The lattice: its frame, its coordinates, and the least bends that the ports ask for."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box, HalfSpace
from loopsolver.geometry.vectors import AXES, point
from loopsolver.routing.effort import USUAL
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.square.field import make_field
from loopsolver.routing.square.lattice import (
    lattice_coordinates,
    least_bends,
    square_run,
)
from loopsolver.routing.square.meet import meetings
from loopsolver.scene.limits import CASE_MOST
from tests.builders.small_runs import random_small_run
from tests.unit.routing.full_cases import moved_problem, random_problem
from tests.unit.routing.state_graph import StateGraph, TooCloseError

FILL = USUAL.square.fill
MOST_NODES = USUAL.square.most_nodes


def test_ports_along_the_case_are_seen_in_its_own_frame() -> None:
    problem = random_problem(0, bodies=3)
    run = square_run(problem)
    assert run is not None
    assert run.frame == Frame()
    assert run.problem is problem


@pytest.mark.parametrize("seed", range(12))
def test_square_ports_askew_in_the_case_are_seen_along_axes(seed: int) -> None:
    """Distances between seats and to bodies stay; both directions lie along axes."""
    flat = random_problem(seed, bodies=3)
    turn = Rotation.random(random_state=seed).as_matrix()
    problem = moved_problem(flat, turn, np.zeros(3), inner=flat.room[1])
    run = square_run(problem)
    assert run is not None
    seen = run.problem
    for end in (seen.start, seen.goal):
        assert sorted(np.abs(end.direction).tolist()) == [0.0, 0.0, 1.0]
    for end, own in ((seen.start, problem.start), (seen.goal, problem.goal)):
        assert run.frame.place(end.seat) == pytest.approx(own.seat, abs=1e-9)
        assert run.frame.turn(end.direction) == pytest.approx(own.direction)
    for inside, outside in zip(seen.obstacles[:3], problem.obstacles[:3], strict=True):
        assert not isinstance(inside.solid, HalfSpace)
        assert not isinstance(outside.solid, HalfSpace)
        assert isinstance(inside.solid, Box | type(outside.solid))
        # Distance from a body's middle to the start's seat.
        apart = np.subtract(inside.solid.frame.origin, seen.start.seat)
        wanted = np.subtract(outside.solid.frame.origin, problem.start.seat)
        assert np.linalg.norm(apart) == pytest.approx(np.linalg.norm(wanted))


def test_ports_not_square_to_each_other_have_no_frame() -> None:
    problem = random_problem(0, bodies=3)
    askew = point(Rotation.from_euler("z", 45, degrees=True).apply((1.0, 0.0, 0.0)))
    start = replace(problem.start, direction=AXES["+x"])
    goal = replace(problem.goal, direction=askew)
    assert square_run(replace(problem, start=start, goal=goal)) is None


@pytest.mark.parametrize("seed", range(10))
def test_coordinates_hold_ports_least_legs_and_faces(seed: int) -> None:
    problem = random_problem(seed, bodies=8)
    run = square_run(problem)
    assert run is not None
    axes = lattice_coordinates(run)
    _, inner = problem.room
    for axis, values in enumerate(axes):
        assert (np.diff(values) > 0.0).all()
        assert np.diff(values).max() <= FILL + 1e-9
        for end in (problem.start, problem.goal):
            base = end.seat[axis]
            assert base in values
            along = end.direction[axis]
            first = base + along * (17.0 + 28.0) if along else base
            for steps in (0, 1, -1):
                wanted = first + steps * 71.0
                if 10.0 <= wanted <= inner[axis] - 10.0:
                    assert np.abs(values - wanted).min() < 1e-9
        for obstacle in problem.obstacles[:8]:
            corners = box_corners(obstacle)
            if corners is None:
                continue
            low, high = corners[:, axis].min() - 10.0, corners[:, axis].max() + 10.0
            for face in (low, high):
                if 10.0 <= face <= inner[axis] - 10.0:
                    assert np.abs(values - face).min() < 1e-9


def box_corners(obstacle: Obstacle) -> np.ndarray | None:
    """The corners of a box, from its frame; None for other solids."""
    solid = obstacle.solid
    if not isinstance(solid, Box):
        return None
    signs = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])
    own = signs * np.array(solid.size) / 2.0
    return np.array(solid.frame.origin) + own @ np.array(solid.frame.axes)


@pytest.mark.parametrize("bodies", [120, 400])
def test_crowded_lattice_stays_small_and_keeps_outermost_faces(bodies: int) -> None:
    problem = random_problem(3, bodies=120, largest=45.0)
    copies = [
        shifted(obstacle, number)
        for number in range(bodies // 120 + 1)
        for obstacle in problem.obstacles[:120]
    ]
    walls = problem.obstacles[120:]
    crowded = replace(problem, obstacles=(*copies[:bodies], *walls))
    run = square_run(crowded)
    assert run is not None
    axes = lattice_coordinates(run)
    assert np.prod([len(values) for values in axes]) <= MOST_NODES
    for axis, values in enumerate(axes):
        assert problem.start.seat[axis] in values
        assert problem.goal.seat[axis] in values


def shifted(obstacle: Obstacle, number: int) -> Obstacle:
    solid = obstacle.solid
    assert not isinstance(solid, HalfSpace)
    origin = np.array(solid.frame.origin) + 1.37 * number
    frame = Frame(origin=point(origin), axes=solid.frame.axes)
    return replace(obstacle, solid=replace(solid, frame=frame))


def test_largest_case_gives_a_small_lattice() -> None:
    """The largest case that a scene may have: coarse, but of no more nodes than any."""
    problem = replace(random_problem(0), room=((0.0, 0.0, 0.0), (CASE_MOST,) * 3))
    run = square_run(problem)
    assert run is not None
    axes = lattice_coordinates(run)
    assert np.prod([len(values) for values in axes]) <= MOST_NODES


def test_least_bends_is_never_more_than_what_an_empty_case_needs() -> None:
    """Against the exhaustive graph on random runs, everything in the way taken out."""
    seen = set()
    for seed in range(300):
        run, coordinates = random_small_run(np.random.default_rng(seed))
        far = Obstacle(
            name="far away",
            solid=Box(frame=Frame(origin=(9e3, 9e3, 9e3)), size=(1.0, 1.0, 1.0)),
        )
        empty = replace(
            run, problem=replace(run.problem, obstacles=(far,), own_fittings=())
        )
        bound = least_bends(empty)
        try:
            lengths = StateGraph(empty, coordinates, bends=4).least_lengths()
        except TooCloseError:
            continue
        feasible = [n for n, length in enumerate(lengths, 1) if np.isfinite(length)]
        if feasible:
            assert bound <= feasible[0], f"seed {seed}"
            seen.add((bound, feasible[0]))
        found = [*meetings(make_field(empty, coordinates), bends=4)]
        assert {m.bends for m in found} == set(feasible)
    assert {(1, 1), (2, 2), (3, 3)} <= seen, "the bound is met where nothing hinders"


def in_line(direction: str, goal: tuple[float, float, float], towards: str) -> int:
    problem: RouteProblem = random_problem(0, bodies=1)
    start = replace(
        problem.start, seat=(100.0, 100.0, 100.0), direction=AXES[direction]
    )
    end = replace(problem.goal, seat=goal, direction=AXES[towards])
    run = square_run(replace(problem, start=start, goal=end))
    assert run is not None
    return least_bends(run)


@pytest.mark.parametrize(
    ("goal", "towards", "bends"),
    [
        ((250.0, 100.0, 100.0), "-x", 0),  # facing each other in line
        ((250.0, 200.0, 100.0), "-y", 1),  # a corner
        ((250.0, 200.0, 150.0), "-y", 2),  # a corner, not in one plane
        ((250.0, 200.0, 100.0), "-x", 2),  # an offset in one plane
        ((100.0, 200.0, 100.0), "+x", 2),  # a U-turn
        ((250.0, 200.0, 150.0), "-x", 3),  # an offset in two planes
    ],
)
def test_least_bends_of_simple_arrangements(
    goal: tuple[float, float, float], towards: str, bends: int
) -> None:
    assert in_line("+x", goal, towards) == bends
