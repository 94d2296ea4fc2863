"""A laid tube as the next run sees it: convex solids to keep clear of."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Cylinder
from loopsolver.geometry.vectors import difference, norm, offset, point
from loopsolver.routing.effort import USUAL
from loopsolver.tolerances import GAP_RESOLUTION, TOUCH
from loopsolver.tube.centreline import (
    BendArc,
    Centreline,
    Straight,
    pieces,
    points_along,
)
from loopsolver.tube.setting_out import chord, sagitta


def tube_obstacles(
    centreline: Centreline,
    *,
    tube_radius: float,
    reach: float,
    name: str,
    spacing: float = USUAL.loop.ball_spacing,
) -> tuple[Obstacle, ...]:
    """Return a tube as solids that hold it, seen from another run.

    A straight is a rod with round ends; a bend is a row of balls, which grown by the
    reach hold the tube grown by it. What they take too much can cost a route, never
    lead to a touch: what passes is measured exactly afterwards.

    Parameters
    ----------
    centreline : Centreline
    tube_radius : float [mm]
    reach : float [mm]
        What the other run's centre line keeps from any solid.
    name : str
        What messages call the tube.
    spacing : float
        About how far apart the balls stand [mm].
    """
    grown = tube_radius + 2.0 * GAP_RESOLUTION
    solids = (
        solid
        for piece in pieces(centreline)
        for solid in (
            _balls(piece, grown, reach, spacing)
            if isinstance(piece, BendArc)
            else _rod(piece, grown)
        )
    )
    return tuple(Obstacle(name=name, solid=solid) for solid in solids)


def _rod(straight: Straight, radius: float) -> Iterator[Cylinder]:
    """Yield the rod round a straight, if it has a length."""
    along = difference(straight.end, straight.start)
    length = norm(along)
    if length > TOUCH:
        yield Cylinder(
            frame=axis_frame(offset(straight.start, along, 0.5), along),
            diameter=0.0,
            height=length,
            rounding=radius,
        )


def _balls(
    arc: BendArc, radius: float, reach: float, spacing: float
) -> Iterator[Cylinder]:
    """Yield balls along an arc, the first and last ones at its ends.

    Notes
    -----
    The outline of the tube, grown by the reach, lies w from the arc. Half way between
    two balls, outside the bend, it lies w and the arc's rise over their chord from the
    chord; so balls grown to sqrt((w + rise)^2 + (chord / 2)^2) hold it.
    """
    steps = max(math.ceil(arc.radius * arc.angle / spacing), 1)
    step = arc.angle / steps
    rise, half_chord = sagitta(arc.radius, step), 0.5 * chord(arc.radius, step)
    whole = radius + reach
    wider = math.hypot(whole + rise, half_chord) - whole
    for centre in points_along(arc, np.linspace(0.0, 1.0, steps + 1)):
        yield Cylinder(
            frame=Frame(origin=point(centre)),
            diameter=0.0,
            height=0.0,
            rounding=radius + wider,
        )
