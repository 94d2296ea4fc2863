"""Priced routes against an exhaustive Dijkstra over the states of small random runs."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from loopsolver.geometry.vectors import AXES
from loopsolver.routing.problem import TubeEnd
from loopsolver.routing.square.field import Field, known_throughout, make_field
from loopsolver.routing.square.lattice import SquareRun
from loopsolver.routing.square.priced import priced_routes
from tests.builders.small_runs import random_small_run
from tests.full import few_or_all
from tests.unit.routing.state_graph import StateGraph, TooCloseError

BEND = 30.0
MOST = 5
SINGLE = 1e-2
"""Sums of lengths and prices are kept in float32; over some metres that is good to this."""


def random_tolls(rng: np.random.Generator, coordinates):
    """What the space up to each node costs: of every edge up to twice its length."""
    tolls = []
    for axis, values in enumerate(coordinates):
        across = [len(each) for other, each in enumerate(coordinates) if other != axis]
        prices = rng.choice([0.0, 0.0, 0.5, 2.0], (len(values) - 1, *across))
        edges = prices * np.diff(values)[:, None, None]
        tolls.append(np.concatenate([np.zeros((1, *across)), np.cumsum(edges, axis=0)]))
    return tuple(tolls)


class PricedGraph(StateGraph):
    """A run's states, where a leg costs what its space costs as well."""

    def __init__(self, run: SquareRun, coordinates, tolls) -> None:
        self.tolls = [np.moveaxis(each, 0, a).ravel() for a, each in enumerate(tolls)]
        super().__init__(run, coordinates, bends=MOST)

    def _legs(self):
        legs = super()._legs()
        more = np.zeros(len(legs.length))
        for axis, toll in enumerate(self.tolls):
            along = legs.direction // 2 == axis
            more[along] = np.abs(toll[legs.end[along]] - toll[legs.start[along]])
        return replace(legs, length=legs.length + more)

    def _end_legs(self, end: TubeEnd):
        nodes, lengths, direction = super()._end_legs(end)
        seat = int(np.linalg.norm(self.points - np.array(end.seat), axis=1).argmin())
        toll = self.tolls[direction // 2]
        return nodes, lengths + np.abs(toll[nodes] - toll[seat]), direction

    def least(self) -> float:
        return min(n * BEND + cost for n, cost in enumerate(self.least_lengths(), 1))


def paid(field: Field, vertices) -> float:
    """What the legs of a route cost, read off the tolls."""
    assert field.tolls is not None
    total = (len(vertices) - 2) * BEND
    for one, two in pairwise(vertices):
        axis = int(np.abs(np.subtract(two, one)).argmax())
        a, b = field.node_at(one), field.node_at(two)
        across = [n for other, n in enumerate(a) if other != axis]
        toll = field.tolls[axis][:, across[0], across[1]]
        total += abs(two[axis] - one[axis]) + abs(toll[b[axis]] - toll[a[axis]])
    return total


@pytest.mark.parametrize("seed", few_or_all(range(24), range(200)))
def test_the_cheapest_route_of_two_starts_equals_dijkstra(seed: int) -> None:
    rng = np.random.default_rng(seed)
    run, coordinates = random_small_run(rng)
    run = replace(run, problem=replace(run.problem, max_bends=MOST))
    start = run.problem.start
    aside = rng.choice([n for n in AXES if abs(np.dot(AXES[n], start.direction)) < 0.5])
    starts = [start, replace(start, direction=AXES[str(aside)])]
    tolls = random_tolls(rng, coordinates)
    try:
        wanted = min(
            PricedGraph(
                replace(run, problem=replace(run.problem, start=one)),
                coordinates,
                tolls,
            ).least()
            for one in starts
        )
    except TooCloseError:
        pytest.skip("something lies within a hair of its limit")
    field = replace(known_throughout(make_field(run, coordinates)), tolls=tolls)
    bent = (
        (cost, vertices)
        for cost, vertices in priced_routes(
            field, starts, [run.problem.goal], bend_worth=BEND
        )
        if len(vertices) > 2
    )
    cost, vertices = next(bent, (np.inf, ()))
    assert cost == pytest.approx(wanted, abs=SINGLE)
    if vertices:
        assert paid(field, vertices) == pytest.approx(cost, abs=SINGLE)
