"""Where two walks, one from either end of the tube, meet in a last bend.

A tube of b bends has one vertex in the middle: some bends before it belong to the walk
from the start, the rest to the walk from the goal. The least sum of both walks over all
nodes, with the bend between them free, is the shortest tube of b bends; the sums at
other nodes and of other sequences of directions are the different ways round.

References
----------
Pohl, Bi-directional search, Machine Intelligence 6 (1971). From memory; here both
searches are made in full, so that what meets is the least.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from loopsolver.clearance.arcs import Arm
from loopsolver.geometry.vectors import Point, point
from loopsolver.routing.square.field import (
    Field,
    Region,
    bends_blocked_by,
    near_solids,
    region_coordinates,
)
from loopsolver.routing.square.sweep import (
    Arrived,
    Costs,
    opposite,
    solids_to_clear,
    walks,
)
from loopsolver.routing.square.trace import Node, trace

APART: Final = 40.0
"""Routes of one sequence are looked for at least this far from one another [mm].

About the width of a tube and a hand's room beside it; common practice, no source.
"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Meeting:
    """A node in which a walk from the start and one from the goal meet.

    `legs` is the sum of all legs [mm]; `bends` counts the bend at the node too.
    """

    legs: float
    bends: int
    node: Node
    outward: Arrived
    homeward: Arrived


def meetings(field: Field, *, bends: int) -> Iterator[Meeting]:
    """Yield the best meetings for every bend count from 1 to `bends`, shortest first.

    For each bend count the shortest of all is among them; after it come the best of
    other sequences of directions, and of the same sequence further away. No more bends
    are looked for before they are asked for.
    """
    problem = field.run.problem
    for count, out, home in walks(field, [problem.start], [problem.goal], bends=bends):
        found = [
            meeting
            for outward, homeward in product(out, home)
            for meeting in _best_in(field, outward, homeward, bends=count)
        ]
        yield from sorted(found, key=lambda meeting: (meeting.legs, meeting.node))


def vertices(field: Field, meeting: Meeting) -> tuple[Point, ...]:
    """Return the tube's vertices from seat to seat, in the lattice's frame [mm]."""
    start, before = trace(field, meeting.outward, meeting.node)
    goal, after = trace(field, meeting.homeward, meeting.node)
    nodes = [*before, meeting.node, *reversed(after)]
    inner = [point(field.position(node)) for node in nodes]
    return (start.seat, *inner, goal.seat)


def shared(first: Region, second: Region) -> Region | None:
    """Return what two regions have in common."""
    ranges = [
        (max(a, c), min(b, d)) for (a, b), (c, d) in zip(first, second, strict=True)
    ]
    if any(begin >= end for begin, end in ranges):
        return None
    return ranges[0], ranges[1], ranges[2]


def part_of(arrived: Arrived, region: Region) -> Costs:
    """Return the costs of an arrival in a region that it holds [mm]."""
    return arrived.cost[
        tuple(
            slice(begin - base, end - base)
            for (begin, end), (base, _) in zip(region, arrived.region, strict=True)
        )
    ]


def _blocking(
    field: Field, arms: tuple[Arm, Arm], node: Node, *, among: int
) -> list[int]:
    """Return the solids, by number, that no bend of these arms at a node clears."""
    i, j, k = node
    one: Region = ((i, i + 1), (j, j + 1), (k, k + 1))
    at = region_coordinates(field, one)
    return [
        number
        for number in near_solids(field, arms, one, among=among)
        if bends_blocked_by(field, number, arms, at)
    ]


def _best_in(
    field: Field, outward: Arrived, homeward: Arrived, *, bends: int
) -> Iterator[Meeting]:
    """Yield the best meetings of two boxes, each APART from those before.

    Blocked bends are looked for only where they matter: at the node that is best so far,
    and then at all nodes of the boxes for the solid that is in the way there.
    """
    if outward.travel.axis == homeward.travel.axis:
        return
    region = shared(outward.region, homeward.region)
    if region is None:
        return
    total = part_of(outward, region) + part_of(homeward, region)
    arms = (opposite(outward.travel), opposite(homeward.travel))
    among = min(solids_to_clear(field, outward), solids_to_clear(field, homeward))
    coordinates = region_coordinates(field, region)
    taken = 0
    while taken < field.run.problem.effort.square.routes_a_sequence:
        place = np.unravel_index(int(np.argmin(total)), total.shape)
        legs = float(total[place])
        if not np.isfinite(legs):
            return
        i, j, k = (r[0] + int(p) for r, p in zip(region, place, strict=True))
        node: Node = (i, j, k)
        blocking = _blocking(field, arms, node, among=among)
        for number in blocking:
            found = bends_blocked_by(field, number, arms, coordinates)
            if found is not None:
                total[found[0]][found[1]] = np.inf
        total[place] = np.inf
        if blocking:
            continue
        yield Meeting(
            legs=legs, bends=bends, node=node, outward=outward, homeward=homeward
        )
        taken += 1
        around = tuple(
            slice(*np.searchsorted(c, [c[p] - APART, c[p] + APART]))
            for c, p in zip(coordinates, place, strict=True)
        )
        total[around] = np.inf
