"""A laid tube as the next run sees it: convex solids to keep clear of."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Cylinder
from loopsolver.geometry.vectors import Point, difference, norm, offset, point
from loopsolver.tolerances import GAP_RESOLUTION, LAID_WIDER, TOUCH
from loopsolver.tube.centreline import BendArc, Centreline, pieces, points_along
from loopsolver.tube.setting_out import chord, sagitta


def tube_obstacles(
    centreline: Centreline,
    *,
    tube_radius: float,
    reach: float,
    name: str,
    wider: float = LAID_WIDER,
) -> tuple[Obstacle, ...]:
    """Return a tube as solids that hold it, seen from another run.

    A straight is a rod with round ends; a bend is a row of balls, which grown by the
    reach hold the tube grown by it. What they take too much, `wider` at most, can cost
    a route, never lead to a touch: what passes is measured exactly afterwards.

    Parameters
    ----------
    centreline : Centreline
    tube_radius : float [mm]
    reach : float [mm]
        What the other run's centre line keeps from any solid.
    name : str
        What messages call the tube.
    wider : float [mm]
        The wider the bends may be held to be, the fewer balls they take.
    """
    grown = tube_radius + 2.0 * GAP_RESOLUTION
    obstacles: list[Obstacle] = []
    for piece in pieces(centreline):
        if isinstance(piece, BendArc):
            balls = [*_balls(piece, grown, reach, wider)]
            obstacles += [
                Obstacle(name=name, solid=ball, lies_between=_is_between(ball, balls))
                for ball in balls
            ]
        else:
            rod = _rod(piece.start, piece.end, grown)
            obstacles += [Obstacle(name=name, solid=solid) for solid in rod]
    return tuple(obstacles)


def _is_between(ball: Cylinder, balls: Sequence[Cylinder]) -> bool:
    """Return whether a ball is neither end of a row, nor further out along any axis."""
    ends = balls[0].frame.origin, balls[-1].frame.origin
    return ball not in (balls[0], balls[-1]) and all(
        min(pair) - TOUCH <= at <= max(pair) + TOUCH
        for at, pair in zip(ball.frame.origin, zip(*ends, strict=True), strict=True)
    )


def _rod(start: Point, end: Point, radius: float) -> Iterator[Cylinder]:
    """Yield the rod round a straight, if it has a length."""
    along = difference(end, start)
    length = norm(along)
    if length > TOUCH:
        yield Cylinder(
            frame=axis_frame(offset(start, along, 0.5), along),
            diameter=0.0,
            height=length,
            rounding=radius,
        )


def _balls(
    arc: BendArc, radius: float, reach: float, most: float
) -> Iterator[Cylinder]:
    """Yield balls along an arc, the first and last ones at its ends.

    Notes
    -----
    The outline of the tube, grown by the reach, lies w from the arc. Half way between
    two balls, outside the bend, it lies w and the arc's rise over their chord c from the
    chord; so balls grown to sqrt((w + rise)^2 + (c / 2)^2) hold it. To second order that
    is w + c^2 (1 / w + 1 / R) / 8.
    """
    whole = radius + reach
    spacing = math.sqrt(8.0 * most / (1.0 / whole + 1.0 / arc.radius))
    steps = max(math.ceil(arc.radius * arc.angle / spacing), 1)
    step = arc.angle / steps
    rise, half_chord = sagitta(arc.radius, step), 0.5 * chord(arc.radius, step)
    wider = math.hypot(whole + rise, half_chord) - whole
    for centre in points_along(arc, np.linspace(0.0, 1.0, steps + 1)):
        yield Cylinder(
            frame=Frame(origin=point(centre)),
            diameter=0.0,
            height=0.0,
            rounding=radius + wider,
        )
