"""Distances on a grid: exact at its nodes, near enough between them."""

import math

import numpy as np
import pytest

from loopsolver.clearance.distance_field import FARTHEST_TOLD, distance_field
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Cylinder, HalfSpace
from loopsolver.geometry.vectors import point
from tests.builders.problems import box_at, end_at, run_between
from tests.property.known_routes import LISTED, known_run
from tests.unit.routing.touching import Array, clipped_distance

STEP, MOST_NODES = 5.0, 1_500_000


RUN = run_between(
    end_at((100, 100, 100), (1, 0, 0)),
    end_at((400, 400, 400), (-1, 0, 0)),
    angles=(90.0,),
    boxes=[box_at((250, 250, 250), (60, 80, 100))],
)


def outside_distance(obstacles: tuple[Obstacle, ...], points: Array) -> Array:
    return np.min([clipped_distance(o.solid, points) for o in obstacles], axis=0)


@pytest.mark.parametrize("seed", [1, 2, 5])
def test_nodes_are_exact_and_points_between_them_near(seed: int) -> None:
    obstacles = known_run(LISTED, seed).problem.obstacles
    field = distance_field(obstacles, step=STEP, most_nodes=MOST_NODES)
    assert field.step == STEP
    rng = np.random.default_rng(seed)
    shape = np.array(field.values.shape)
    nodes = field.low + field.step * rng.integers(0, shape, (400, 3))
    exact = np.minimum(outside_distance(obstacles, nodes), FARTHEST_TOLD)
    free = exact > 0.0
    assert field.at(nodes)[free] == pytest.approx(exact[free], abs=1e-4)
    assert (field.at(nodes)[~free] <= 1e-4).all()

    points = field.low + field.step * rng.uniform(0, 1, (4000, 3)) * (shape - 1)
    exact = np.minimum(outside_distance(obstacles, points), FARTHEST_TOLD)
    off = field.at(points) - exact
    near = (exact > STEP) & (exact < FARTHEST_TOLD - STEP)
    # A mean of eight nodes: each is wrong by its way to the point at most.
    assert np.abs(off[near]).max() < STEP * math.sqrt(3.0) / 2.0
    assert np.median(np.abs(off[near])) < 0.1
    assert np.percentile(np.abs(off[near]), 95) < 0.6


def test_nodes_beside_a_row_of_balls_are_exact() -> None:
    """Against the way to the nearest centre less the radius."""
    turned = np.linspace(0.0, math.pi / 2.0, 9)
    centres = 60.0 * np.column_stack([np.cos(turned), np.sin(turned), 0.3 * turned])
    row = tuple(
        Obstacle(
            name="bend",
            solid=Cylinder(
                frame=Frame(origin=point(centre)),
                diameter=0.0,
                height=0.0,
                rounding=7.0,
            ),
        )
        for centre in centres
    )
    field = distance_field(row, step=STEP, most_nodes=MOST_NODES)
    nodes = field.low + field.step * np.argwhere(np.isfinite(field.values))
    away = np.linalg.norm(nodes[:, None] - centres, axis=2).min(axis=1) - 7.0
    exact = np.minimum(away, FARTHEST_TOLD)
    assert (exact < 0.0).any()
    assert field.values.ravel() == pytest.approx(exact, abs=1e-4)


def test_how_far_a_ray_is_free() -> None:
    field = distance_field(RUN.obstacles, step=STEP, most_nodes=MOST_NODES)
    origins = np.array([[100.0, 250.0, 250.0], [100.0, 350.0, 350.0]])
    along = np.array([[1.0, 0.0, 0.0]] * 2)
    free = field.free_along(origins, along, reach=10.0)
    # To the box's near face at 220, and past it to the wall at 500.
    assert free[0] == pytest.approx(220.0 - 10.0 - 100.0, abs=STEP)
    assert free[1] == pytest.approx(500.0 - 10.0 - 100.0, abs=STEP)


@pytest.mark.parametrize("start", np.arange(100.0, 105.0, 0.5))
def test_a_ray_goes_no_further_than_half_a_step_too_far(start: float) -> None:
    """The wall stands square to the ray, so that the field is exact before it."""
    field = distance_field(RUN.obstacles, step=STEP, most_nodes=MOST_NODES)
    origin, along = np.array([[start, 350.0, 350.0]]), np.array([[1.0, 0.0, 0.0]])
    (free,) = field.free_along(origin, along, reach=10.0)
    assert 0.0 <= free - (490.0 - start) <= STEP / 2.0 + 1e-3


def test_in_open_space_a_ray_ends_with_the_grid_and_in_a_solid_at_once() -> None:
    box = box_at((0, 0, 0), (20, 20, 20))
    field = distance_field((box,), step=STEP, most_nodes=MOST_NODES)
    origins, along = (
        np.array([[30.0, 0.0, 0.0], [0.0] * 3]),
        np.array([[1.0, 0, 0]] * 2),
    )
    free = field.free_along(origins, along, reach=5.0)
    # 150 mm beyond the box to every side: 320 mm, 65 nodes and so many steps.
    assert field.furthest == pytest.approx(65 * STEP * math.sqrt(3.0))
    assert free.tolist() == [field.furthest, 0.0]


def test_tilted_walls_and_open_space() -> None:
    tilt = (math.sin(0.4), 0.0, math.cos(0.4))
    wall = Obstacle(name="ramp", solid=HalfSpace(point=(0.0, 0.0, 0.0), normal=tilt))
    post = Obstacle(
        name="post",
        solid=Cylinder(
            frame=axis_frame((50.0, 0.0, 60.0), (0.0, 0.0, 1.0)),
            diameter=30.0,
            height=40.0,
        ),
    )
    field = distance_field((wall, post), step=STEP, most_nodes=MOST_NODES)
    rng = np.random.default_rng(3)
    points = np.array([50.0, 0.0, 60.0]) + rng.uniform(-60.0, 60.0, (500, 3))
    exact = np.minimum(outside_distance((wall, post), points), FARTHEST_TOLD)
    near = (exact > STEP) & (exact < FARTHEST_TOLD - STEP)
    assert near.sum() > 50
    assert np.abs(field.at(points)[near] - exact[near]).max() < 2.0


def test_a_large_case_has_a_wider_grid() -> None:
    corner = (3000.0, 3000.0, 3000.0)
    walls = tuple(
        Obstacle(name=f"{side}", solid=HalfSpace(point=at, normal=normal))
        for side, at, normal in (
            ("-x", (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)),
            ("-y", (0.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
            ("-z", (0.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
            ("+x", corner, (-1.0, 0.0, 0.0)),
            ("+y", corner, (0.0, -1.0, 0.0)),
            ("+z", corner, (0.0, 0.0, -1.0)),
        )
    )
    field = distance_field(walls, step=STEP, most_nodes=MOST_NODES)
    assert field.values.size < 1.1 * MOST_NODES
    assert field.at(np.array([[12.0, 1500.0, 1500.0]]))[0] == pytest.approx(
        12.0, abs=1e-3
    )
