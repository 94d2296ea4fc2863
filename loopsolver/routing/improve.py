"""Shorten a route as far as its rules let it, by a chain of quadratic programmes.

The first vertex moves on the start's axis, the last on the goal's, the others freely;
so the tube closes on both ports whatever happens. In every round length, straights,
angles and distances are taken as linear in the vertices, springs hold every vertex where
it is, a quadratic programme takes the best step, and the step stays only if the true
figures agree.
Finds the best route near where it starts from, not the best of all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from loopsolver.clearance.gap import ObstacleSet, least_gap
from loopsolver.geometry.solid_set import SolidSet, stack
from loopsolver.geometry.vectors import Array, point
from loopsolver.routing.bundle import lay
from loopsolver.routing.contacts import Bundle, Contacts, contacts
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.quadratic import least_of_quadratic
from loopsolver.tube.centreline import Centreline

ROUNDS: Final = 25
FIRST_STIFFNESS: Final = 0.1
"""Of the springs that hold the vertices in the first round [mm of tube per mm^2]."""

STIFFEST: Final = 1e5
"""The chain ends when even springs this stiff do not make a step good."""

SHARES: Final = (1.0, 0.5, 0.2)
"""Of a step these shares are tried; the first that is any good is taken."""

FIRMER: Final = (0.4, 1.5, 4.0)
"""What the springs' stiffness is multiplied by when that share was taken."""

FIRMEST: Final = 16.0
"""The same where none was any good."""

SOFT: Final = 0.1
"""Stiffness against slack, small: slack has a price of its own."""

MOST_LIMITS: Final = 40
"""Of all limits only the nearest this many enter a programme."""

PENALTY: Final = 50.0
"""Length that a millimetre or a degree of broken rule is held to be worth [mm]."""

NUDGE: Final = 1e-4
"""Step of the differences that stand for derivatives [mm]."""

MARGIN: Final = 2e-4
"""Kept beyond every limit, so that the independent check never argues [mm]."""

LEAST_GAIN: Final = 1e-3
"""Two steps in a row that gain less than this end the chain [mm]."""

AGAIN: Final = 4
"""How often the chain goes on with more margin."""

HOPELESS: Final = 0.5
"""Where more than this is missing the chain ended in a place too narrow [mm]."""

SIGHT: Final = 30.0
"""Solids further from the tube than its reach and this are left out [mm]."""

HOLDS: Final = 3
"""How often a trial is led back to exact angles."""

FLATTEST: Final = 1e-3
"""Directions that change the angles less than this share of the most are left alone."""

WATCH: Final = 8.0
"""Places with more room than this are no limits [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Angles:
    """What a route's bend angles should be.

    Attributes
    ----------
    targets : tuple of float [rad]
        The wanted angle of each bend.
    cost : float or None
        Length that a degree of departure is worth [mm]; None where none is allowed.
    """

    targets: tuple[float, ...]
    cost: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Task:
    problem: RouteProblem
    solids: SolidSet
    angles: Angles
    reach: float
    least: Array

    def place(self, moves: Array, base: Array) -> Array:
        """Return routes, one for each row of moves from one route or from as many."""
        start, goal = self.problem.start, self.problem.goal
        routes = np.array(np.broadcast_to(base, (len(moves), *base.shape[-2:])))
        routes[:, 1] += moves[:, :1] * np.asarray(start.direction)
        routes[:, -2] += moves[:, 1:2] * np.asarray(goal.direction)
        inner = base.shape[-2] - 4
        if inner > 0:
            routes[:, 2:-2] += moves[:, 2:].reshape(len(moves), inner, 3)
        return routes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Figures:
    """Some routes, and what becomes of them.

    Attributes
    ----------
    routes : array (routes, vertices, 3) [mm]
    length : array (routes,) [mm]
    room : array (routes, straights) [mm]
        What every straight has beyond its least.
    off_deg : array (routes, bends) [degrees]
    near : Contacts
        Where the routes come near to solids.
    """

    routes: Array
    length: Array
    room: Array
    off_deg: Array
    near: Contacts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Slopes:
    """How figures of a route change with its moves, a column a move, and what they are.

    Attributes
    ----------
    length : array (moves,)
    room : array (limits, moves)
    room_now : array (limits,) [mm]
        Of the straights, and of the nearest places.
    off_deg : array (bends, moves) [degrees / mm]
    off_deg_now : array (bends,) [degrees]
    """

    length: Array
    room: Array
    room_now: Array
    off_deg: Array
    off_deg_now: Array


def improved(
    problem: RouteProblem, around: ObstacleSet, vertices: Array, *, angles: Angles
) -> Array:
    """Return the vertices of a route drawn as short as it gets near where it is.

    The chain looks at points along the tube; where the exact gap turns out smaller than
    theirs, or exact angles took a straight below its least, it goes on with as much
    more margin.

    Parameters
    ----------
    problem : RouteProblem
    around : ObstacleSet
        Its obstacles.
    vertices : array (n, 3) [mm]
        A route of two bends or more; it may break the rules by a little.
    angles : Angles
    """
    task = _task(problem, around, vertices, angles)
    base, stiffness = vertices, FIRST_STIFFNESS
    for _ in range(AGAIN):
        base = _chain(task, base, stiffness)
        if angles.cost is None:
            base = _squared_up(task, base)
        missing = _missing(task, around, base)
        if max(missing) <= 0.0 or max(missing) > HOPELESS:
            break
        stiffness = 10.0 * FIRST_STIFFNESS
        task = replace(
            task, reach=task.reach + missing[0], least=task.least + missing[1]
        )
    return base


def _missing(task: _Task, around: ObstacleSet, base: Array) -> tuple[float, float]:
    """Return what the route's exact gap and its straights lack; 0 where nothing [mm]."""
    problem = task.problem
    laid = lay(base[None], radius=problem.bend_radius)
    short = float((least_straights(problem, len(base) - 2) - laid.straights[0]).max())
    if short > MARGIN:
        return 0.0, short
    route = Centreline(
        vertices=tuple(point(v) for v in base), radius=problem.bend_radius
    )
    gap = least_gap(
        route,
        around,
        tube_radius=problem.tube_radius,
        skip_start=problem.start.covered,
        skip_end=problem.goal.covered,
    )
    lacking = problem.clearance - gap.distance
    return (lacking + MARGIN if lacking > 0.0 else 0.0), (
        short + MARGIN if short > 0.0 else 0.0
    )


def least_straights(problem: RouteProblem, bends: int) -> Array:
    """Return the least length of each straight of a tube with so many bends [mm]."""
    between = [problem.straight_between_bends] * (bends - 1)
    return np.array([problem.start.straight, *between, problem.goal.straight])


def _chain(task: _Task, base: Array, stiffness: float) -> Array:
    """Return where a chain of quadratic programmes from `base` ends."""
    here = _figures(task, base[None])
    merit = _merit(task, here)[0]
    idle = 0
    for _ in range(ROUNDS):
        slopes = _slopes(task, here)
        step = _best_step(task, slopes, stiffness)
        if step is None:
            break
        gain = 0.0
        for share, firmer in zip(SHARES, FIRMER, strict=True):
            routes = task.place(share * step[None], base)
            if task.angles.cost is None:
                routes = _held(task, routes, slopes.off_deg)
            trial = _figures(task, routes)
            gain = merit - _merit(task, trial)[0]
            if gain > 0.0:
                here, merit, base = trial, merit - gain, routes[0]
                stiffness *= firmer
                break
        else:
            stiffness *= FIRMEST
        idle = idle + 1 if gain < LEAST_GAIN else 0
        if idle == 2 or stiffness > STIFFEST:
            break
    return base


def _task(
    problem: RouteProblem, around: ObstacleSet, vertices: Array, angles: Angles
) -> _Task:
    reach = problem.tube_radius + problem.clearance
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    bounds = around.solids.bounds
    beyond = np.maximum(bounds[:, 0] - high, low - bounds[:, 1]).max(axis=1)
    near = [
        obstacle.solid
        for obstacle, far in zip(around.obstacles, beyond, strict=True)
        if far < reach + SIGHT
    ]
    return _Task(
        problem=problem,
        solids=stack(near),
        angles=angles,
        reach=reach,
        least=least_straights(problem, len(vertices) - 2),
    )


def _figures(task: _Task, routes: Array) -> _Figures:
    problem = task.problem
    laid = lay(routes, radius=problem.bend_radius)
    bundle = Bundle(
        vertices=routes,
        laid=laid,
        radius=problem.bend_radius,
        covered=(problem.start.covered, problem.goal.covered),
    )
    return _Figures(
        routes=routes,
        length=laid.lengths,
        room=laid.straights - task.least - MARGIN,
        off_deg=np.degrees(laid.angles - np.array(task.angles.targets)),
        near=contacts(bundle, task.solids, within=task.reach + WATCH),
    )


def _merit(task: _Task, figures: _Figures) -> Array:
    """Return what is to be made small: length, and what broken rules are worth [mm]."""
    least = figures.room.min(axis=1)
    gaps = figures.near.distance - task.reach - MARGIN
    np.minimum.at(least, figures.near.route, gaps)
    off = np.abs(figures.off_deg).sum(axis=1)
    cost = PENALTY if task.angles.cost is None else task.angles.cost
    merit: Array = figures.length + PENALTY * np.maximum(-least, 0.0) + cost * off
    return merit


def _held(task: _Task, routes: Array, slopes: Array) -> Array:
    """Return routes led back to their angles, with slopes near by, (bends, moves)."""
    back = np.linalg.pinv(slopes, rcond=FLATTEST)
    targets = np.array(task.angles.targets)
    for _ in range(HOLDS):
        laid = lay(routes, radius=task.problem.bend_radius)
        off = np.degrees(laid.angles - targets)
        routes = task.place(-off @ back.T, routes)
    return routes


def _best_step(task: _Task, slopes: _Slopes, stiffness: float) -> Array | None:
    """Return the best move of a route against springs that hold it, or None.

    Variables: the moves, one slack for all broken limits, and for every bend how far
    its angle is off.
    """
    off, room = slopes.off_deg_now, slopes.room_now
    count, bends = len(slopes.length), len(off)
    cost = PENALTY if task.angles.cost is None else task.angles.cost
    more = np.zeros((len(room), bends))
    limits = np.vstack(
        [
            np.hstack([slopes.room, np.ones((len(room), 1)), more]),
            np.hstack([-slopes.off_deg, np.zeros((bends, 1)), np.eye(bends)]),
            np.hstack([slopes.off_deg, np.zeros((bends, 1)), np.eye(bends)]),
            np.hstack([np.zeros((1 + bends, count)), np.eye(1 + bends)]),
        ]
    )
    answer = least_of_quadratic(
        np.concatenate([np.full(count, stiffness), np.full(1 + bends, SOFT)]),
        np.concatenate([slopes.length, [PENALTY], np.full(bends, cost)]),
        limits,
        np.concatenate([-room, off, -off, np.zeros(1 + bends)]),
    )
    return None if answer is None else answer[:count]


def _slopes(task: _Task, figures: _Figures) -> _Slopes:
    """Return how the figures of a route change with its moves.

    Only the distances to solids need a slope of their own; where on its stretch a place
    lies is held meanwhile.
    """
    problem = task.problem
    base = figures.routes[0]
    count = 2 + 3 * (len(base) - 4)
    routes = task.place(NUDGE * np.eye(count), base)
    laid = lay(routes, radius=problem.bend_radius)
    bundle = Bundle(
        vertices=routes,
        laid=laid,
        radius=problem.bend_radius,
        covered=(problem.start.covered, problem.goal.covered),
    )
    nearest = np.argsort(figures.near.distance, kind="stable")[:MOST_LIMITS]
    near = figures.near.pick(nearest)
    every, place = np.indices((count, len(near.share))).reshape(2, -1)
    moved = bundle.points(every, near.stretch[place], near.share[place, None])
    away = moved.reshape(count, -1, 3) - near.point
    gaps = (away * near.away).sum(axis=2)
    straights = laid.straights - task.least - MARGIN - figures.room[0]
    targets = np.array(task.angles.targets)
    offs = np.degrees(laid.angles - targets) - figures.off_deg[0]
    room = np.concatenate([figures.room[0], near.distance - task.reach - MARGIN])
    return _Slopes(
        length=(laid.lengths - figures.length[0]) / NUDGE,
        room=np.hstack([straights, gaps]).T / NUDGE,
        room_now=room,
        off_deg=offs.T / NUDGE,
        off_deg_now=figures.off_deg[0],
    )


def _squared_up(task: _Task, base: Array) -> Array:
    """Return the route with its angles exact: Newton's least move on what is off."""
    count = 2 + 3 * (len(base) - 4)
    for _ in range(6):
        moves = np.vstack(
            [np.zeros(count), NUDGE * np.eye(count), -NUDGE * np.eye(count)]
        )
        laid = lay(task.place(moves, base), radius=task.problem.bend_radius)
        off = laid.angles - np.array(task.angles.targets)
        if np.abs(off[0]).max() < 1e-12:
            break
        slopes = ((off[1 : count + 1] - off[count + 1 :]) / (2.0 * NUDGE)).T
        step = np.linalg.lstsq(slopes, -off[0], rcond=1e-9)[0]
        base = task.place(step[None], base)[0]
    return base


def nearest_standard(angles: Array, standard: tuple[float, ...]) -> tuple[float, ...]:
    """Return for each angle the standard one nearest to it [rad]."""
    of = np.array(standard)
    return tuple(float(of[np.abs(of - angle).argmin()]) for angle in angles)
