"""Contested space: what is near a tube by dense sampling, and nets by brute force."""

import random
from itertools import combinations, pairwise, product

import numpy as np
import pytest
from scipy.spatial import cKDTree

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.loop.contested_space import near_edges, tolls_of
from loopsolver.routing.loop.obstruction import tube_obstacles
from loopsolver.tube.centreline import Centreline, sample
from tests.full import few_or_all
from tests.published.grid_scenes import Grid
from tests.unit.routing.crowded_loops import APART, gate_loop
from tests.unit.routing.known_loops import nearest
from tests.unit.routing.loop.negotiations import negotiated_grid, negotiated_scene

BENT = Centreline(
    vertices=((10.0, 10.0, 10.0), (10.0, 10.0, 62.0), (70.0, 10.0, 62.0)), radius=18.0
)
REACH, RADIUS, STEP = 8.0, 5.0, 0.05


def test_edges_near_a_tube_by_dense_sampling() -> None:
    axis = cKDTree(sample(BENT, spacing=0.2))
    coordinates = tuple(np.arange(-4.0, 90.0, by) for by in (7.0, 5.0, 9.0))
    solids = tube_obstacles(BENT, tube_radius=RADIUS, reach=REACH, name="tube")
    near = near_edges([(one.solid, REACH) for one in solids], coordinates)
    rng = np.random.default_rng(0)
    seen = {"whole": 0, "part": 0, "none": 0}
    for _ in range(400):
        along = int(rng.integers(0, 3))
        place = [int(rng.integers(0, len(each) - 1)) for each in coordinates]
        start = np.array([each[n] for each, n in zip(coordinates, place, strict=True)])
        length = float(np.diff(coordinates[along])[place[along]])
        points = start + np.outer(np.arange(STEP / 2, length, STEP), np.eye(3)[along])
        apart = axis.query(points)[0]
        wanted = float((apart < RADIUS + REACH).sum()) * STEP
        across = [place[other] for other in range(3) if other != along]
        found = float(near[along][place[along], across[0], across[1]])
        # Of an edge near two pieces of the tube the greater part counts.
        assert found <= wanted + 0.3
        assert found >= wanted / 2.0 - 0.3
        is_whole = wanted > length - STEP
        seen["whole" if is_whole else "part" if wanted else "none"] += 1
    assert min(seen.values()) >= 10
    x, _, _ = tolls_of(near)
    assert x.shape[0] == len(coordinates[0])
    assert np.allclose(np.diff(x, axis=0), near[0], atol=1e-3)


@pytest.mark.parametrize("seed", few_or_all([1], [1, 2, 3]))
def test_tubes_side_by_side_in_a_gate_no_wider_than_they_need(seed: int) -> None:
    scene, known = gate_loop(seed, runs=4)
    for one, other in combinations(known, 2):
        assert nearest(one.points, other.points) >= APART - 1e-6
    found = negotiated_scene(scene, RANKINGS["bends"], times=1)
    assert len(found.routes) == len(known)
    assert found.total[0] <= sum(one.bends for one in known)


# ------------------------------------------------------ two nets on a small grid


def random_grid(seed: int) -> Grid:
    rng = random.Random(seed)
    size = (4, 3, 1)
    ends = rng.sample([*product(*map(range, size))], 4)
    return Grid(size=size, nets=((ends[0], ends[1]), (ends[2], ends[3])))


def paths(grid: Grid, start, goal, closed):
    """Every way from cell to cell that passes none twice, and none of those closed."""
    stack = [(start,)]
    while stack:
        path = stack.pop()
        if path[-1] == goal:
            yield path
            continue
        for axis, step in product(range(3), (-1, 1)):
            cell = list(path[-1])
            cell[axis] += step
            new = tuple(cell)
            if (
                0 <= cell[axis] < grid.size[axis]
                and new not in path
                and new not in closed
            ):
                stack.append((*path, new))


def price(path) -> int:
    """Cells and bends."""
    steps = [tuple(np.subtract(b, a)) for a, b in pairwise(path)]
    return len(steps) + sum(a != b for a, b in pairwise(steps))


def least_together(grid: Grid) -> int | None:
    """The least price of two nets that share no cell, over all pairs of routes."""
    (a, b), (c, d) = grid.nets
    first = [(price(p), {*p}) for p in paths(grid, a, b, {c, d})]
    second = [(price(p), {*p}) for p in paths(grid, c, d, {a, b})]
    sums = [m + n for (m, p), (n, q) in product(first, second) if not p & q]
    return min(sums, default=None)


@pytest.mark.parametrize("seed", few_or_all(range(8), range(60)))
def test_two_nets_equal_brute_force_over_all_pairs_of_routes(seed: int) -> None:
    grid = random_grid(seed)
    wanted = least_together(grid)
    found = negotiated_grid(grid, times=3)
    if wanted is None:
        assert len(found.routes) < 2
    else:
        assert len(found.routes) == 2
        assert found.total[0] == pytest.approx(wanted, abs=0.02)
