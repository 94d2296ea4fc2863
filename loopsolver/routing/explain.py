"""Why a run has no route, in words that help."""

from __future__ import annotations

import math

from loopsolver.geometry.vectors import angle_between
from loopsolver.routing.problem import RouteProblem
from loopsolver.scene.model import RunRequest, Scene


def why_none(problem: RouteProblem, scene: Scene, run: RunRequest) -> str:
    """Return the reason for which no route was found."""
    angle = math.degrees(angle_between(problem.start.direction, problem.goal.direction))
    square = any(abs(angle - whole) < 1e-6 for whole in (0.0, 90.0, 180.0))
    if not square:
        return (
            f"{run.from_ports[0]} and {run.to_ports[0]} stand at {angle:.1f} degrees to "
            "each other; 90-degree bends meet only ports that are square or in line"
        )
    return (
        f"no route with at most {problem.max_bends} bends of 90 degrees keeps "
        f"{problem.clearance:g} mm from everything, {scene.tube.outer_diameter:g} mm "
        f"tube and {problem.bend_radius:g} mm bend radius given"
    )
