"""Whether the round body of a fitting stands clear of other things, its ends flat."""

from __future__ import annotations

from collections.abc import Sequence

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.separation import stand_apart
from loopsolver.geometry.solids import Cylinder, bounds
from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import TOUCH


def is_clear(body: Cylinder, obstacles: Sequence[Obstacle], *, by: float) -> bool:
    """Return whether a flat-ended cylinder keeps a distance from every obstacle.

    Parameters
    ----------
    body : Cylinder
    obstacles : sequence of Obstacle
    by : float [mm]
        The least distance; negative where the body may go so far into them.
    """
    wanted = by - TOUCH
    low, high = bounds(body)
    return all(
        stand_apart(obstacle.solid, body, by=wanted)
        for obstacle in obstacles
        if _may_be_near(bounds(obstacle.solid), low - wanted, high + wanted)
    )


def _may_be_near(box: Array, low: Array, high: Array) -> bool:
    """Return whether a box reaches between two corners, grown by what is wanted."""
    return bool((box[0] <= high).all() and (box[1] >= low).all())
