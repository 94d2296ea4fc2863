"""A route while it is shortened: its figures, and how they change with its moves."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.routing.angled.bundle import BundleFigures, lay
from loopsolver.routing.angled.contacts import Bundle, Contacts, contacts
from loopsolver.routing.angled.shortening_task import ShorteningTask, off_slopes
from loopsolver.tolerances import (
    EXACT_ANGLE,
    FIRST_DIFFERENCE,
    FLATTEST,
    LEVEL_SUM,
    SHORTENED_MARGIN,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Figures:
    """Some routes with their lengths, room, angles and nearest solids.

    Attributes
    ----------
    routes : array (routes, vertices, 3) [mm]
    length : array (routes,) [mm]
    room : array (routes, limits) [mm or degrees]
        What every straight has beyond its least, and free angles within theirs.
    off_deg : array (routes, figures) [degrees]
        How far angles are off, and turns that are held.
    near : Contacts
        Where the routes come near to solids.
    """

    routes: Array
    length: Array
    room: Array
    off_deg: Array
    near: Contacts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slopes:
    """How figures of a route change with its moves, a column a move, and what they are.

    Attributes
    ----------
    length : array (moves,)
    room : array (limits, moves)
    room_now : array (limits,) [mm]
        As in Figures, and of the nearest places.
    near : Contacts
        These places.
    off_deg : array (figures, moves) [degrees / mm]
    off_deg_now : array (figures,) [degrees]
    """

    length: Array
    room: Array
    room_now: Array
    near: Contacts
    off_deg: Array
    off_deg_now: Array


def figures_of(task: ShorteningTask, routes: Array) -> Figures:
    """Return the figures of routes, (routes, vertices, 3) [mm]."""
    bundle = _bundle(task, routes)
    laid = bundle.laid
    return Figures(
        routes=routes,
        length=laid.lengths,
        room=_room(task, laid),
        off_deg=np.degrees(task.off_laid(laid)),
        near=contacts(
            bundle,
            task.solids,
            within=task.reach + task.effort.watch,
            effort=task.effort,
        ),
    )


def _room(task: ShorteningTask, laid: BundleFigures) -> Array:
    """Return the room of straights [mm], and of free angles within theirs [degrees]."""
    room = [laid.straights - task.least]
    if task.angles.cost is not None:
        most, least = task.angles.most, task.angles.least
        room += [np.degrees(most - laid.angles), np.degrees(laid.angles - least)]
    return np.hstack(room) - SHORTENED_MARGIN


def _bundle(task: ShorteningTask, routes: Array) -> Bundle:
    problem = task.problem
    return Bundle(
        vertices=routes,
        laid=lay(routes, radius=problem.bend_radius),
        radius=problem.bend_radius,
        covered=(problem.start.covered, problem.goal.covered),
    )


def slopes_of(task: ShorteningTask, figures: Figures) -> Slopes:
    """Return how the figures of a route change with its moves.

    Only the distances to solids need a slope of their own; where on its stretch a place
    lies is held meanwhile.
    """
    bundle = _bundle(
        task,
        task.place(FIRST_DIFFERENCE * np.eye(task.moves), figures.routes[0]),
    )
    laid = bundle.laid
    nearest = np.argsort(figures.near.distance, kind="stable")[
        : task.effort.most_limits
    ]
    near = figures.near.pick(nearest)
    gaps = _gaps(bundle, near) - near.distance
    offs_deg = np.degrees(task.off_laid(laid)) - figures.off_deg[0]
    return Slopes(
        length=(laid.lengths - figures.length[0]) / FIRST_DIFFERENCE,
        room=np.hstack([_room(task, laid) - figures.room[0], gaps]).T
        / FIRST_DIFFERENCE,
        room_now=np.append(
            figures.room[0], near.distance - task.reach - SHORTENED_MARGIN
        ),
        near=near,
        off_deg=offs_deg.T / FIRST_DIFFERENCE,
        off_deg_now=figures.off_deg[0],
    )


def _gaps(bundle: Bundle, near: Contacts) -> Array:
    """Return the distances of moved routes at known nearest places, (routes, places)."""
    count = len(bundle.vertices)
    route, place = np.indices((count, len(near.share))).reshape(2, -1)
    moved = bundle.points(route, near.stretch[place], near.share[place, None])
    gone = moved.reshape(count, -1, 3) - near.point
    gaps: Array = near.distance + (gone * near.away).sum(axis=2)
    return gaps


def seen_from(
    task: ShorteningTask, slopes: Slopes, step: Array, there: Figures
) -> Slopes:
    """Return slopes whose limits are true at the end of a step, not where it began.

    A step along a curved limit breaks it; with this the next one goes round the curve.

    References
    ----------
    Nocedal and Wright, Numerical Optimization, section 18.3, second-order correction
    against the Maratos effect. From memory.
    """
    gaps = _gaps(_bundle(task, there.routes), slopes.near)[0]
    room = np.append(there.room[0], gaps - task.reach - SHORTENED_MARGIN)
    return replace(
        slopes,
        room_now=room - slopes.room @ step,
        off_deg_now=there.off_deg[0] - slopes.off_deg @ step,
    )


def restored(task: ShorteningTask, routes: Array, slopes_deg: Array) -> Array:
    """Return routes led back to what is held, with slopes near by, (figures, moves).

    References
    ----------
    The step back to curved constraints of the gradient projection method: J. B. Rosen,
    Journal of the Society for Industrial and Applied Mathematics 9 (1961). From memory.
    """
    held = task.is_held
    back = np.linalg.pinv(slopes_deg[held], rcond=FLATTEST)
    for _ in range(task.effort.holds):
        routes = task.place(-np.degrees(task.off(routes)[:, held]) @ back.T, routes)
    return routes


def squared_up(task: ShorteningTask, base: Array) -> Array:
    """Return the route with what is held exact: Newton's least move on what is off.

    A flat route that rounding took out of its plane is taken back by half each time.

    References
    ----------
    Newton's method with the least step where there are more unknowns than equations: A.
    Ben-Israel, Journal of Mathematical Analysis and Applications 15 (1966). From memory.
    """
    task = replace(task, free_moves=np.eye(2 + 3 * (len(base) - 4)))
    for _ in range(task.effort.squarings):
        off = task.off(base[None])[0, task.is_held]
        if np.abs(off).max() < EXACT_ANGLE:
            break
        slopes = off_slopes(task, base, FIRST_DIFFERENCE)[task.is_held]
        step = np.linalg.lstsq(slopes, -off, rcond=LEVEL_SUM)[0]
        base = task.place(step[None], base)[0]
    return base
