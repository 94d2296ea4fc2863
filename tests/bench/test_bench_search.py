"""How fast the search is, as ratios to general libraries on the same lattice."""

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
from tests.full import few_or_all
from tests.interleaved import Measured, in_turn
from tests.unit.routing.full_cases import random_problem
from tests.unit.routing.state_graph import DIRECTIONS
from tests.unit.routing.touching import clipped_distance

pytestmark = pytest.mark.bench

SEED = 9
"""A case of 40 bodies in which many routes are found."""

TURN_COST = 60.0
"""What a bend is worth in the compared searches, which know one weight only [mm]."""

PAIRS = len(few_or_all(range(2), range(5)))

Coordinates = tuple[np.ndarray, np.ndarray, np.ndarray]


@cache
def case() -> tuple[SquareRun, Coordinates]:
    run = square_run(random_problem(SEED))
    assert run is not None
    return run, lattice_coordinates(run)


def search(run: SquareRun, coordinates: Coordinates, *, bends: int) -> Field:
    """The package's search: what is blocked, and all sweeps and meetings."""
    field = make_field(run, coordinates)
    assert [*meetings(field, bends=bends)]
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


def test_scipy_against_the_search(measured: Measured) -> None:
    """Building the graph of states and one Dijkstra, against all sweeps and meetings."""
    run, coordinates = case()
    free = free_nodes(run, coordinates)
    source, target = ends_of(run, coordinates)
    reached = []

    def with_scipy() -> None:
        graph = states_graph(free, coordinates)
        reached.append(dijkstra(graph, indices=source)[target])

    def ours() -> None:
        search(run, coordinates, bends=run.problem.max_bends)

    pair = in_turn({"ours": ours, "scipy": with_scipy}, pairs=PAIRS)
    assert np.isfinite(reached).all(), "the compared search finds no way"
    measured(f"one run, 40 bodies, {free.size} nodes", pair, most=1.0 / 8.0)
    assert pair.ratio <= 1.0 / 8.0


def test_networkx_against_the_search(measured: Measured) -> None:
    """On a coarser lattice, in proportion to the nodes.

    What Dijkstra's queue costs beyond that is left out.
    """
    run, coordinates = case()
    coarse = every_other(coordinates, 4)
    free = free_nodes(run, coarse)
    begin, _ = ends_of(run, coarse)
    nodes = np.prod([len(values) for values in coordinates])
    reached = []

    def with_networkx() -> None:
        graph = nx.DiGraph()
        matrix = states_graph(free, coarse).tocoo()
        rows, cols = matrix.coords
        graph.add_weighted_edges_from(
            zip(rows.tolist(), cols.tolist(), matrix.data.tolist(), strict=True)
        )
        graph.add_node(begin)
        reached.append(len(nx.single_source_dijkstra_path_length(graph, begin)))

    def ours() -> None:
        search(run, coordinates, bends=run.problem.max_bends)

    pair = in_turn({"ours": ours, "networkx": with_networkx}, pairs=PAIRS)
    assert min(reached) > free.sum(), "the compared search sees little"
    most = nodes / free.size / 100.0
    what = f"one run, 40 bodies, {nodes} nodes, of which networkx gets {free.size}"
    measured(what, pair, most=most)
    assert pair.ratio <= most


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


@pytest.mark.parametrize("bends", few_or_all((5,), (5, 7)))
def test_eight_million_nodes_against_one(bends: int, measured: Measured) -> None:
    """Of five bends most walks are flat; of seven they fill the lattice."""
    run, coordinates = case()
    fine = subdivided(coordinates, parts=2)
    few, many = (np.prod([len(values) for values in c]) for c in (coordinates, fine))
    pair = in_turn(
        {
            f"{many} nodes": lambda: search(run, fine, bends=bends),
            f"{few} nodes": lambda: search(run, coordinates, bends=bends),
        },
        pairs=3,
    )
    measured(f"{many / few:.2f} times the nodes, up to {bends} bends", pair, most=14.0)
    assert pair.ratio <= 14.0
