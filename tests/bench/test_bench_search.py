"""How fast the search is, as ratios to general libraries on the same lattice.

Numbers are printed (`pytest -m bench -s`); what is asserted leaves a wide margin, since
other work may be going on beside the tests.
"""

import sys
import time
from collections.abc import Callable
from functools import cache

import networkx as nx
import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from loopsolver.geometry.solids import bounds
from loopsolver.routing.square.field import Field, make_field
from loopsolver.routing.square.lattice import SquareRun, lattice_coordinates, square_run
from loopsolver.routing.square.meet import meetings
from tests.unit.routing.full_cases import random_problem
from tests.unit.routing.state_graph import DIRECTIONS
from tests.unit.routing.touching import clipped_distance

pytestmark = pytest.mark.bench

SEED = 9
"""A case of 40 bodies in which many routes are found."""

TURN_COST = 60.0
"""What a bend is worth in the compared searches, which know one weight only [mm]."""

Coordinates = tuple[np.ndarray, np.ndarray, np.ndarray]


@cache
def case() -> tuple[SquareRun, Coordinates]:
    run = square_run(random_problem(SEED))
    assert run is not None
    return run, lattice_coordinates(run)


def best_time(work: Callable[[], object], *, repeats: int) -> float:
    """The least time of several, which is what other work disturbs least [s]."""
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def search(run: SquareRun, coordinates: Coordinates, *, bends: int) -> Field:
    """The package's search: what is blocked, and all sweeps and meetings."""
    field = make_field(run, coordinates)
    assert meetings(field, bends=bends)
    return field


def free_nodes(run: SquareRun, coordinates: Coordinates) -> np.ndarray:
    """Which nodes keep the clearance; handed to the compared searches for nothing."""
    free = np.ones([len(values) for values in coordinates], dtype=bool)
    for obstacle in run.problem.obstacles:
        low, high = bounds(obstacle.solid)
        window = tuple(
            slice(*np.searchsorted(values, [a - run.reach, b + run.reach]))
            for values, a, b in zip(coordinates, low, high, strict=True)
        )
        near = [values[part] for values, part in zip(coordinates, window, strict=True)]
        points = np.stack(np.meshgrid(*near, indexing="ij"), axis=-1)
        distance = clipped_distance(obstacle.solid, points.reshape(-1, 3))
        free[window] &= (distance >= run.reach - 1e-6).reshape(points.shape[:3])
    return free


def states_graph(free: np.ndarray, coordinates: Coordinates) -> csr_array:
    """Six directions a node: a step on, or a turn into one of four at the node."""
    count = free.size
    numbers = np.arange(count).reshape(free.shape)
    targets = np.zeros((count, 6, 5), dtype=np.int32)
    weights = np.full((count, 6, 5), np.inf)
    every = np.arange(count)
    for way in range(6):
        axis, sign = way // 2, 1 if way % 2 == 0 else -1
        here = [slice(None)] * 3
        there = [slice(None)] * 3
        here[axis] = slice(None, -1) if sign > 0 else slice(1, None)
        there[axis] = slice(1, None) if sign > 0 else slice(None, -1)
        steps = np.diff(coordinates[axis]).reshape(
            [-1 if a == axis else 1 for a in range(3)]
        )
        start, end = numbers[tuple(here)], numbers[tuple(there)]
        may = free[tuple(here)] & free[tuple(there)]
        length = np.where(may, steps, np.inf)
        targets[start.ravel(), way, 0] = end.ravel() * 6 + way
        weights[start.ravel(), way, 0] = length.ravel()
        sideways = [other for other in range(6) if other // 2 != axis]
        for place, other in enumerate(sideways, start=1):
            targets[:, way, place] = every * 6 + other
            weights[:, way, place] = np.where(free.ravel(), TURN_COST, np.inf)
    kept = np.isfinite(weights).reshape(count * 6, 5)
    starts = np.concatenate([[0], np.cumsum(kept.sum(axis=1))]).astype(np.int32)
    chosen = kept.ravel()
    return csr_array(
        (weights.reshape(-1)[chosen], targets.reshape(-1)[chosen], starts),
        shape=(count * 6, count * 6),
    )


def ends_of(run: SquareRun, coordinates: Coordinates) -> tuple[int, int]:
    """The states that a tube starts from and ends in, each by its straight's end."""
    found = []
    for end, outward in ((run.problem.start, 1.0), (run.problem.goal, -1.0)):
        along = np.array(end.direction)
        at = np.array(end.seat) + (end.straight + run.tangent) * along
        node = [
            int(np.abs(c - p).argmin()) for c, p in zip(coordinates, at, strict=True)
        ]
        way = int(np.flatnonzero((outward * along == DIRECTIONS).all(axis=1))[0])
        shape = [len(values) for values in coordinates]
        found.append(int(np.ravel_multi_index(node, shape)) * 6 + way)
    return found[0], found[1]


def every_other(coordinates: Coordinates, share: int) -> Coordinates:
    """A coarser lattice: one coordinate in so many along each axis."""
    x, y, z = (values[::share] for values in coordinates)
    return x, y, z


def test_search_against_scipy_and_networkx(capsys: pytest.CaptureFixture[str]) -> None:
    run, coordinates = case()
    free = free_nodes(run, coordinates)
    source, target = ends_of(run, coordinates)
    reached = []

    def with_scipy() -> None:
        graph = states_graph(free, coordinates)
        reached.append(dijkstra(graph, indices=source)[target])

    theirs = best_time(with_scipy, repeats=1)
    assert np.isfinite(reached[0]), "the compared search finds no way"
    bends = run.problem.max_bends
    ours = best_time(lambda: search(run, coordinates, bends=bends), repeats=5)

    coarse = every_other(coordinates, 4)
    coarse_free = free_nodes(run, coarse)
    begin, _ = ends_of(run, coarse)

    def with_networkx() -> None:
        graph = nx.DiGraph()
        matrix = states_graph(coarse_free, coarse).tocoo()
        rows, cols = matrix.coords
        graph.add_weighted_edges_from(
            zip(rows.tolist(), cols.tolist(), matrix.data.tolist(), strict=True)
        )
        graph.add_node(begin)
        reached.append(len(nx.single_source_dijkstra_path_length(graph, begin)))

    small = best_time(with_networkx, repeats=1)
    assert reached[1] > coarse_free.sum(), "the compared search sees little"
    # In proportion to the nodes: what Dijkstra's queue costs beyond that is left out.
    scaled = small * free.size / coarse_free.size
    with capsys.disabled():
        sys.stdout.write(
            f"\none run, 40 bodies, {free.size} nodes, up to {run.problem.max_bends} "
            "bends, best of several\n"
            f"  search of this package            {ours:9.3f} s\n"
            f"  scipy, build and Dijkstra         {theirs:9.3f} s   "
            f"{theirs / ours:7.0f} times\n"
            f"  networkx on {coarse_free.size} nodes       {small:9.3f} s\n"
            f"  networkx, in proportion           {scaled:9.1f} s   "
            f"{scaled / ours:7.0f} times\n"
        )
    assert theirs / ours > 8.0
    assert scaled / ours > 100.0


def subdivided(coordinates: Coordinates, *, parts: int) -> Coordinates:
    """Every step of a lattice cut into equal parts."""
    x, y, z = (
        np.interp(
            np.arange((len(values) - 1) * parts + 1) / parts,
            np.arange(len(values)),
            values,
        )
        for values in coordinates
    )
    return x, y, z


@pytest.mark.parametrize(("bends", "repeats"), [(5, 3), (7, 1)])
def test_growth_from_one_to_eight_million_nodes(
    bends: int, repeats: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of five bends most walks are flat; of seven they fill the lattice."""
    run, coordinates = case()
    fine = subdivided(coordinates, parts=2)
    nodes = [np.prod([len(values) for values in c]) for c in (coordinates, fine)]
    small = best_time(lambda: search(run, coordinates, bends=bends), repeats=repeats)
    large = best_time(lambda: search(run, fine, bends=bends), repeats=repeats)
    with capsys.disabled():
        sys.stdout.write(
            f"\ngrowth of the search, up to {bends} bends: {nodes[0]} nodes "
            f"{small:.3f} s, {nodes[1]} nodes {large:.3f} s: "
            f"{nodes[1] / nodes[0]:.2f} times the nodes, "
            f"{large / small:.2f} times the time\n"
        )
    assert large / small < 14.0
