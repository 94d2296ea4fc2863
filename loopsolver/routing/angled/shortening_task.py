"""What a route is shortened for: its angles and turns, and the moves that keep them.

The first vertex moves on the start's axis, the last on the goal's, the others freely;
so the tube closes on both ports whatever happens.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from loopsolver.clearance.gap import ObstacleSet
from loopsolver.geometry.solid_set import SolidSet, stack
from loopsolver.geometry.vectors import Array, Flags
from loopsolver.routing.angled.bundle import BundleFigures, lay, turns_of
from loopsolver.routing.effort.angled import ShorteningEffort
from loopsolver.routing.problem import RouteProblem
from loopsolver.tolerances import (
    CURVED,
    FIRST_DIFFERENCE,
    FLAT,
    LEVEL_SUM,
    PARALLEL_SINE,
    SECOND_DIFFERENCE,
    UNIT_LENGTH,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class AngleTargets:
    """What a route's bend angles should be, and its turns where they are held.

    Attributes
    ----------
    targets : tuple of float [rad]
        The wanted angle of each bend.
    cost : float or None
        Length that a degree of departure is worth [mm]; None where none is allowed.
    least, most : float [rad]
        Where departures are allowed, angles stay between these.
    turns : tuple of float [rad]
        The turn before each bend but the first, held exactly; empty where turns are free.
    """

    targets: tuple[float, ...]
    cost: float | None = None
    least: float = 0.0
    most: float = math.pi
    turns: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShorteningTask:
    """What a route is shortened for.

    Attributes
    ----------
    problem : RouteProblem
    solids : SolidSet
        Those near enough to matter.
    angles : AngleTargets
    reach : float [mm]
        What the centre line must keep from every solid.
    least : array (straights,) [mm]
    free_moves : array (moves, coordinates)
        The moves a route may make, a row each, as changes of its free coordinates: of
        the first vertex along the start's axis, of the last along the goal's, and of
        x, y and z of the others.
    penalty : float [mm]
        Length that a millimetre or a degree of broken rule is held to be worth.
    """

    problem: RouteProblem
    solids: SolidSet
    angles: AngleTargets
    reach: float
    least: Array
    free_moves: Array
    penalty: float

    @property
    def effort(self) -> ShorteningEffort:
        """How hard it is tried."""
        return self.problem.effort.shortening

    @property
    def moves(self) -> int:
        """How many independent moves there are."""
        return len(self.free_moves)

    def place(self, moves: Array, base: Array) -> Array:
        """Return routes, one for each row of moves from one route or from as many."""
        start, goal = self.problem.start, self.problem.goal
        changes = moves @ self.free_moves
        routes = np.array(np.broadcast_to(base, (len(moves), *base.shape[-2:])))
        routes[:, 1] += changes[:, :1] * np.asarray(start.direction)
        routes[:, -2] += changes[:, 1:2] * np.asarray(goal.direction)
        inner = base.shape[-2] - 4
        if inner > 0:
            routes[:, 2:-2] += changes[:, 2:].reshape(len(moves), inner, 3)
        return routes

    @property
    def is_held(self) -> Flags:
        """Which of the angles and turns may not be off at all, (figures,)."""
        free = len(self.angles.targets) if self.angles.cost is not None else 0
        return np.arange(len(self.angles.targets) + len(self.angles.turns)) >= free

    @property
    def costs(self) -> Array:
        """Length that a degree off is worth, of each angle and turn, (figures,) [mm]."""
        cost = self.penalty if self.angles.cost is None else self.angles.cost
        return np.where(self.is_held, self.penalty, cost)

    def off(self, routes: Array) -> Array:
        """Return how far the routes are from what they should be, (routes, figures) [rad].

        Their angles, and their turns where they are held.
        """
        return self.off_laid(lay(routes, radius=self.problem.bend_radius))

    def off_laid(self, laid: BundleFigures) -> Array:
        """Return the same of routes that are laid out."""
        off: Array = laid.angles - np.array(self.angles.targets)
        if not self.angles.turns:
            return off
        turns = turns_of(laid) - np.array(self.angles.turns)
        turns = (turns + math.pi) % (2.0 * math.pi) - math.pi
        return np.hstack([off, turns])


def least_straights(problem: RouteProblem, bends: int) -> Array:
    """Return the least length of each straight of a tube with so many bends [mm]."""
    between = [problem.straight_between_bends] * (bends - 1)
    return np.array([problem.start.straight, *between, problem.goal.straight])


def shortening_task(
    problem: RouteProblem, around: ObstacleSet, vertices: Array, angles: AngleTargets
) -> ShorteningTask:
    """Return the task of shortening a route of two bends or more."""
    effort, reach = problem.effort.shortening, problem.reach
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    bounds = around.solids.bounds
    beyond = np.maximum(bounds[:, 0] - high, low - bounds[:, 1]).max(axis=1)
    near = [
        obstacle.solid
        for obstacle, far in zip(around.obstacles, beyond, strict=True)
        if far < reach + effort.sight
    ]
    task = ShorteningTask(
        problem=problem,
        solids=stack(near),
        angles=angles,
        reach=reach,
        least=least_straights(problem, len(vertices) - 2),
        free_moves=np.eye(2 + 3 * (len(vertices) - 4)),
        penalty=effort.penalty,
    )
    if not task.is_held.any():
        return task
    cosine = np.dot(problem.start.direction, problem.goal.direction)
    if task.is_held.all() and angles.turns and 1.0 - cosine**2 > PARALLEL_SINE:
        return replace(task, free_moves=_leg_moves(vertices))
    return replace(task, free_moves=_free_moves(task, vertices))


def _leg_moves(vertices: Array) -> Array:
    """Return the moves that hold the directions of all legs, (moves, coordinates).

    No others hold angles and turns, unless the ports are parallel: then the tube may roll
    about them as well. The legs change so that their sum as vectors stays, and each
    vertex goes by what the legs before it change.
    """
    steps = np.diff(vertices, axis=0)
    ways = steps / np.linalg.norm(steps, axis=1)[:, None]
    _, sizes, legs = np.linalg.svd(ways.T)
    longer = legs[int((sizes**2 > FLAT).sum()) :]
    gone = np.cumsum(longer[..., None] * ways, axis=1)[:, 1:-2]
    inner = gone.reshape(len(longer), 3 * (len(vertices) - 4))
    return np.hstack([longer[:, :1], longer[:, -1:], inner])


def _free_moves(task: ShorteningTask, base: Array) -> Array:
    """Return the moves that can leave a route's angles as they are, (moves, coordinates).

    Where a route is flat, some sum of its angles has no slope at all: it changes with
    the square of what leaves the plane, so nothing that leaves it can be led back. Such
    sums are found, and moves that bend them are left out.
    """
    held = task.is_held
    slopes_deg = np.degrees(off_slopes(task, base, FIRST_DIFFERENCE))[held]
    sums, sizes, _ = np.linalg.svd(slopes_deg)
    sizes = np.append(sizes, np.zeros(len(sums) - len(sizes)))
    lost = sums[:, sizes <= LEVEL_SUM * sizes.max(initial=UNIT_LENGTH)]
    if not lost.shape[1]:
        return task.free_moves
    curved = _curvatures(task, base)[..., held] @ lost
    rows = np.moveaxis(curved, 2, 0).reshape(-1, task.moves)
    _, sizes, free_moves = np.linalg.svd(rows)
    rank = int((sizes > CURVED).sum())
    flat: Array = free_moves[rank:]
    return flat


def off_slopes(task: ShorteningTask, base: Array, step: float) -> Array:
    """Return slopes of what is off, by central differences (figures, moves) [rad/mm]."""
    steps = step * np.eye(task.moves)
    ahead, back = (
        task.off(task.place(steps, base)),
        task.off(task.place(-steps, base)),
    )
    slopes: Array = (ahead - back).T / (2.0 * step)
    return slopes


def _curvatures(task: ShorteningTask, base: Array) -> Array:
    """Return second differences of what is off, (moves, moves, figures) [rad / mm^2].

    Central ones: a plane that is askew to the axes has odd differences as well.
    """
    n = task.moves
    one = SECOND_DIFFERENCE * np.eye(n)

    def off(first: float, second: float) -> Array:
        moves = (first * one[:, None] + second * one[None]).reshape(n * n, n)
        return task.off(task.place(moves, base)).reshape(n, n, -1)

    curved: Array = off(1, 1) - off(1, -1) - off(-1, 1) + off(-1, -1)
    return curved / (4.0 * SECOND_DIFFERENCE**2)
