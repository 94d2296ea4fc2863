"""Whether the round body of a fitting stands clear of other things, its ends flat."""

from __future__ import annotations

from collections.abc import Sequence

from loopsolver.clearance.gap import is_clear, least_gap, least_gaps
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.solids import Cylinder
from loopsolver.geometry.vectors import offset
from loopsolver.scene.overlap import separation
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import Centreline


def stands_clear(body: Cylinder, obstacles: Sequence[Obstacle], *, by: float) -> bool:
    """Return whether a flat-ended cylinder keeps a distance from every obstacle.

    Parameters
    ----------
    body : Cylinder
    obstacles : sequence of Obstacle
    by : float [mm]
        The least distance; negative where the body may go so far into them.

    Notes
    -----
    A cylinder lies inside the rod with round ends about its whole axis, and around that
    about its axis less a radius at both ends. What one of them settles, which is nearly
    everything, needs no search for the distance of two solids.
    """
    if not obstacles:
        return True
    radius = 0.5 * body.diameter
    around = least_gaps(_axis(body, cut=0.0), obstacles, tube_radius=radius)
    near = [o for o in obstacles if not is_clear(around[o.name].distance, by)]
    if not near:
        return True
    if body.height > body.diameter + TOUCH:
        inside = least_gap(_axis(body, cut=radius), near, tube_radius=radius)
        if not is_clear(inside.distance, by):
            return False
    return all(is_clear(separation(o.solid, body).distance, by) for o in near)


def _axis(body: Cylinder, *, cut: float) -> Centreline:
    """Return a cylinder's axis, a length cut off both its ends."""
    half = 0.5 * body.height - cut
    along = body.frame.axes[2]
    ends = (offset(body.frame.origin, along, side * half) for side in (-1.0, 1.0))
    return Centreline(vertices=tuple(ends), radius=1.0)
