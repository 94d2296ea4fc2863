"""Runs between two ends at any places, in a case of six walls, with boxes if wanted."""

from collections.abc import Sequence

import numpy as np

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box, HalfSpace
from loopsolver.geometry.vectors import AXES, Array, Point, point
from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.scene.model import BendAngles, TurnStep

INNER: Point = (500.0, 500.0, 500.0)
TUBE_RADIUS, CLEARANCE, BEND_RADIUS = 7.0, 3.0, 28.0
STRAIGHT, COVERED, BETWEEN = 17.0, 12.0, 15.0
REACH = TUBE_RADIUS + CLEARANCE


def unit_vector(vector: Sequence[float] | Array) -> Point:
    return point(np.array(vector, dtype=float) / np.linalg.norm(vector))


def end_at(
    seat: Sequence[float] | Array, direction: Sequence[float] | Array
) -> TubeEnd:
    return TubeEnd(
        seat=point(seat),
        direction=unit_vector(direction),
        straight=STRAIGHT,
        covered=COVERED,
    )


def box_at(
    centre: Sequence[float] | Array, size: Sequence[float] | Array, name: str = "box"
) -> Obstacle:
    return Obstacle(
        name=name, solid=Box(frame=Frame(origin=point(centre)), size=point(size))
    )


def run_between(
    start: TubeEnd,
    goal: TubeEnd,
    *,
    angles: BendAngles,
    boxes: Sequence[Obstacle] = (),
    max_bends: int = 5,
    inner: Point = INNER,
    turn_step: TurnStep = "any",
) -> RouteProblem:
    walls = [
        Obstacle(
            name=f"wall facing {name}",
            solid=HalfSpace(
                point=(0.0, 0.0, 0.0) if name[0] == "+" else inner, normal=normal
            ),
        )
        for name, normal in sorted(AXES.items())
    ]
    return RouteProblem(
        start=start,
        goal=goal,
        bend_radius=BEND_RADIUS,
        tube_radius=TUBE_RADIUS,
        clearance=CLEARANCE,
        straight_between_bends=BETWEEN,
        bend_angles=angles,
        turn_step=turn_step,
        max_bends=max_bends,
        candidates=6,
        case_inner=inner,
        obstacles=(*boxes, *walls),
    )


def random_ends(
    rng: np.random.Generator, *, centre: Point = (250.0, 250.0, 250.0)
) -> tuple[TubeEnd, TubeEnd]:
    """Two ends within 100 mm of a point along each axis, in any direction."""
    start, goal = (
        end_at(rng.uniform(-100.0, 100.0, 3) + np.array(centre), rng.normal(size=3))
        for _ in range(2)
    )
    return start, goal
