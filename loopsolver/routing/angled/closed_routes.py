"""Routes with bends of given angles: two partial routes, closed by two bends more.

Every route closes on both ports exactly and has exact angles. Whether there is room for
it is not asked here, but for what the partial routes have seen.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.routing.angled.bundle import lay
from loopsolver.routing.angled.direct import corner_route
from loopsolver.routing.angled.partial_routes import (
    AngledRun,
    PartialRoutes,
    further,
    onward,
)
from loopsolver.routing.angled.two_bend_closures import (
    Closures,
    Pairs,
    closures,
    paired,
)
from loopsolver.routing.control import heed_time
from loopsolver.tolerances import ORDER_DECIMALS, SAME_ANGLE
from loopsolver.tube.setting_out import gain, take_out, take_outs

MOST_BENDS: Final = 5
"""Partial routes and closures make routes of so many bends and no more."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _ClosedRoutes:
    """Closures of partial routes, with the length of the tube that each makes [mm]."""

    start: PartialRoutes
    goal: PartialRoutes
    partial_route: Indices
    other_partial: Indices
    pairs: Pairs
    closures: Closures
    lengths: Array


def routes_of(
    run: AngledRun, *, bends: int, most: float = math.inf
) -> tuple[Array, Array]:
    """Return routes of one bend count, 1 to MOST_BENDS, and their lengths.

    Those that are longer than `most` [mm] are left out.

    Returns
    -------
    vertices : array (n, bends + 2, 3) [mm]
    lengths : array (n,) [mm]
        Developed; the shortest first.
    """
    if bends == 1:
        return one_bend_routes(run)
    groups = [
        group
        for start, goal in _partial_pairs(run, bends)
        if len(start) and len(goal)
        for group in _closed(run, start, goal, most)
    ]
    lengths = np.concatenate([[], *[group.lengths for group in groups]])
    count = run.effort.most_routes
    limit = min(most, np.sort(lengths)[:count].max(initial=0.0))
    routes = [np.empty((0, bends + 2, 3))]
    routes += [_vertices(group, group.lengths <= limit) for group in groups]
    kept = np.concatenate([[], *[g.lengths[g.lengths <= limit] for g in groups]])
    order = shortest(kept, len(kept))
    return np.concatenate(routes)[order], kept[order]


def shortest(lengths: Array, most: int) -> Indices:
    """Return the numbers of the least of some lengths, the least first [mm]."""
    return np.argsort(np.round(lengths, ORDER_DECIMALS), kind="stable")[:most]


def _partial_pairs(
    run: AngledRun, bends: int
) -> Iterator[tuple[PartialRoutes, PartialRoutes]]:
    """Yield partial routes of start and goal that two more bends join into routes."""
    if bends == 2:
        yield run.start[0], run.goal[0]
    if bends == 3:
        yield run.start[1], run.goal[0]
        yield run.start[0], run.goal[1]
    if bends == 4:
        yield _thinned(run.start[1], run.goal[1], run.effort.most_pairs)
    if bends == 5:
        effort = run.effort
        start, goal = (
            partials[1].thinned(effort.bent_again) for partials in (run.start, run.goal)
        )
        again = effort.outward_again
        onward = further(run, start, other=run.problem.goal, outward=again)
        homeward = further(run, goal, other=run.problem.start, outward=again)
        yield _thinned(onward, goal, effort.most_pairs)
        yield _thinned(start, homeward, effort.most_pairs)


def _thinned(
    start: PartialRoutes, goal: PartialRoutes, most_pairs: int
) -> tuple[PartialRoutes, PartialRoutes]:
    """Return fewer partial routes of both ends: at most `most_pairs` pairs of them."""
    fewer = max(1, min(len(start), len(goal), math.isqrt(most_pairs)))
    more = most_pairs // fewer
    if len(start) <= len(goal):
        return start.thinned(fewer), goal.thinned(more)
    return start.thinned(more), goal.thinned(fewer)


def one_bend_routes(run: AngledRun) -> tuple[Array, Array]:
    """Return the corner of the two ports' axes if its angle is allowed."""
    corner = corner_route(run.problem)
    if corner is None or all(
        abs(corner[1] - angle) > SAME_ANGLE for angle in run.angles
    ):
        return np.empty((0, 3, 3)), np.empty(0)
    route = corner[0][None]
    return route, lay(route, radius=run.problem.bend_radius).lengths


def _near_enough(
    run: AngledRun, start: PartialRoutes, goal: PartialRoutes, most: float
) -> tuple[Indices, Indices]:
    """Return the pairs that a straight would join to a tube of so much at most [mm]."""
    (first, out), (last, home) = onward(run, start), onward(run, goal)
    least = run.problem.straight_between_bends - run.effort.mended_leg
    lengths = first[:, None] + last + 2.0 * min(least, 0.0)
    i, j = np.nonzero(lengths <= most)
    between, room = out[i] - home[j], most - lengths[i, j]
    near = np.einsum("ij,ij->i", between, between) <= room**2
    return i[near], j[near]


def _closed(
    run: AngledRun, start: PartialRoutes, goal: PartialRoutes, most: float
) -> Iterator[_ClosedRoutes]:
    """Yield all closures of two sets of partial routes, a group for each two angles.

    Pairs are left out that even a straight between them would make longer than `most`.
    """
    radius = run.problem.bend_radius
    i, j = _near_enough(run, start, goal, most)
    pairs = paired(
        start=start.vertex[i],
        out=start.direction[i],
        home=-goal.direction[j],
        end=goal.vertex[j],
    )
    outs = take_outs(radius, start.angle), take_outs(radius, goal.angle)
    effort, short = run.effort, run.effort.mended_leg
    is_alone = len(start) * len(goal) == 1
    free_legs = effort.many_free_legs if is_alone else effort.few_free_legs
    room = outs[0] + start.free + short, outs[1] + goal.free + short
    for a, b in product(run.angles, repeat=2):
        heed_time()
        out_a, out_b = take_out(radius, a), take_out(radius, b)
        least = (
            (outs[0] + start.straight + out_a)[i] - short,
            out_a + run.problem.straight_between_bends + out_b - short,
            (outs[1] + goal.straight + out_b)[j] - short,
        )
        closed = closures(pairs, angles=(a, b), least=least, free_legs=free_legs)
        closed = closed.pick(
            (closed.first - out_a <= room[0][i[closed.pair]])
            & (closed.last - out_b <= room[1][j[closed.pair]])
        )
        one, other = i[closed.pair], j[closed.pair]
        legs = start.legs[one] + goal.legs[other] + closed.legs
        yield _ClosedRoutes(
            start=start,
            goal=goal,
            partial_route=one,
            other_partial=other,
            pairs=pairs,
            closures=closed,
            lengths=legs - gain(radius, a) - gain(radius, b),
        )


def _vertices(closed: _ClosedRoutes, which: Flags) -> Array:
    """Return the vertices of some closures, seat to seat, (n, bends + 2, 3) [mm]."""
    begin = closed.start.vertices[closed.partial_route[which]]
    finish = closed.goal.vertices[closed.other_partial[which]][:, ::-1]
    first, second = closed.closures.pick(which).vertices(closed.pairs)
    return np.concatenate([begin, first[:, None], second[:, None], finish], axis=1)
