"""The route of one bend, where the axes of the two ports meet."""

from __future__ import annotations

import math

import numpy as np

from loopsolver.routing.problem import RouteProblem
from loopsolver.tolerances import TOUCH
from loopsolver.tube.setting_out import take_out


def corner_of(problem: RouteProblem) -> tuple[float, float, float] | None:
    """Return angle [rad] and both legs [mm] of a tube of one bend, or None.

    There is one where the axes of the ports meet and both legs are long enough.
    """
    start, goal = problem.start, problem.goal
    p, d = np.asarray(start.seat), np.asarray(start.direction)
    q, g = np.asarray(goal.seat), np.asarray(goal.direction)
    angle = math.atan2(float(np.linalg.norm(np.cross(d, g))), float(-(d @ g)))
    if not TOUCH < angle < math.pi - TOUCH:
        return None
    (out, home), *_ = np.linalg.lstsq(np.column_stack([d, -g]), q - p, rcond=None)
    if np.linalg.norm(p + out * d - q - home * g) > TOUCH:
        return None
    least = take_out(problem.bend_radius, angle)
    if out < start.straight + least - TOUCH or home < goal.straight + least - TOUCH:
        return None
    return angle, float(out), float(home)
