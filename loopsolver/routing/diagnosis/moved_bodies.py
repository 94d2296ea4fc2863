"""How far a body would have to move to let a stretch of tube pass."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Final

import numpy as np

from loopsolver.clearance.gap import is_clear
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.solids import HalfSpace, Solid, bounds, boxes_meet
from loopsolver.geometry.vectors import AXES, Array, offset
from loopsolver.routing.diagnosis.rule_changes import shifted
from loopsolver.routing.diagnosis.stretch import Stretch
from loopsolver.routing.problem import RouteProblem
from loopsolver.scene.walls import Room
from loopsolver.tolerances import TOUCH

FURTHEST: Final = 60.0
"""A body is moved no further than this [mm]; beyond, it is rather taken away."""


def moves(
    problem: RouteProblem, stretch: Stretch, name: str, *, step: float
) -> Iterator[tuple[float, str]]:
    """Yield the shortest move along each axis after which a body clears a stretch of tube.

    How far [mm], and along which axis: '+x' ... '-z'.

    In whole steps, and none that takes the body out of the case or into the box round
    another body; nor any that is too far.

    Parameters
    ----------
    problem : RouteProblem
        With the body where it stands.
    stretch : Stretch
    name : str
        The body's.
    step : float [mm]
    """
    solids = [o.solid for o in problem.obstacles if o.name == name]
    others = [
        bounds(o.solid)
        for o in problem.obstacles
        if o.name != name and not isinstance(o.solid, HalfSpace)
    ]
    for towards in AXES:
        by = _distance(problem, stretch, solids, towards=towards, step=step)
        if by and _has_room(solids, towards, by, others, problem.room):
            yield by, towards


def _distance(
    problem: RouteProblem,
    stretch: Stretch,
    solids: Sequence[Solid],
    *,
    towards: str,
    step: float,
) -> float | None:
    """Return the least distance along an axis that clears the tube, if there is one."""

    def is_far_enough(by: float) -> bool:
        moved = [Obstacle(name="", solid=_moved(s, towards, by)) for s in solids]
        gap = stretch.gap(moved, tube_radius=problem.tube_radius)
        return is_clear(gap.distance, problem.clearance)

    blocked, clear = 0.0, problem.effort.diagnosis.first_move
    while not is_far_enough(clear):
        blocked, clear = clear, 2.0 * clear
        if blocked >= FURTHEST:
            return None
    low, high = math.floor(blocked / step), math.ceil(clear / step)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_far_enough(middle * step) else (middle, high)
    return high * step if high * step <= FURTHEST else None


def _moved(solid: Solid, towards: str, by: float) -> Solid:
    return shifted(solid, offset((0.0, 0.0, 0.0), AXES[towards], by))


def _has_room(
    solids: Sequence[Solid],
    towards: str,
    by: float,
    others: Sequence[Array],
    room: Room,
) -> bool:
    """Return whether a body stays in the case and out of boxes it does not meet yet."""
    low, high = np.array(room)
    for solid in solids:
        before, after = bounds(solid), bounds(_moved(solid, towards, by))
        out_before = np.maximum(low - before[0], before[1] - high)
        out_after = np.maximum(low - after[0], after[1] - high)
        if (out_after > np.maximum(out_before, 0.0) + TOUCH).any():
            return False
        meets = partial(boxes_meet, within=-TOUCH)
        if any(meets(after, box) and not meets(before, box) for box in others):
            return False
    return True
