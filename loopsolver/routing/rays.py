"""Rays and joins: routes with bends of given angles, for ports in any direction.

From each end go rays: the first leg to some distance, then one bend of an allowed angle
at some roll. Two rays, or a ray and the far port, are joined by two bends whose angles
are allowed too (see `cones`), so every route closes exactly and has exact angles. The
shortest that are free are then drawn together as far as they get (see `improve`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np

from loopsolver.clearance.gap import ObstacleSet
from loopsolver.geometry.vectors import Array
from loopsolver.routing.bundle import free_along, lay, nearest, sampled
from loopsolver.routing.cones import Indices, Pairs, joined
from loopsolver.routing.field import Bools
from loopsolver.routing.lattice import square_run
from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.tube.setting_out import take_out

ROLLS: Final = 8
"""Rolls tried about the direction of an end that stands square, evenly spaced."""

TILTED_ROLLS: Final = 24
"""The same where the two ends are not square to each other: no roll is natural then."""

MOST_RAYS: Final = 250
"""Of one end's rays no more than this many are paired with those of the other end."""

OUTWARD: Final = (
    0.0,
    6.0,
    14.0,
    25.0,
    40.0,
    60.0,
    85.0,
    115.0,
    150.0,
    190.0,
    240.0,
    300.0,
)
"""What a first leg is tried longer than its least [mm]."""

CHUNK: Final = 128
"""How many routes are tried for a touch at a time."""

MOST_TRIED: Final = 2_000
"""Of the routes of one bend count no more than this many, the shortest, are tried."""

CLOSE: Final = 30.0
"""Routes whose vertices all lie this near to another's are the same way round [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rays:
    """First legs and bends of one end: n of them.

    Attributes
    ----------
    vertex, direction : array (n, 3)
        Where the first bend's vertex lies, and where the tube goes from there.
    angle : array (n,) [rad]
        The first bend's angle.
    free : array (n,) [mm]
        How far the straight after the bend may go.
    """

    vertex: Array
    direction: Array
    angle: Array
    free: Array

    def pick(self, which: Array | Indices) -> Rays:
        """Return some of the rays."""
        return Rays(
            vertex=self.vertex[which],
            direction=self.direction[which],
            angle=self.angle[which],
            free=self.free[which],
        )


def rays_of(
    problem: RouteProblem,
    around: ObstacleSet,
    end: TubeEnd,
    *,
    towards: Sequence[Array],
    rolls: int,
    angles: tuple[float, ...],
) -> Rays:
    """Return the rays of one end that are free so far.

    Parameters
    ----------
    towards : sequence of arrays (3,)
        Directions that rolls start from; those along the end's own are left out.
    rolls : int
        How many from each.
    angles : tuple of float [rad]
    """
    reach = problem.tube_radius + problem.clearance
    seat, along = np.asarray(end.seat), np.asarray(end.direction)
    begin = seat + end.covered * along
    free = end.covered + free_along(
        around.solids, begin[None], along[None], reach=reach, most=600.0
    )
    sides = _sides(along, towards, rolls)
    vertices, directions, of_angle = [], [], []
    for angle, longer, side in product(angles, OUTWARD, sides):
        out = take_out(problem.bend_radius, angle)
        if longer > 0.0 and end.straight + longer > free[0]:
            continue
        vertices.append(seat + (end.straight + out + longer) * along)
        directions.append(math.cos(angle) * along + math.sin(angle) * side)
        of_angle.append(angle)
    if not vertices:
        none = np.empty((0, 3))
        return Rays(vertex=none, direction=none, angle=np.empty(0), free=np.empty(0))
    rays = Rays(
        vertex=np.array(vertices),
        direction=np.array(directions),
        angle=np.array(of_angle),
        free=np.zeros(len(vertices)),
    )
    return _open_rays(problem, around, end, rays)


def _sides(along: Array, towards: Sequence[Array], rolls: int) -> list[Array]:
    """Return unit vectors square to `along`: `rolls` from each of `towards`, no twins."""
    sides: list[Array] = []
    for wanted in towards:
        first = wanted - (wanted @ along) * along
        size = np.linalg.norm(first)
        if size < 1e-6:
            continue
        first = first / size
        second = np.cross(along, first)
        for roll in range(rolls):
            turn = 2.0 * math.pi * roll / rolls
            side = math.cos(turn) * first + math.sin(turn) * second
            if all(side @ other < math.cos(math.radians(2.0)) for other in sides):
                sides.append(side)
    return sides


def _open_rays(
    problem: RouteProblem, around: ObstacleSet, end: TubeEnd, rays: Rays
) -> Rays:
    """Return the rays whose first bend is free, with how far they may go on."""
    reach = problem.tube_radius + problem.clearance
    outs = problem.bend_radius * np.tan(rays.angle / 2.0)
    stubs = np.stack(
        [
            np.broadcast_to(np.asarray(end.seat), rays.vertex.shape),
            rays.vertex,
            rays.vertex + outs[:, None] * rays.direction,
        ],
        axis=1,
    )
    laid = lay(stubs, radius=problem.bend_radius)
    points = sampled(
        stubs, laid, radius=problem.bend_radius, covered=(end.covered, 0.0)
    )
    kept = np.flatnonzero(nearest(points, around.solids) >= reach - 1e-6)
    rays = rays.pick(kept)
    free = free_along(
        around.solids, stubs[kept, 2], rays.direction, reach=reach - 1e-6, most=600.0
    )
    return Rays(
        vertex=rays.vertex, direction=rays.direction, angle=rays.angle, free=free
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Angled:
    """A run laid out for the search by rays."""

    problem: RouteProblem
    around: ObstacleSet
    angles: tuple[float, ...]
    start: Rays
    goal: Rays


def laid_out(
    problem: RouteProblem, around: ObstacleSet, *, angles: tuple[float, ...]
) -> Angled:
    """Return a run with the rays of both its ends; angles in radians."""
    start, goal = problem.start, problem.goal
    between = np.asarray(goal.seat) - np.asarray(start.seat)
    rolls = TILTED_ROLLS if square_run(problem) is None else ROLLS

    def rays(end: TubeEnd, other: TubeEnd) -> Rays:
        towards = [np.asarray(other.direction), *np.eye(3), between]
        return rays_of(
            problem, around, end, towards=towards, rolls=rolls, angles=angles
        )

    return Angled(
        problem=problem,
        around=around,
        angles=angles,
        start=rays(start, goal),
        goal=rays(goal, start),
    )


def routes_of(run: Angled, *, bends: int) -> Array:
    """Return all routes of one bend count, 1 to 4, as vertices, the shortest first.

    They close and have their angles; whether they are free is not asked but for what
    the rays have seen.
    """
    makers = {1: _one_bend, 2: _two_bends, 3: _three_bends, 4: _four_bends}
    bundles = [bundle for bundle in makers[bends](run) if len(bundle)]
    if not bundles:
        return np.empty((0, bends + 2, 3))
    routes = np.concatenate(bundles)
    lengths = lay(routes, radius=run.problem.bend_radius).lengths
    order = np.argsort(np.round(lengths, 6), kind="stable")
    return routes[order[: 20 * MOST_TRIED]]


def _outs(run: Angled, angle: float) -> float:
    return take_out(run.problem.bend_radius, angle)


def _between(run: Angled, first: float | Array, second: float) -> Array:
    """Return the least leg between two bends [mm]; the first angle may be an array."""
    radius = run.problem.bend_radius
    outs: Array = radius * np.tan(np.asarray(first) / 2.0)
    return outs + _outs(run, second) + run.problem.straight_between_bends


def _one_bend(run: Angled) -> Iterator[Array]:
    start, goal = run.problem.start, run.problem.goal
    p, d = np.asarray(start.seat), np.asarray(start.direction)
    q, g = np.asarray(goal.seat), np.asarray(goal.direction)
    angle = math.atan2(float(np.linalg.norm(np.cross(d, g))), float(-(d @ g)))
    if not any(abs(angle - allowed) < 1e-9 for allowed in run.angles):
        return
    (s, u), *_ = np.linalg.lstsq(np.column_stack([d, -g]), q - p, rcond=None)
    out = _outs(run, angle)
    if np.linalg.norm(p + s * d - q - u * g) > 1e-6:
        return
    if s < start.straight + out - 1e-9 or u < goal.straight + out - 1e-9:
        return
    yield np.stack([p, q + u * g, q])[None]


def _two_bends(run: Angled) -> Iterator[Array]:
    start, goal = run.problem.start, run.problem.goal
    pairs = _ports(run, 1)
    for a, b in product(run.angles, repeat=2):
        least = (
            np.full(1, start.straight + _outs(run, a)),
            float(_between(run, a, b)),
            np.full(1, goal.straight + _outs(run, b)),
        )
        joins = joined(pairs, angles=(a, b), least=least)
        yield _stacked(run, [joins.first, joins.second])


def _ports(run: Angled, count: int) -> Pairs:
    start, goal = run.problem.start, run.problem.goal

    def spread(point: Sequence[float], sign: float = 1.0) -> Array:
        return np.tile(sign * np.asarray(point), (count, 1))

    return Pairs(
        start=spread(start.seat),
        out=spread(start.direction),
        home=spread(goal.direction, -1.0),
        end=spread(goal.seat),
    )


def _three_bends(run: Angled) -> Iterator[Array]:
    yield from _ray_to_port(run, run.start)
    for routes in _ray_to_port(_reversed(run), run.goal):
        yield routes[:, ::-1]


def _reversed(run: Angled) -> Angled:
    turned = replace(run.problem, start=run.problem.goal, goal=run.problem.start)
    return replace(run, problem=turned, start=run.goal, goal=run.start)


def _ray_to_port(run: Angled, rays: Rays) -> Iterator[Array]:
    ports = _ports(run, len(rays.angle))
    pairs = Pairs(start=rays.vertex, out=rays.direction, home=ports.home, end=ports.end)
    for a, b in product(run.angles, repeat=2):
        last = run.problem.goal.straight + _outs(run, b)
        least = (
            _between(run, rays.angle, a),
            float(_between(run, a, b)),
            np.full(len(rays.angle), last),
        )
        joins = joined(pairs, angles=(a, b), least=least)
        kept = _within(rays, joins.pair, joins.first, run, a)
        yield _stacked(
            run,
            [rays.vertex[joins.pair[kept]], joins.first[kept], joins.second[kept]],
        )


def _within(
    rays: Rays, pair: Indices, vertex: Array, run: Angled, next_angle: float
) -> Bools:
    """Return which legs end before the ray comes too near to something."""
    leg = np.linalg.norm(vertex - rays.vertex[pair], axis=1)
    outs = run.problem.bend_radius * np.tan(rays.angle[pair] / 2.0)
    kept: Bools = leg - outs - _outs(run, next_angle) <= rays.free[pair] + 1e-3
    return kept


def _four_bends(run: Angled) -> Iterator[Array]:
    start, goal = _thinned(run.start), _thinned(run.goal)
    i, j = (grid.ravel() for grid in np.indices((len(start.angle), len(goal.angle))))
    pairs = Pairs(
        start=start.vertex[i],
        out=start.direction[i],
        home=-goal.direction[j],
        end=goal.vertex[j],
    )
    for a, b in product(run.angles, repeat=2):
        least = (
            _between(run, start.angle[i], a),
            float(_between(run, a, b)),
            _between(run, goal.angle[j], b),
        )
        joins = joined(pairs, angles=(a, b), least=least)
        near_start = _within(start, i[joins.pair], joins.first, run, a)
        near_goal = _within(goal, j[joins.pair], joins.second, run, b)
        kept = near_start & near_goal
        pair = joins.pair[kept]
        yield _stacked(
            run,
            [
                start.vertex[i[pair]],
                joins.first[kept],
                joins.second[kept],
                goal.vertex[j[pair]],
            ],
        )


def _thinned(rays: Rays) -> Rays:
    """Return at most MOST_RAYS of the rays, evenly chosen."""
    count = len(rays.angle)
    if count <= MOST_RAYS:
        return rays
    return rays.pick(np.linspace(0, count - 1, MOST_RAYS).astype(int))


def _stacked(run: Angled, inner: list[Array]) -> Array:
    """Return routes from their inner vertices, the two seats put at their ends."""
    count = len(inner[0])
    ports = _ports(run, count)
    return np.stack([ports.start, *inner, ports.end], axis=1)


def free_routes(
    run: Angled, routes: Array, *, wanted: int, shorter_than: float
) -> list[Array]:
    """Return the shortest routes that seem free, each another way round.

    Parameters
    ----------
    routes : array (n, vertices, 3) [mm]
        The shortest first.
    wanted : int
    shorter_than : float [mm]
        Longer routes are not tried.
    """
    problem = run.problem
    reach = problem.tube_radius + problem.clearance
    found: list[Array] = []
    for first in range(0, min(len(routes), MOST_TRIED), CHUNK):
        some = routes[first : first + CHUNK]
        laid = lay(some, radius=problem.bend_radius)
        if laid.lengths[0] >= shorter_than:
            break
        points = sampled(
            some,
            laid,
            radius=problem.bend_radius,
            covered=(problem.start.covered, problem.goal.covered),
        )
        free = nearest(points, run.around.solids) >= reach - 1e-6
        for route in some[free]:
            if all(np.abs(route - other).max() > CLOSE for other in found):
                found.append(route)
                if len(found) == wanted:
                    return found
    return found
