"""Runs as problems for the search: two ends, a case, and what stands in it.

Lengths are millimetres in the case frame. Tube of 14 mm, bent round 28 mm; clearance
3 mm, so the centre line keeps 10 mm; ends straight for 17 mm, 12 mm of it covered.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Solid
from loopsolver.geometry.vectors import AXES, Array, Point, point
from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.scene.model import BendAngles

INNER: Final[Point] = (500.0, 500.0, 500.0)
"""The inside of a roomy case [mm]."""

TUBE_RADIUS, CLEARANCE, BEND_RADIUS = 7.0, 3.0, 28.0
STRAIGHT, COVERED, BETWEEN = 17.0, 12.0, 15.0
REACH: Final = TUBE_RADIUS + CLEARANCE
"""What a centre line keeps from everything [mm]."""


def end_at(
    seat: Sequence[float] | Array, direction: Sequence[float] | Array | str
) -> TubeEnd:
    """Return a tube's end by its seat [mm] and the way the tube leaves, of any length.

    A direction may be an axis by name, such as "+x".
    """
    way = np.array(AXES[direction] if isinstance(direction, str) else direction, float)
    return TubeEnd(
        seat=point(seat),
        direction=point(way / np.linalg.norm(way)),
        straight=STRAIGHT,
        covered=COVERED,
    )


def box_at(
    centre: Sequence[float] | Array, size: Sequence[float] | Array, name: str = "box"
) -> Obstacle:
    """Return a box along the axes by its centre and size [mm]."""
    return Obstacle(
        name=name, solid=Box(frame=Frame(origin=point(centre)), size=point(size))
    )


def case_walls(inner: Point) -> list[Obstacle]:
    """Return the six walls of a case whose inside is so large [mm]."""
    return [
        Obstacle(
            name=f"wall facing {name}",
            solid=HalfSpace(
                point=(0.0, 0.0, 0.0) if name[0] == "+" else inner, normal=normal
            ),
        )
        for name, normal in sorted(AXES.items())
    ]


def collar_round(end: TubeEnd, name: str) -> Obstacle:
    """Return a collar of 22 mm, 20 mm high, its mouth 12 mm from a tube end's seat."""
    centre = np.array(end.seat) + 2.0 * np.array(end.direction)
    body = Cylinder(
        frame=axis_frame(point(centre), end.direction), diameter=22.0, height=20.0
    )
    return Obstacle(name=name, solid=body)


def numbered(name: str, solids: Iterable[Solid]) -> list[Obstacle]:
    """Return solids as obstacles called after a word and their number, from 0."""
    return [
        Obstacle(name=f"{name} {number}", solid=solid)
        for number, solid in enumerate(solids)
    ]


def problem(
    start: TubeEnd,
    goal: TubeEnd,
    obstacles: Iterable[Obstacle],
    *,
    inner: Point,
    **changes: Any,
) -> RouteProblem:
    """Return a run with up to five bends of 90 degrees, save for the changes.

    `inner` is the inside of the case [mm]; its walls are among the obstacles, if any.
    """
    usual = {
        "bend_radius": BEND_RADIUS,
        "tube_radius": TUBE_RADIUS,
        "clearance": CLEARANCE,
        "straight_between_bends": BETWEEN,
        "bend_angles_deg": (90.0,),
        "max_bends": 5,
        "candidates": 6,
    }
    return RouteProblem(
        start=start,
        goal=goal,
        room=((0.0, 0.0, 0.0), inner),
        obstacles=tuple(obstacles),
        **{**usual, **changes},
    )


def run_between(
    start: TubeEnd,
    goal: TubeEnd,
    *,
    angles: BendAngles,
    boxes: Iterable[Obstacle] = (),
    max_bends: int = 5,
    inner: Point = INNER,
) -> RouteProblem:
    """Return a run with bends of such angles [degrees] in a case of six walls."""
    return problem(
        start,
        goal,
        [*boxes, *case_walls(inner)],
        inner=inner,
        bend_angles_deg=angles,
        max_bends=max_bends,
    )


def random_ends(
    rng: np.random.Generator, *, centre: Point = (250.0, 250.0, 250.0)
) -> tuple[TubeEnd, TubeEnd]:
    """Return two ends within 100 mm of a point along each axis, in any direction."""
    start, goal = (
        end_at(rng.uniform(-100.0, 100.0, 3) + np.array(centre), rng.normal(size=3))
        for _ in range(2)
    )
    return start, goal
