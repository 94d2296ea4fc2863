"""Layered sweeps: the least length to every node for each bend count, exactly.

A walk starts at a tube end and goes out bend by bend. After k bends it has arrived, in
some direction, at boxes of nodes; every box keeps the least length of legs so far. The
boxes stay as small as they can: the first leg is a line of nodes, one bend later the
walk fills half planes, two bends later parts of the whole lattice. Boxes of different
sequences of directions stay apart while they are flat, so that each sequence keeps its
own best; boxes that fill space are drawn together.

Only the tube must be free, not its vertices: a leg asks for its straight, from one
tangent length after its first vertex to one before its last.

References
----------
Bellman, On a routing problem, Quarterly of Applied Mathematics 16 (1958): least lengths
by the number of steps, here legs. From memory. The boxes of nodes are our own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopsolver.clearance.arcs import Arm
from loopsolver.routing.control import heed_time
from loopsolver.routing.problem import TubeEnd
from loopsolver.routing.square.field import (
    Field,
    Region,
    bends_blocked,
    first_starts,
    free_until,
    lines_of,
)
from loopsolver.tolerances import TOUCH

Costs = NDArray[np.float32]

ARMS = tuple(Arm(axis, sign) for axis in range(3) for sign in (1, -1))
"""The six directions of travel."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Turned:
    """Nodes at which the tube has just turned into a direction.

    Attributes
    ----------
    travel : Arm
        The new direction.
    region : Region
    cost : array over the region [mm]
        Least length of legs from the tube end to the node; inf where there is no way.
    parents : tuple of Arrived
        What may have come before.
    via : array over the region, or None
        Which parent the least length comes from; None where there is only one.
    """

    travel: Arm
    region: Region
    cost: Costs
    parents: tuple[Arrived, ...]
    via: NDArray[np.int16] | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arrived:
    """Nodes at which a leg may end in a vertex; `source` is None for the first leg."""

    travel: Arm
    region: Region
    cost: Costs
    source: Turned | None = None


def walk(field: Field, end: TubeEnd, *, bends: int) -> tuple[tuple[Arrived, ...], ...]:
    """Return the arrivals after 0, 1, ... `bends` bends, walking out from a tube end."""
    first = first_leg(field, end)
    layers: list[tuple[Arrived, ...]] = [() if first is None else (first,)]
    for _ in range(bends):
        turned = turn(field, layers[-1])
        arrived = (fly(field, start) for start in turned)
        layers.append(tuple(a for a in arrived if a is not None))
    return tuple(layers)


def arm_along(direction: Sequence[float]) -> Arm:
    """Return the arm of a direction that lies along an axis."""
    axis = int(np.argmax(np.abs(direction)))
    return Arm(axis, 1 if direction[axis] > 0 else -1)


def opposite(arm: Arm) -> Arm:
    """Return the arm that points the other way."""
    return Arm(arm.axis, -arm.sign)


def first_leg(field: Field, end: TubeEnd) -> Arrived | None:
    """Return where the first vertex may lie: nodes on the line out of the fitting."""
    travel = arm_along(end.direction)
    seat = [
        int(np.argmin(np.abs(c - p)))
        for c, p in zip(field.coordinates, end.seat, strict=True)
    ]
    line: list[tuple[int, int]] = [(index, index + 1) for index in seat]
    values = field.travel(travel)
    start = end.seat[travel.axis] * travel.sign
    region: Region = (line[0], line[1], line[2])
    free = free_until(
        field.foreign[travel.axis],
        travel,
        lines_of(region, travel.axis),
        beyond=start + end.covered,
    )
    furthest = free[0, 0] + field.run.tangent
    least = start + end.straight + field.run.tangent - TOUCH
    chosen = np.flatnonzero((values >= least) & (values <= furthest + TOUCH))
    if not len(chosen):
        return None
    bounds = _node_range(len(values), travel, int(chosen[0]), int(chosen[-1]) + 1)
    line[travel.axis] = bounds
    lengths = _forward(values[chosen] - start, travel).astype(np.float32)
    shape = [1, 1, 1]
    shape[travel.axis] = len(chosen)
    return Arrived(
        travel=travel,
        region=(line[0], line[1], line[2]),
        cost=lengths.reshape(shape),
    )


def _forward(values: NDArray[np.float64], travel: Arm) -> NDArray[np.float64]:
    """Return values in travel order as values in order of the nodes, or back."""
    return values if travel.sign > 0 else values[::-1]


def _node_range(count: int, travel: Arm, start: int, end: int) -> tuple[int, int]:
    """Return a range in travel order as a range of nodes."""
    return (start, end) if travel.sign > 0 else (count - end, count - start)


def turn(field: Field, arrived: Iterable[Arrived]) -> tuple[Turned, ...]:
    """Return all square turns that the arrivals allow, blocked bends left out."""
    turned = [
        _turn_one(field, before, travel)
        for before in arrived
        for travel in ARMS
        if travel.axis != before.travel.axis
    ]
    some = [start for start in turned if start is not None]
    flat = [start for start in some if _is_flat(start.region)]
    full = [start for start in some if not _is_flat(start.region)]
    merged = [
        _drawn_together([start for start in full if start.travel == travel])
        for travel in ARMS
        if any(start.travel == travel for start in full)
    ]
    return (*flat, *merged)


def _is_flat(region: Region) -> bool:
    return any(end - begin == 1 for begin, end in region)


def solids_to_clear(field: Field, before: Arrived) -> int:
    """Return how many of the field's solids a bend after `before` must keep clear of.

    The first bend begins in front of its own fitting, as near as the rules let it.
    """
    return field.foreign_solids if before.source is None else len(field.solids)


def _turn_one(field: Field, before: Arrived, travel: Arm) -> Turned | None:
    blocked = bends_blocked(
        field,
        (opposite(before.travel), travel),
        before.region,
        among=solids_to_clear(field, before),
    )
    cost = before.cost
    if blocked is not None:
        cost = np.where(blocked, np.float32(np.inf), cost)
        if not np.isfinite(cost).any():
            return None
    return Turned(travel=travel, region=before.region, cost=cost, parents=(before,))


def _drawn_together(turned: list[Turned]) -> Turned:
    """Return turns into one direction as one, with the best parent of every node."""
    region = tuple(
        (
            min(start.region[axis][0] for start in turned),
            max(start.region[axis][1] for start in turned),
        )
        for axis in range(3)
    )
    whole: Region = (region[0], region[1], region[2])
    shape = [end - begin for begin, end in whole]
    cost = np.full(shape, np.inf, dtype=np.float32)
    via = np.zeros(shape, dtype=np.int16)
    for number, start in enumerate(turned):
        place = tuple(
            slice(low - base, high - base)
            for (low, high), (base, _) in zip(start.region, whole, strict=True)
        )
        better = start.cost < cost[place]
        np.copyto(cost[place], start.cost, where=better)
        np.copyto(via[place], np.int16(number), where=better)
    parents = tuple(start.parents[0] for start in turned)
    return Turned(
        travel=turned[0].travel, region=whole, cost=cost, parents=parents, via=via
    )


def fly(field: Field, start: Turned) -> Arrived | None:
    """Return where one leg takes a tube that has just turned, or None."""
    heed_time()
    begin, end = start.region[start.travel.axis]
    return (
        _fly_from_one(field, start)
        if end - begin == 1
        else _fly_from_many(field, start)
    )


def _fly_from_one(field: Field, start: Turned) -> Arrived | None:
    """Fly from a region that is one node thick along the direction of travel."""
    travel, axis = start.travel, start.travel.axis
    values = field.travel(travel)
    here = float(field.coordinates[axis][start.region[axis][0]]) * travel.sign
    cost = np.moveaxis(start.cost, axis, 0)[0]
    free = free_until(
        field.shadows[axis],
        travel,
        lines_of(start.region, axis),
        beyond=here + field.run.tangent,
    )
    furthest = free + field.run.tangent
    furthest = np.where(np.isfinite(cost), furthest, -np.inf)
    chosen = np.flatnonzero(
        (values >= here + field.run.least_leg - TOUCH)
        & (values <= furthest.max() + TOUCH)
    )
    if not len(chosen):
        return None
    reached = _forward(values[chosen], travel)[:, None, None]
    legs = (reached - here).astype(np.float32)
    arrived = np.where(reached <= furthest + TOUCH, cost + legs, np.float32(np.inf))
    region = list(start.region)
    region[axis] = _node_range(len(values), travel, int(chosen[0]), int(chosen[-1]) + 1)
    return Arrived(
        travel=travel,
        region=(region[0], region[1], region[2]),
        cost=np.moveaxis(arrived, 0, axis),
        source=start,
    )


def _fly_from_many(field: Field, start: Turned) -> Arrived | None:
    """Fly from a thick region: a running minimum of cost less coordinate.

    A shadow comes into view when the far tangent point passes its near end. All starts
    taken until then lie more than a tangent length before that shadow, so each of them
    would have to cross it: the minimum empties, and later starts count only from
    `first_starts` on.
    """
    travel, axis = start.travel, start.travel.axis
    values = field.travel(travel)
    count = len(values)
    low, high = _node_range(count, travel, *start.region[axis])
    cost = np.moveaxis(start.cost, axis, 0)[:: travel.sign]
    allowed = first_starts(field, travel, lines_of(start.region, axis))
    last = (
        np.searchsorted(values, values - field.run.least_leg + TOUCH, side="right") - 1
    )
    first_node = int(np.searchsorted(last, low))
    if first_node >= count:
        return None
    arrived = np.full((count - first_node, *cost.shape[1:]), np.inf, dtype=np.float32)
    least = np.full(cost.shape[1:], np.inf, dtype=np.float32)
    taken = low - 1
    for node in range(first_node, count):
        begins = allowed[node]
        np.copyto(least, np.float32(np.inf), where=begins > taken)
        for index in range(taken + 1, min(int(last[node]), high - 1) + 1):
            new = cost[index - low] - np.float32(values[index])
            np.minimum(least, new, out=least, where=begins <= index)
        taken = max(taken, int(last[node]))
        np.add(least, np.float32(values[node]), out=arrived[node - first_node])
    if not np.isfinite(arrived).any():
        return None
    region = list(start.region)
    region[axis] = _node_range(count, travel, first_node, count)
    return Arrived(
        travel=travel,
        region=(region[0], region[1], region[2]),
        cost=np.moveaxis(arrived[:: travel.sign], 0, axis),
        source=start,
    )
