"""Chosen tubes against each other."""

from __future__ import annotations

import math
from itertools import combinations

from loopsolver.clearance.gap import tube_gap
from loopsolver.plan.model import Plan, Touch
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import Centreline


def touches(plan: Plan) -> tuple[Touch, ...]:
    """Return every pair of chosen tubes nearer to each other than the clearance.

    In the order of the plan's runs. Runs without a route take no part.
    """
    radius = plan.scene.tube.radius
    clearance = plan.scene.rules.clearance
    chosen = [
        (run.name, candidate.centreline)
        for run in plan.runs
        if (candidate := run.chosen_candidate) is not None
    ]
    found: list[Touch] = []
    for (first, line), (second, other) in combinations(chosen, 2):
        if _least_possible_gap(line, other) - 2.0 * radius >= clearance:
            continue
        gap, near, far = tube_gap(
            line, other, first_radius=radius, second_radius=radius
        )
        if gap < clearance - TOUCH:
            x, y, z = ((a + b) / 2.0 for a, b in zip(near, far, strict=True))
            found.append(Touch(first=first, second=second, gap=gap, at=(x, y, z)))
    return tuple(found)


def _least_possible_gap(first: Centreline, second: Centreline) -> float:
    """Return the distance between the boxes round two centre lines' vertices [mm].

    A centre line lies within the hull of its vertices, so it is never nearer than this.
    """
    apart: list[float] = []
    for axis in range(3):
        one = [vertex[axis] for vertex in first.vertices]
        two = [vertex[axis] for vertex in second.vertices]
        apart.append(max(min(two) - max(one), min(one) - max(two), 0.0))
    return math.hypot(*apart)
