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

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.clearance.arcs import Arm
from loopsolver.geometry.vectors import Flags
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

APART_UP_TO: Final = 3
"""Sequences of so many bends each keep their own best; of longer ones there are too many.

Two walks of so many meet in tubes of seven bends, more than any that rules usually allow.
"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Turned:
    """Nodes at which the tube has just turned into a direction.

    Attributes
    ----------
    travel : Arm
        The new direction.
    region : Region
    cost : array over the region [mm]
        Least length of legs from the tube end to the node, with what their space costs;
        inf where there is no way.
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
    """Nodes at which a leg may end in a vertex.

    The first leg's `source` is the tube end that it goes out from.
    """

    travel: Arm
    region: Region
    cost: Costs
    source: Turned | TubeEnd


def is_flat(region: Region) -> bool:
    """Return whether a region is but one node thick."""
    return any(end - begin == 1 for begin, end in region)


def no_region(_: Region) -> bool:
    """Return that no region stays apart: of all sequences only the least is wanted."""
    return False


def walk(
    field: Field,
    ends: Iterable[TubeEnd],
    *,
    stays_apart: Callable[[Region], bool] = is_flat,
) -> Iterator[tuple[Arrived, ...]]:
    """Yield the arrivals after 0, 1, 2, ... bends, walking out from tube ends.

    Which regions of different sequences of directions stay apart says `stays_apart`;
    after more than APART_UP_TO bends none does.
    """
    first = (first_leg(field, end) for end in ends)
    layer = tuple(one for one in first if one is not None)
    for bends in count(1):
        yield layer
        apart = stays_apart if bends <= APART_UP_TO else no_region
        turned = turn(field, layer, stays_apart=apart)
        arrived = (fly(field, start) for start in turned)
        layer = tuple(one for one in arrived if one is not None)


def walks(
    field: Field,
    starts: Iterable[TubeEnd],
    goals: Iterable[TubeEnd],
    *,
    bends: int,
    stays_apart: Callable[[Region], bool] = is_flat,
) -> Iterator[tuple[int, tuple[Arrived, ...], tuple[Arrived, ...]]]:
    """Yield, for 1 to so many bends, the arrivals of both walks that meet in the middle.

    Neither walk goes further before it is asked for.
    """
    out = walk(field, starts, stays_apart=stays_apart)
    home = walk(field, goals, stays_apart=stays_apart)
    outward, homeward = next(out), next(home)
    for number in range(1, bends + 1):
        if number > 1 and number % 2:
            homeward = next(home)
        elif number > 1:
            outward = next(out)
        yield number, outward, homeward


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
    line: list[tuple[int, int]] = [(at, at + 1) for at in field.node_at(end.seat)]
    values = field.travel(travel)
    start = end.seat[travel.axis] * travel.sign
    region: Region = (line[0], line[1], line[2])
    fares = field.fares(travel, lines_of(region, travel.axis))[:, 0, 0]
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
    begun = start + (fares - values)[int(np.argmin(np.abs(values - start)))]
    lengths = _forward(fares[chosen] - begun, travel).astype(np.float32)
    shape = [1, 1, 1]
    shape[travel.axis] = len(chosen)
    return Arrived(
        travel=travel,
        region=(line[0], line[1], line[2]),
        cost=lengths.reshape(shape),
        source=end,
    )


def _forward(values: NDArray[np.float64], travel: Arm) -> NDArray[np.float64]:
    """Return values in travel order as values in order of the nodes, or back."""
    return values if travel.sign > 0 else values[::-1]


def _node_range(count: int, travel: Arm, start: int, end: int) -> tuple[int, int]:
    """Return a range in travel order as a range of nodes."""
    return (start, end) if travel.sign > 0 else (count - end, count - start)


def turn(
    field: Field, arrived: Iterable[Arrived], *, stays_apart: Callable[[Region], bool]
) -> tuple[Turned, ...]:
    """Return all square turns that the arrivals allow, blocked bends left out.

    Those into one direction are drawn together, but for regions that stay apart.
    """
    turned = [
        _turn_one(field, before, travel)
        for before in arrived
        for travel in ARMS
        if travel.axis != before.travel.axis
    ]
    some = [start for start in turned if start is not None]
    flat = [start for start in some if stays_apart(start.region)]
    full = [start for start in some if not stays_apart(start.region)]
    merged = [
        _drawn_together([start for start in full if start.travel == travel])
        for travel in ARMS
        if any(start.travel == travel for start in full)
    ]
    return (*flat, *merged)


def solids_to_clear(field: Field, before: Arrived) -> int:
    """Return how many of the field's solids a bend after `before` must keep clear of.

    The first bend begins in front of its own fitting, as near as the rules let it.
    """
    return (
        field.foreign_solids
        if isinstance(before.source, TubeEnd)
        else len(field.solids)
    )


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
    furthest = np.where(np.isfinite(cost), free + field.run.tangent, -np.inf)
    chosen = np.flatnonzero(
        (values >= here + field.run.least_leg - TOUCH)
        & (values <= furthest.max() + TOUCH)
    )
    if not len(chosen):
        return None
    reached = _forward(values[chosen], travel)[:, None, None]
    fares = field.fares(travel, lines_of(start.region, axis))
    begun = fares[int(np.searchsorted(values, here))]
    legs = (_forward(fares[chosen], travel) - begun).astype(np.float32)
    arrived = cost + legs
    arrived[reached > furthest + TOUCH] = np.inf
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
    would have to cross it: the minimum begins anew, at the first start behind it.
    """
    travel, axis = start.travel, start.travel.axis
    values = field.travel(travel)
    count = len(values)
    low, high = _node_range(count, travel, *start.region[axis])
    last = (
        np.searchsorted(values, values - field.run.least_leg + TOUCH, side="right") - 1
    )
    first_node = int(np.searchsorted(last, low))
    if first_node >= count:
        return None
    fares = field.fares(travel, lines_of(start.region, axis)).astype(np.float32)
    allowed = first_starts(field, travel, lines_of(start.region, axis))
    least = np.moveaxis(start.cost, axis, 0)[:: travel.sign] - fares[low:high]
    goes_on = _goes_on(allowed, low, high)
    for index in range(1, high - low):
        np.minimum(
            least[index], least[index - 1], out=least[index], where=goes_on[index]
        )
    taken = np.minimum(last[first_node:], high - 1)
    arrived = least[taken - low]
    arrived += fares[first_node:]
    arrived[allowed[first_node:] > taken[:, None, None]] = np.inf
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


def _goes_on(allowed: NDArray[np.int16], low: int, high: int) -> Flags:
    """Return at which of the starts from low to high no first start of a node lies."""
    goes_on = np.ones((high - low, *allowed.shape[1:]), dtype=np.bool_)
    node, row, col = np.nonzero(np.diff(allowed, axis=0, prepend=np.int16(0)))
    begins = allowed[node, row, col]
    inside = (begins >= low) & (begins < high)
    goes_on[begins[inside] - low, row[inside], col[inside]] = False
    return goes_on
