"""Routes with many bends of any angle, over legs between roomy places of the case.

Of every cell of a grid the roomiest place is a node, and two nodes are joined where the
straight between them is free. A sweep from either port finds for every leg, bend count by
bend count, the shortest tube that comes along it; where two sweeps meet on a leg there is
a route, the shortest by that leg or nearly so: of two tubes that come along a leg only the
shorter is kept, though the other may leave more of the leg for the next bend.

References
----------
Sweeps over the legs of a graph, not over its nodes, as a leg tells what a turn costs: T.
Caldwell, On finding minimum routes in a network with turn penalties, Communications of
the ACM 4 (1961). From memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Indices
from loopsolver.routing.angled.closed_routes import shortest
from loopsolver.routing.angled.waypoint_grid import (
    Fan,
    Limits,
    fan,
    limits_of,
    with_room,
)
from loopsolver.routing.control import heed_time
from loopsolver.routing.problem import RouteProblem

FEWEST_EACH: Final = 2
"""A tube has bent on its port's axis and at a node before it comes along a leg."""

FEWEST_OVER_GRAPH: Final = 2 * FEWEST_EACH
"""Bends of a tube that comes along a leg from either end."""

MOST_OVER_GRAPH: Final = 10
"""Tubes of more bends than this are not looked for: nobody bends them. No source."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Graph:
    """Nodes (n, 3) [mm], and the legs between them: each in both directions.

    Attributes
    ----------
    tails, heads : int arrays (legs,)
    lengths : array (legs,) [mm]
    ways : array (legs, 3)
        Directions.
    back : int array (legs,)
        The number of the same leg the other way.
    """

    nodes: Array
    tails: Indices
    heads: Indices
    lengths: Array
    ways: Array
    back: Indices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Arrivals:
    """The tubes that come to a node: by which leg, which way, and as in `_Sweep`."""

    numbers: Indices
    ways: Array
    costs: Array
    left: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sweep:
    """The shortest tubes with so many bends that come along each leg.

    Attributes
    ----------
    costs : array (legs,) [mm]
        From the seat to the leg's head, the bends made so far reckoned; inf for none.
    left : array (legs,) [mm]
        What of the leg lies beyond its first bend.
    before : int array (legs,)
        The leg before; of two bends the place on the port's axis.
    """

    costs: Array
    left: Array
    before: Indices


def graph_routes(
    problem: RouteProblem, *, angles: tuple[float, ...] = ()
) -> Iterator[Array]:
    """Yield routes of four bends, of five and so on, shorter ones first.

    Parameters
    ----------
    problem : RouteProblem
    angles : tuple of float [rad]
        Where there are any, all bends are near one of these.

    Yields
    ------
    array (n, bends + 2, 3) [mm]
    """
    if problem.max_bends < FEWEST_OVER_GRAPH:
        return
    plain, effort = limits_of(problem, FEWEST_OVER_GRAPH), problem.effort.laying_out
    graph, limits = _graph(plain), replace(plain, angles=angles)
    fans = [fan(end, graph.nodes, limits) for end in (problem.start, problem.goal)]
    onward = [_sweeps(graph, one, limits) for one in fans]
    out, home = ([next(sweeps)] for sweeps in onward)
    for bends in range(FEWEST_OVER_GRAPH, min(problem.max_bends, MOST_OVER_GRAPH) + 1):
        while len(out) < bends - bends // 2 - 1:
            out.append(next(onward[0]))
            home.append(next(onward[1]))
        found = []
        for first in {bends // 2, bends - bends // 2}:
            before, after = out[: first - 1], home[: bends - first - 1]
            met, costs = _met(graph, before[-1], after[-1], limits)
            best = shortest(costs, effort.most_over_waypoints)
            begin = _traced(graph, fans[0], before, met[best])
            finish = _traced(graph, fans[1], after, graph.back[met[best]])
            found.append((costs[best], np.concatenate([begin, finish[:, ::-1]], 1)))
        lengths, inner = map(np.concatenate, zip(*found, strict=True))
        best = shortest(lengths, effort.most_over_waypoints)
        ends = [
            np.broadcast_to(np.asarray(end.seat), (len(best), 1, 3))
            for end in (problem.start, problem.goal)
        ]
        yield np.concatenate([ends[0], inner[best], ends[1]], axis=1)


def _roomiest(limits: Limits) -> Array:
    """Return the roomiest place of every cell that has any room, (n, 3) [mm]."""
    field, effort = limits.field, limits.effort.laying_out
    least = limits.reach + limits.lacking - effort.waypoint_corner
    every = max(1, round(effort.many_waypoints_step / field.step))
    while True:
        cells = [-(-size // every) for size in field.values.shape]
        padding = [
            (0, every * n - size)
            for n, size in zip(cells, field.values.shape, strict=True)
        ]
        values = np.pad(field.values, padding, constant_values=-np.inf)
        blocks = values.reshape(cells[0], every, cells[1], every, cells[2], every)
        blocks = blocks.transpose(0, 2, 4, 1, 3, 5).reshape(*cells, every**3)
        best = blocks.argmax(axis=3)
        roomy = np.argwhere(blocks.max(axis=3) >= least)
        if len(roomy) <= effort.most_nodes:
            break
        every += 1
    within = np.stack(np.unravel_index(best[tuple(roomy.T)], (every,) * 3), axis=1)
    nodes: Array = field.low + field.step * (every * roomy + within)
    return nodes


@lru_cache(maxsize=1)
def _graph(limits: Limits) -> _Graph:
    """Return the nodes with the legs that are free and long enough for a bend or two.

    The last is kept: several lists of angles are tried one after the other.
    """
    nodes, effort = _roomiest(limits), limits.effort.laying_out
    one, other = np.triu_indices(len(nodes), 1)
    lengths = np.linalg.norm(nodes[other] - nodes[one], axis=1)
    least = limits.straight - limits.lacking
    some = np.flatnonzero((lengths >= least) & (lengths <= effort.longest_leg))
    one, other = one[some], other[some]
    corner = np.full(len(one), effort.waypoint_corner)
    some = np.flatnonzero(with_room(limits, nodes[one], nodes[other], corner))
    one, other = one[some], other[some]
    tails, heads = np.concatenate([one, other]), np.concatenate([other, one])
    legs = nodes[heads] - nodes[tails]
    sizes = np.linalg.norm(legs, axis=1)
    number = np.arange(len(one))
    return _Graph(
        nodes=nodes,
        tails=tails,
        heads=heads,
        lengths=sizes,
        ways=legs / sizes[:, None],
        back=np.concatenate([number + len(one), number]),
    )


def _sweeps(graph: _Graph, ends: Fan, limits: Limits) -> Iterator[_Sweep]:
    """Yield the sweeps from a port: of two bends, of three, and so on."""
    nodes = len(graph.nodes)
    leaving, arriving = (_by_node(of, nodes) for of in (graph.tails, graph.heads))
    left = np.linalg.norm(graph.nodes - ends.vertices[:, None], axis=2) - ends.outs
    places = np.arange(len(ends.vertices))
    came = [
        _Arrivals(
            numbers=places,
            ways=ends.directions[:, node],
            costs=ends.legs[:, node],
            left=left[:, node],
        )
        for node in range(nodes)
    ]
    while True:
        sweep = _swept(graph, came, leaving, limits)
        yield sweep
        came = [
            _Arrivals(
                numbers=legs,
                ways=graph.ways[legs],
                costs=sweep.costs[legs],
                left=sweep.left[legs],
            )
            for legs in arriving
        ]


def _swept(
    graph: _Graph, came: list[_Arrivals], leaving: list[Indices], limits: Limits
) -> _Sweep:
    """Return the shortest tubes along each leg that bend at the end of another."""
    count, short = len(graph.tails), limits.straight - limits.lacking
    costs, left = np.full(count, np.inf), np.zeros(count)
    before = np.zeros(count, dtype=np.intp)
    for arrivals, onward in zip(came, leaving, strict=True):
        heed_time()
        known = np.flatnonzero(np.isfinite(arrivals.costs))
        if not len(known) or not len(onward):
            continue
        ways, sizes = arrivals.ways[known], graph.lengths[onward]
        angle = np.arccos(np.clip(ways @ graph.ways[onward].T, -1.0, 1.0))
        out = limits.outs(angle)
        fits = (arrivals.left[known, None] - out >= short) & (sizes - out >= short)
        total = np.where(fits, sizes - 2.0 * out + limits.radius * angle, np.inf)
        total += arrivals.costs[known, None]
        best, each = total.argmin(axis=0), np.arange(len(onward))
        costs[onward] = total[best, each]
        left[onward] = sizes - out[best, each]
        before[onward] = arrivals.numbers[known[best]]
    return _Sweep(costs=costs, left=left, before=before)


def _by_node(ends: Indices, nodes: int) -> list[Indices]:
    """Return for every node the legs that have it at one end."""
    order = np.argsort(ends, kind="stable")
    return np.split(order, np.searchsorted(ends[order], np.arange(nodes + 1)))[1:-1]


def _met(
    graph: _Graph, out: _Sweep, home: _Sweep, limits: Limits
) -> tuple[Indices, Array]:
    """Return the legs on which two sweeps meet, and the lengths of the tubes [mm]."""
    costs = out.costs + home.costs[graph.back] - graph.lengths
    left = out.left + home.left[graph.back] - graph.lengths
    met = np.flatnonzero(
        np.isfinite(costs) & (left >= limits.straight - limits.lacking)
    )
    return met, costs[met]


def _traced(graph: _Graph, ends: Fan, sweeps: list[_Sweep], legs: Indices) -> Array:
    """Return the vertices from a port's axis to the tails of some legs, (n, bends, 3)."""
    vertices = []
    for sweep in sweeps[::-1]:
        vertices.append(graph.nodes[graph.tails[legs]])
        legs = sweep.before[legs]
    vertices.append(ends.vertices[legs])
    return np.stack(vertices[::-1], axis=1)
