"""From costs back to the vertices of a route."""

from __future__ import annotations

import numpy as np

from loopsolver.clearance.shadows import cross_axes
from loopsolver.routing.problem import TubeEnd
from loopsolver.routing.square.field import Field, Range, shadows_on
from loopsolver.routing.square.sweep import Arrived, Turned
from loopsolver.tolerances import TOUCH

Node = tuple[int, int, int]


def trace(field: Field, arrived: Arrived, node: Node) -> tuple[TubeEnd, list[Node]]:
    """Return the tube end, and the vertices between it and `node` in order.

    Parameters
    ----------
    arrived : Arrived
        What holds the node; its least length there must be finite.
    """
    before: list[Node] = []
    while isinstance(source := arrived.source, Turned):
        node = _leg_start(field, source, node)
        before.append(node)
        arrived = source.parents[_parent(source, node)]
    return source, before[::-1]


def _parent(source: Turned, node: Node) -> int:
    if source.via is None:
        return 0
    return int(source.via[_inside(source, node)])


def _inside(source: Turned, node: Node) -> Node:
    x, y, z = (n - r[0] for n, r in zip(node, source.region, strict=True))
    return x, y, z


def _leg_start(field: Field, source: Turned, node: Node) -> Node:
    """Return the node from which the least length to `node` along one leg comes."""
    travel, axis = source.travel, source.travel.axis
    begin, end = source.region[axis]
    if end - begin == 1:
        return _at(node, axis, begin)
    values = field.coordinates[axis][begin:end] * travel.sign
    here = float(field.coordinates[axis][node[axis]]) * travel.sign
    first, second = cross_axes(axis)
    inside = _inside(source, node)
    line = np.moveaxis(source.cost, axis, 0)[:, inside[first], inside[second]]
    one: tuple[Range, Range] = (
        (node[first], node[first] + 1),
        (node[second], node[second] + 1),
    )
    fares = field.fares(travel, one)[:, 0, 0][:: travel.sign]
    cost = line.astype(np.float64) + (fares[node[axis]] - fares[begin:end])
    cost[values > here - field.run.least_leg + TOUCH] = np.inf
    tangent = field.run.tangent
    for _, low, high in shadows_on(field.shadows[axis], travel, one):
        if low[0, 0] < here - tangent:
            cost[high[0, 0] > values + tangent] = np.inf
    return _at(node, axis, begin + int(np.argmin(cost)))


def _at(node: Node, axis: int, index: int) -> Node:
    moved = list(node)
    moved[axis] = index
    return moved[0], moved[1], moved[2]
