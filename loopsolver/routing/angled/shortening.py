"""Shorten a route as far as its rules let it, by a chain of quadratic programmes.

The first vertex moves on the start's axis, the last on the goal's, the others freely;
so the tube closes on both ports whatever happens. In every round length, straights,
angles and distances are taken as linear in the vertices, and springs hold every vertex
where it is. A quadratic programme takes the best step, which stays only if the true
figures agree. What is found is the best route near the first one, not the best of all.

References
----------
Sequential quadratic programming with a merit function of exact penalties: Nocedal and
Wright, Numerical Optimization (2006), chapter 18. From memory.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from loopsolver.clearance.gap import ObstacleSet, least_gap
from loopsolver.geometry.vectors import Array, point
from loopsolver.routing.angled.bundle import BundleFigures, lay, turns_of
from loopsolver.routing.angled.linearised import (
    Figures,
    Slopes,
    figures_of,
    restored,
    seen_from,
    slopes_of,
    squared_up,
)
from loopsolver.routing.angled.quadratic import least_of_quadratic
from loopsolver.routing.angled.shortening_task import (
    AngleTargets,
    ShorteningTask,
    least_straights,
    shortening_task,
)
from loopsolver.routing.control import heed_time
from loopsolver.routing.problem import RouteProblem
from loopsolver.scene.model import TurnStep
from loopsolver.tolerances import NO_BEND_DEG, SHORTENED_MARGIN
from loopsolver.tube.centreline import Centreline


def shortened(
    problem: RouteProblem, around: ObstacleSet, vertices: Array, *, angles: AngleTargets
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
    angles : AngleTargets
    """
    task = shortening_task(problem, around, vertices, angles)
    effort = task.effort
    base, stiffness = vertices, effort.first_stiffness
    for _ in range(effort.chains):
        base = _chain(task, base, stiffness)
        if task.is_held.any():
            base = squared_up(task, base)
        missing = _missing(task, around, base)
        if max(missing) <= 0.0 or max(missing) > effort.hopeless:
            break
        stiffness = effort.later_stiffness
        task = replace(
            task,
            reach=task.reach + missing[0],
            least=task.least + missing[1],
            penalty=effort.dearer * task.penalty,
        )
    return base


def _missing(
    task: ShorteningTask, around: ObstacleSet, base: Array
) -> tuple[float, float, float]:
    """Return what gap and straights lack [mm], and free angles [degrees]; 0 for nothing."""
    problem = task.problem
    laid = lay(base[None], radius=problem.bend_radius)
    angles = laid.angles[0]
    short = float((least_straights(problem, len(base) - 2) - laid.straights[0]).max())
    astray_deg = 0.0
    if task.angles.cost is not None:
        beyond = np.maximum(angles - task.angles.most, task.angles.least - angles)
        astray_deg = max(math.degrees(beyond.max()), 0.0)
    if short > SHORTENED_MARGIN:
        return 0.0, short, astray_deg
    if math.degrees(angles.min()) <= NO_BEND_DEG:
        return 0.0, math.inf, astray_deg  # drawn straight: a tube of fewer bends
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
    return (
        lacking + SHORTENED_MARGIN if lacking > 0.0 else 0.0,
        short + SHORTENED_MARGIN if short > 0.0 else 0.0,
        astray_deg,
    )


def _chain(task: ShorteningTask, base: Array, stiffness: float) -> Array:
    """Return where a chain of quadratic programmes from `base` ends."""
    if not task.moves:
        return base
    here = figures_of(task, base[None])
    idle = 0
    for _ in range(task.effort.rounds):
        heed_time()
        slopes = slopes_of(task, here)
        best, firmer = _stepped(task, here, slopes, stiffness)
        gain = _merit(task, here) - _merit(task, best)
        here, stiffness = best, stiffness * firmer
        idle = idle + 1 if gain < task.effort.least_gain else 0
        if idle == 2 or stiffness > task.effort.stiffest:
            break
    ended: Array = here.routes[0]
    return ended


def _stepped(
    task: ShorteningTask, here: Figures, slopes: Slopes, stiffness: float
) -> tuple[Figures, float]:
    """Return the figures after a step that helps, and how much firmer to go on.

    First the whole step is tried, then one that goes round the limits' curves, then
    parts of the first; where nothing is any good the route stays.
    """
    effort = task.effort
    step = _best_step(task, slopes, stiffness)
    if step is None:
        return here, effort.firmest
    merit = _merit(task, here)
    whole = _moved(task, here, slopes, step)
    if _merit(task, whole) < merit:
        return whole, effort.softer
    round_it = _best_step(task, seen_from(task, slopes, step, whole), stiffness)
    if round_it is not None:
        after = _moved(task, here, slopes, round_it)
        if _merit(task, after) < merit:
            return after, 1.0
    for share, firmer in zip(effort.shares, effort.firmer, strict=True):
        part = _moved(task, here, slopes, share * step)
        if _merit(task, part) < merit:
            return part, firmer
    return here, effort.firmest


def _moved(task: ShorteningTask, here: Figures, slopes: Slopes, step: Array) -> Figures:
    """Return the figures of a route moved by a step, and led back to exact angles."""
    routes = task.place(step[None], here.routes[0])
    if task.is_held.any():
        routes = restored(task, routes, slopes.off_deg)
    return figures_of(task, routes)


def _merit(task: ShorteningTask, figures: Figures) -> float:
    """Return what is to be made small: length, and what broken rules are worth [mm]."""
    gaps = figures.near.distance - task.reach - SHORTENED_MARGIN
    least = min(figures.room.min(), gaps.min(initial=0.0), 0.0)
    off = float((task.costs * np.abs(figures.off_deg)).sum())
    return float(figures.length[0] - task.penalty * least) + off


def _best_step(task: ShorteningTask, slopes: Slopes, stiffness: float) -> Array | None:
    """Return the best move of a route against springs that hold it, or None.

    Variables: the moves, one slack for all broken limits, and for every bend and turn
    that is held or paid for how far it is off.
    """
    off, room = slopes.off_deg_now, slopes.room_now
    count, bends = len(slopes.length), len(off)
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
        np.concatenate(
            [np.full(count, stiffness), np.full(1 + bends, task.effort.soft)]
        ),
        np.concatenate([slopes.length, [task.penalty], task.costs]),
        limits,
        np.concatenate([-room, off, -off, np.zeros(1 + bends)]),
    )
    return None if answer is None else answer[:count]


def nearest_standard(angles: Array, standard: tuple[float, ...]) -> tuple[float, ...]:
    """Return for each angle the standard one nearest to it [rad]."""
    of = np.array(standard)
    return tuple(float(of[np.abs(of - angle).argmin()]) for angle in angles)


def nearest_turns(laid: BundleFigures, step: TurnStep) -> tuple[float, ...]:
    """Return for each turn of a route the nearest multiple of a step [rad]; or nothing."""
    if step == "any":
        return ()
    one = math.radians(step)
    return tuple((one * np.round(turns_of(laid)[0] / one)).tolist())
