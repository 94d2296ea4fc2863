"""Routes with bends of given angles: two rays, one from either end, joined by two bends.

Every route closes on both ports exactly and has exact angles. Whether there is room for
it is not asked here, but for what the rays have seen.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.routing.angled.bundle import lay
from loopsolver.routing.angled.cones import (
    FEW,
    MANY,
    Indices,
    Joined,
    Pairs,
    joined,
    paired,
)
from loopsolver.routing.angled.direct import corner_route
from loopsolver.routing.angled.rays import Angled, Rays, further
from loopsolver.routing.square.field import Bools
from loopsolver.tube.setting_out import gain, take_out

MOST_PAIRS: Final = 100_000
"""No more pairs of rays than this are joined for one bend count."""

MOST_ONCE: Final = 100
"""So many rays of one bend are bent again, and so many paired with the outcome."""

AGAIN: Final = (0.0, 14.0, 40.0, 85.0, 150.0)
"""What the leg before a ray's second bend is tried longer than its least [mm]."""

SHORT: Final = 4.0
"""Legs may be shorter than their least by this: drawing together may mend it [mm]."""

MOST_ROUTES: Final = 20_000
"""Of the routes of one bend count no more than this many, the shortest, are kept."""

MOST_JOINED: Final = 5
"""Rays and joins make routes of so many bends and no more."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Joins:
    """Joins of rays, with the length of the tube that each makes [mm]."""

    start: Rays
    goal: Rays
    ray: Indices
    other_ray: Indices
    pairs: Pairs
    join: Joined
    lengths: Array


def routes_of(run: Angled, *, bends: int) -> tuple[Array, Array]:
    """Return routes of one bend count, 1 to MOST_JOINED, and their lengths.

    Returns
    -------
    vertices : array (n, bends + 2, 3) [mm]
    lengths : array (n,) [mm]
        Developed; the shortest first.
    """
    if bends == 1:
        return _one_bend(run)
    groups = [
        group
        for start, goal in _ray_pairs(run, bends)
        if len(start) and len(goal)
        for group in _joins(run, start, goal)
    ]
    lengths = np.concatenate([[], *[group.lengths for group in groups]])
    if len(lengths) > MOST_ROUTES:
        limit = np.partition(lengths, MOST_ROUTES)[MOST_ROUTES]
    else:
        limit = np.inf
    routes = [np.empty((0, bends + 2, 3))]
    routes += [_vertices(group, group.lengths <= limit) for group in groups]
    kept = np.concatenate([[], *[g.lengths[g.lengths <= limit] for g in groups]])
    order = np.argsort(np.round(kept, 6), kind="stable")
    return np.concatenate(routes)[order], kept[order]


def _ray_pairs(run: Angled, bends: int) -> Iterator[tuple[Rays, Rays]]:
    """Yield rays of start and goal that two bends more make routes of."""
    if bends == 2:
        yield run.start[0], run.goal[0]
    if bends == 3:
        yield run.start[1], run.goal[0]
        yield run.start[0], run.goal[1]
    if bends == 4:
        yield _thinned(run.start[1], run.goal[1])
    if bends == 5:
        start, goal = (rays[1].thinned(MOST_ONCE) for rays in (run.start, run.goal))
        onward = further(run, start, other=run.problem.goal, outward=AGAIN)
        homeward = further(run, goal, other=run.problem.start, outward=AGAIN)
        yield _thinned(onward, goal)
        yield _thinned(start, homeward)


def _thinned(start: Rays, goal: Rays) -> tuple[Rays, Rays]:
    """Return rays of both ends, so many that they make no more than MOST_PAIRS."""
    fewer = max(1, min(len(start), len(goal), math.isqrt(MOST_PAIRS)))
    more = MOST_PAIRS // fewer
    if len(start) <= len(goal):
        return start.thinned(fewer), goal.thinned(more)
    return start.thinned(more), goal.thinned(fewer)


def _one_bend(run: Angled) -> tuple[Array, Array]:
    """Return the corner of the two ports' axes if its angle is allowed."""
    corner = corner_route(run.problem)
    if corner is None or all(abs(corner[1] - angle) > 1e-9 for angle in run.angles):
        return np.empty((0, 3, 3)), np.empty(0)
    route = corner[0][None]
    return route, lay(route, radius=run.problem.bend_radius).lengths


def _joins(run: Angled, start: Rays, goal: Rays) -> Iterator[_Joins]:
    """Yield all joins of two sets of rays, one group for each pair of angles."""
    radius = run.problem.bend_radius
    i, j = (grid.ravel() for grid in np.indices((len(start), len(goal))))
    pairs = paired(
        start=start.vertex[i],
        out=start.direction[i],
        home=-goal.direction[j],
        end=goal.vertex[j],
    )
    outs = radius * np.tan(start.angle / 2.0), radius * np.tan(goal.angle / 2.0)
    slides = MANY if len(i) == 1 else FEW
    for a, b in product(run.angles, repeat=2):
        out_a, out_b = take_out(radius, a), take_out(radius, b)
        least = (
            (outs[0] + start.straight + out_a)[i] - SHORT,
            out_a + run.problem.straight_between_bends + out_b - SHORT,
            (outs[1] + goal.straight + out_b)[j] - SHORT,
        )
        join = joined(pairs, angles=(a, b), least=least, slides=slides)
        ray, other_ray = i[join.pair], j[join.pair]
        kept = (join.first - out_a <= (outs[0] + start.free)[ray] + SHORT) & (
            join.last - out_b <= (outs[1] + goal.free)[other_ray] + SHORT
        )
        join = join.pick(kept)
        ray, other_ray = i[join.pair], j[join.pair]
        yield _Joins(
            start=start,
            goal=goal,
            ray=ray,
            other_ray=other_ray,
            pairs=pairs,
            join=join,
            lengths=start.legs[ray]
            + goal.legs[other_ray]
            + join.legs
            - gain(radius, a)
            - gain(radius, b),
        )


def _vertices(joins: _Joins, which: Bools) -> Array:
    """Return the vertices of some joins, seat to seat, (n, bends + 2, 3) [mm]."""
    begin = joins.start.vertices[joins.ray[which]]
    finish = joins.goal.vertices[joins.other_ray[which]][:, ::-1]
    first, second = joins.join.pick(which).vertices(joins.pairs)
    return np.concatenate([begin, first[:, None], second[:, None], finish], axis=1)
