"""Routes that the two ports settle between them: none or one bend."""

from __future__ import annotations

import math

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.routing.problem import RouteProblem
from loopsolver.tolerances import TOUCH
from loopsolver.tube.setting_out import take_out


def straight_route(problem: RouteProblem) -> Array | None:
    """Return the tube without a bend, (2, 3) [mm], or None where the ports forbid it."""
    start, goal = problem.start, problem.goal
    p, d = np.asarray(start.seat), np.asarray(start.direction)
    q, g = np.asarray(goal.seat), np.asarray(goal.direction)
    length = float((q - p) @ d)
    faces = np.linalg.norm(d + g) < TOUCH and np.linalg.norm(q - p - length * d) < TOUCH
    least = max(start.straight, goal.straight, start.covered + goal.covered)
    return np.stack([p, q]) if faces and length >= least - TOUCH else None


def corner_route(problem: RouteProblem) -> tuple[Array, float] | None:
    """Return the tube of one bend, (3, 3) [mm], and its angle [rad], or None.

    There is one where the axes of the ports meet and both legs are long enough.
    """
    start, goal = problem.start, problem.goal
    p, d = np.asarray(start.seat), np.asarray(start.direction)
    q, g = np.asarray(goal.seat), np.asarray(goal.direction)
    angle = math.atan2(float(np.linalg.norm(np.cross(d, g))), float(-(d @ g)))
    if not TOUCH < angle < math.pi - TOUCH:
        return None
    (out, home), *_ = np.linalg.lstsq(np.column_stack([d, -g]), q - p, rcond=None)
    least = take_out(problem.bend_radius, angle)
    meet = np.linalg.norm(p + out * d - q - home * g) < TOUCH
    is_long_enough = (
        out >= start.straight + least - TOUCH and home >= goal.straight + least - TOUCH
    )
    return (np.stack([p, q + home * g, q]), angle) if meet and is_long_enough else None
