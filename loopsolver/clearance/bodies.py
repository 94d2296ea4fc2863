"""Whether the round body of a fitting stands clear of other things, its ends flat."""

from __future__ import annotations

from collections.abc import Sequence

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.separation import stand_apart
from loopsolver.geometry.solids import Cylinder, Solid, bounds
from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import GAP_RESOLUTION


def stands_clear(body: Cylinder, obstacles: Sequence[Obstacle], *, by: float) -> bool:
    """Return whether a flat-ended cylinder keeps a distance from every obstacle.

    Parameters
    ----------
    body : Cylinder
    obstacles : sequence of Obstacle
    by : float [mm]
        The least distance; negative where the body may go so far into them.
    """
    low, high = bounds(body)
    return all(
        keep_clear(obstacle.solid, body, by=by)
        for obstacle in obstacles
        if _may_be_near(bounds(obstacle.solid), low - by, high + by)
    )


def keep_clear(first: Solid, second: Solid, *, by: float) -> bool:
    """Return whether two bodies keep a distance, as finely as `gap.is_clear` tells."""
    return stand_apart(first, second, by=by - GAP_RESOLUTION)


def _may_be_near(box: Array, low: Array, high: Array) -> bool:
    """Return whether a box reaches between two corners, grown by what is wanted."""
    return bool((box[0] <= high).all() and (box[1] >= low).all())
