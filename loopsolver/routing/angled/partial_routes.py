"""Partial routes: how a tube may begin at one end, bend by bend, with angles from a list.

One of no bends is the port itself. One of one bend goes out to some distance and turns
by an allowed angle to some side; one of two bends does so again. Two of them, one from
either end, are then closed by two bends more (see `closed_routes`). The method is our own:
turns to all sides are tried evenly; those without room or like others are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from loopsolver.clearance.distance_field import DistanceField
from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.routing.angled.bundle import bend_points, lay
from loopsolver.routing.control import heed_time
from loopsolver.routing.effort.angled import LayingOutEffort
from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.routing.square.lattice import square_run
from loopsolver.tolerances import COINCIDENT, ROUNDING
from loopsolver.tube.setting_out import gain, take_out, take_outs

FEWEST_WITH_PARTIALS: Final = 3
"""Two bends join the ports themselves."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartialRoutes:
    """Beginnings of tubes at one end: n of them, all with as many bends.

    Attributes
    ----------
    vertices : array (n, bends + 1, 3) [mm]
        The seat, and the bends' vertices.
    direction : array (n, 3)
        Where the tube goes from the last of them.
    angle : array (n,) [rad]
        The last bend's angle; 0 for a port.
    legs : array (n,) [mm]
        Length from the seat to the last vertex, less what the bends save.
    straight : float [mm]
        Least straight that must follow.
    free : array (n,) [mm]
        How far the tube may go on from where the last bend ends.
    is_coarse : bool array (n,)
        Whether it is one of those that are tried first.
    """

    vertices: Array
    direction: Array
    angle: Array
    legs: Array
    straight: float
    free: Array
    is_coarse: Flags

    def __len__(self) -> int:
        """Return the number of partial routes."""
        return len(self.angle)

    @property
    def vertex(self) -> Array:
        """The last vertex of each, (n, 3) [mm]."""
        return self.vertices[:, -1]

    def pick(self, which: Indices | Flags) -> PartialRoutes:
        """Return some of the partial routes."""
        return PartialRoutes(
            vertices=self.vertices[which],
            direction=self.direction[which],
            angle=self.angle[which],
            legs=self.legs[which],
            straight=self.straight,
            free=self.free[which],
            is_coarse=self.is_coarse[which],
        )

    def thinned(self, most: int) -> PartialRoutes:
        """Return at most so many of them, coarse ones first, evenly chosen."""
        if len(self) <= most:
            return self
        coarse, fine = np.flatnonzero(self.is_coarse), np.flatnonzero(~self.is_coarse)
        if len(coarse) >= most:
            return self.pick(_evenly(coarse, most))
        more = _evenly(fine, most - len(coarse))
        return self.pick(np.sort(np.concatenate([coarse, more])))


def _evenly(indices: Indices, count: int) -> Indices:
    chosen = np.linspace(0, len(indices) - 1, count).astype(np.intp)
    return indices[chosen]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AngledRun:
    """A run laid out for the search by partial routes.

    `start` and `goal` are the partial routes of its two ends: those of no bends, and of
    one where three bends or more are allowed and turns are free. Left out are those of
    which no tube is shorter than `most` [mm].
    """

    problem: RouteProblem
    field: DistanceField
    angles: tuple[float, ...]
    start: tuple[PartialRoutes, ...]
    goal: tuple[PartialRoutes, ...]
    most: float = math.inf

    @property
    def effort(self) -> LayingOutEffort:
        """How hard it is tried."""
        return self.problem.effort.laying_out

    @property
    def rolls(self) -> int:
        """How many sides about a direction are tried first."""
        is_tilted = square_run(self.problem) is None
        return self.effort.tilted_rolls if is_tilted else self.effort.rolls


def angled_run(
    problem: RouteProblem, *, angles: tuple[float, ...], most: float = math.inf
) -> AngledRun:
    """Return a run with the partial routes of both its ends; angles in radians.

    As far as they make tubes of three bends or more that are no longer than `most` [mm].
    """
    run = AngledRun(
        problem=problem,
        field=problem.field,
        angles=angles,
        start=(_port(problem, problem.start),),
        goal=(_port(problem, problem.goal),),
        most=most,
    )
    if problem.max_bends < FEWEST_WITH_PARTIALS or problem.turn_step_deg != "any":
        return run
    return replace(
        run,
        start=(*run.start, further(run, run.start[0], other=problem.goal)),
        goal=(*run.goal, further(run, run.goal[0], other=problem.start)),
    )


def _port(problem: RouteProblem, end: TubeEnd) -> PartialRoutes:
    """Return the partial route of no bends of an end."""
    reach = problem.reach - problem.effort.laying_out.mended_room
    seat, along = np.asarray(end.seat), np.asarray(end.direction)
    free = problem.field.free_along(
        (seat + end.covered * along)[None], along[None], reach=reach
    )
    return PartialRoutes(
        vertices=seat[None, None],
        direction=along[None],
        angle=np.zeros(1),
        legs=np.zeros(1),
        straight=end.straight,
        free=end.covered + free,
        is_coarse=np.ones(1, dtype=np.bool_),
    )


def further(
    run: AngledRun,
    partials: PartialRoutes,
    *,
    other: TubeEnd,
    outward: Sequence[float] | None = None,
) -> PartialRoutes:
    """Return partial routes with one bend more, as far as there is room for them.

    Parameters
    ----------
    run : AngledRun
        Its partial routes are not looked at.
    partials : PartialRoutes
    other : TubeEnd
        Sides are counted from its direction and the way to it, among others.
    outward : sequence of float [mm]
        What the leg before the new bend is tried longer than its least; None for the
        effort's `fine_outward`.
    """
    if not len(partials):
        return partials
    steps = np.array(run.effort.fine_outward if outward is None else outward, float)
    parts = [
        part
        for index in range(len(partials))
        for part in _turned(run, partials.pick(np.array([index])), other, steps)
    ]
    return _open(run, _short_enough(run, _together(parts), _port(run.problem, other)))


def _turned(
    run: AngledRun, partial_route: PartialRoutes, other: TubeEnd, outward: Array
) -> Iterator[PartialRoutes]:
    """Yield one partial route with a bend more, of each angle, room not looked at."""
    radius = run.problem.bend_radius
    along = partial_route.direction[0]
    between = np.asarray(other.seat) - partial_route.vertex[0]
    towards = [np.asarray(other.direction), between, *np.eye(3)]
    every, is_coarse = sides(run, along, towards)
    heed_time()
    for angle in run.angles:
        least = take_out(radius, float(partial_route.angle[0])) + partial_route.straight
        least += take_out(radius, angle)
        # Tubes that lie in a plane need the level of the other port exactly.
        level = float(between @ along) - least
        steps = np.unique([*outward, level]) if level > 0.0 else outward
        steps = steps[
            partial_route.straight + steps <= partial_route.free[0] + ROUNDING
        ]
        step, side = (grid.ravel() for grid in np.indices((len(steps), len(every))))
        leg = (least + steps)[step]
        vertex = partial_route.vertex + leg[:, None] * along
        before = np.repeat(partial_route.vertices, len(step), axis=0)
        yield PartialRoutes(
            vertices=np.concatenate([before, vertex[:, None]], axis=1),
            direction=math.cos(angle) * along + math.sin(angle) * every[side],
            angle=np.full(len(step), angle),
            legs=partial_route.legs + leg - gain(radius, angle),
            straight=run.problem.straight_between_bends,
            free=np.zeros(len(step)),
            is_coarse=np.isin(steps[step], (*run.effort.outward, level))
            & is_coarse[side],
        )


def sides(
    run: AngledRun, along: Array, towards: Sequence[Array]
) -> tuple[Array, Flags]:
    """Return unit vectors square to `along`, (n, 3), no twins, and which are coarse."""
    finer = run.effort.finer
    first, fine = [], []
    for wanted in towards:
        begin = wanted - (wanted @ along) * along
        size = np.linalg.norm(begin)
        if size < COINCIDENT:
            continue
        u = begin / size
        v = np.cross(along, u)
        turns = 2.0 * math.pi * np.arange(finer * run.rolls) / (finer * run.rolls)
        sides = np.cos(turns)[:, None] * u + np.sin(turns)[:, None] * v
        first.append(sides[::finer])
        fine.append(sides)
    every_side = np.concatenate([*first, *fine])
    coarse = sum(len(sides) for sides in first)
    alike = every_side @ every_side.T > math.cos(
        math.radians(run.effort.roll_twins_deg)
    )
    is_twin = np.tril(alike, -1).any(axis=1)
    return every_side[~is_twin], (np.arange(len(every_side)) < coarse)[~is_twin]


def _together(parts: list[PartialRoutes]) -> PartialRoutes:
    return PartialRoutes(
        vertices=np.concatenate([p.vertices for p in parts]),
        direction=np.concatenate([p.direction for p in parts]),
        angle=np.concatenate([p.angle for p in parts]),
        legs=np.concatenate([p.legs for p in parts]),
        straight=parts[0].straight,
        free=np.concatenate([p.free for p in parts]),
        is_coarse=np.concatenate([p.is_coarse for p in parts]),
    )


def _ends(run: AngledRun, partials: PartialRoutes) -> Array:
    """Return where the last bend of each partial route ends, (n, 3) [mm]."""
    outs = take_outs(run.problem.bend_radius, partials.angle)
    ends: Array = partials.vertex + outs[:, None] * partials.direction
    return ends


def onward(run: AngledRun, partials: PartialRoutes) -> tuple[Array, Array]:
    """Return how long tubes are up to some place that they pass, and where that is.

    After the least straight that must follow, less what shortening may mend. As if that
    were no less than nothing; else the length is less by what the tube goes back there.

    Returns
    -------
    lengths : array (n,) [mm]
    places : array (n, 3) [mm]
    """
    straight = partials.straight - run.effort.mended_leg
    further_on, back = max(straight, 0.0), 2.0 * min(straight, 0.0)
    outs = take_outs(run.problem.bend_radius, partials.angle)
    places = _ends(run, partials) + further_on * partials.direction
    return partials.legs + outs + further_on + back, places


def _short_enough(
    run: AngledRun, partials: PartialRoutes, other: PartialRoutes
) -> PartialRoutes:
    """Return the partial routes that go on to tubes that may be short enough.

    The rest of a tube is no shorter than straight on to the other port.
    """
    if math.isinf(run.most):
        return partials
    (lengths, places), (last, there) = onward(run, partials), onward(run, other)
    between = run.problem.straight_between_bends - run.effort.mended_leg
    rest = np.linalg.norm(places - there, axis=1) + last + 2.0 * min(between, 0.0)
    return partials.pick(lengths + rest <= run.most)


def _open(run: AngledRun, partials: PartialRoutes) -> PartialRoutes:
    """Return the partial routes whose last bend has room, with how far they may go on."""
    radius, ends = run.problem.bend_radius, _ends(run, partials)
    stubs = np.concatenate([partials.vertices[:, -2:], ends[:, None]], axis=1)
    rows = np.arange(len(partials))
    points = bend_points(
        stubs,
        lay(stubs, radius=radius),
        radius=radius,
        at=(rows, 0 * rows, np.linspace(0.0, 1.0, run.effort.bend_samples)),
    )
    reach = run.problem.reach - run.effort.mended_room
    kept = np.flatnonzero(run.field.at(points).min(axis=1) >= reach)
    partials, ends = partials.pick(kept), ends[kept]
    free = run.field.free_along(ends, partials.direction, reach=reach)
    some = np.flatnonzero(free > 0.0)
    return replace(partials.pick(some), free=free[some])
