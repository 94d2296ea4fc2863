"""The cheapest routes of a run whose space has a price, between all its ports at once.

A leg costs its length and what the space along it costs; a bend costs as much as so many
millimetres. Of each number of bends the least sum is found exactly, as in `meet`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import product
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import difference
from loopsolver.routing.problem import TubeEnd
from loopsolver.routing.square.field import Field, bends_blocked, lines_of
from loopsolver.routing.square.meet import Meeting, part_of, shared, vertices
from loopsolver.routing.square.polish import Vertices
from loopsolver.routing.square.sweep import (
    Arrived,
    arm_along,
    no_region,
    opposite,
    solids_to_clear,
    walks,
)
from loopsolver.tolerances import TOUCH

SPARE_BENDS: Final = 1
"""Offers may have so many bends more than the cheapest could have: some are refused."""

Offer = tuple[float, Callable[[], Vertices]]
"""What a route costs [mm], and what gives its vertices."""


def priced_routes(
    field: Field,
    starts: Sequence[TubeEnd],
    goals: Sequence[TubeEnd],
    *,
    bend_worth: float,
) -> Iterator[tuple[float, Vertices]]:
    """Yield what routes cost, the cheapest first, and their vertices [mm].

    Parameters
    ----------
    field : Field
        Its lattice holds all seats, and its run says how many bends there may be.
    starts, goals : sequence of TubeEnd
        Where a route may begin and end.
    bend_worth : float
        What a bend costs [mm].
    """
    offers = [*_straight_offers(field, starts, goals)]
    offers += _bent_offers(field, starts, goals, bend_worth, offers)
    for cost, traced in sorted(offers, key=lambda offer: offer[0]):
        yield cost, traced()


def _bent_offers(
    field: Field,
    starts: Sequence[TubeEnd],
    goals: Sequence[TubeEnd],
    bend_worth: float,
    known: Sequence[Offer],
) -> Iterator[Offer]:
    """Yield the best offers of more and more bends, until bends alone cost too much."""
    floor = min(
        sum(abs(step) for step in difference(goal.seat, start.seat))
        for start, goal in product(starts, goals)
    )
    best = min((cost for cost, _ in known), default=np.inf)
    most = field.run.problem.max_bends
    for bends, out, home in walks(
        field, starts, goals, bends=most, stays_apart=no_region
    ):
        if floor + (bends - SPARE_BENDS) * bend_worth > best:
            return
        for outward, homeward in product(out, home):
            meeting = _least_meeting(field, outward, homeward, bends=bends)
            if meeting is not None:
                cost = meeting.legs + bends * bend_worth
                best = min(best, cost)
                yield cost, partial(vertices, field, meeting)


def _least_meeting(
    field: Field, outward: Arrived, homeward: Arrived, *, bends: int
) -> Meeting | None:
    """Return where two arrivals meet at the least cost, in a bend that is free."""
    if outward.travel.axis == homeward.travel.axis:
        return None
    region = shared(outward.region, homeward.region)
    if region is None:
        return None
    total = part_of(outward, region) + part_of(homeward, region)
    arms = (opposite(outward.travel), opposite(homeward.travel))
    among = min(solids_to_clear(field, outward), solids_to_clear(field, homeward))
    blocked = bends_blocked(field, arms, region, among=among)
    if blocked is not None:
        total[blocked] = np.inf
    place = np.unravel_index(int(np.argmin(total)), total.shape)
    if not np.isfinite(total[place]):
        return None
    i, j, k = (r[0] + int(p) for r, p in zip(region, place, strict=True))
    return Meeting(
        legs=float(total[place]),
        bends=bends,
        node=(i, j, k),
        outward=outward,
        homeward=homeward,
    )


def _straight_offers(
    field: Field, starts: Sequence[TubeEnd], goals: Sequence[TubeEnd]
) -> Iterator[Offer]:
    """Yield the tubes without a bend; whether they are free is for the judge to say."""
    for start, goal in product(starts, goals):
        arm = arm_along(start.direction)
        between = np.subtract(goal.seat, start.seat)
        length = between[arm.axis] * arm.sign
        least = max(start.straight, goal.straight, start.covered + goal.covered, TOUCH)
        if (
            arm_along(goal.direction) == opposite(arm)
            and np.linalg.norm(between) <= length + TOUCH
            and length >= least - TOUCH
        ):
            i, j, k = field.node_at(start.seat)
            lines = lines_of(((i, i + 1), (j, j + 1), (k, k + 1)), arm.axis)
            fares = field.fares(arm, lines)[:, 0, 0]
            first, last = (
                int(
                    np.argmin(np.abs(field.travel(arm) - end.seat[arm.axis] * arm.sign))
                )
                for end in (start, goal)
            )
            line: Vertices = (start.seat, goal.seat)
            yield float(fares[last] - fares[first]), partial(tuple, line)
