"""Where a click on the picture leads: the ray through it, and what it meets. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.solids import Solid, signed_distance
from loopsolver.geometry.vectors import Array, Point, offset, point, unit
from loopsolver.tolerances import MET

NEARLY: Final = 5.0
"""A click so far beside a thing still means it [pixels]."""

MOST_STRIDES: Final = 200
"""Steps along a ray towards a solid; one that grazes it is given up after so many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """A ray from the eye through a spot of the picture.

    Attributes
    ----------
    start : Point
        Where what is shown begins [mm].
    along : Point
        From the eye into the picture; unit length.
    near, far : float
        How deep along the ray things are shown, from its start [mm].
    pixel, widening : float
        Size of a pixel at the start [mm], and how it grows with each mm of depth.
    """

    start: Point
    along: Point
    near: float
    far: float
    pixel: float
    widening: float

    def at(self, depth: float) -> Point:
        """Return the place at a depth."""
        return offset(self.start, self.along, depth)

    def reach(self, depth: Array) -> Array:
        """Return what counts as nearly met at some depths [mm]."""
        return NEARLY * (self.pixel + self.widening * depth)


def sight_at(
    spot: tuple[float, float], *, projection: Array, size: tuple[int, int]
) -> Sight:
    """Return the ray through a spot of a picture.

    Parameters
    ----------
    spot : tuple of 2 floats
        From the picture's lower left corner [pixels].
    projection : array (4, 4)
        Homogeneous: from points of the case [mm] to shares of the picture's width and
        height, and to -1 where what is shown begins and 1 where it ends.
    size : tuple of 2 ints
        Width and height of the picture [pixels].
    """
    back = np.linalg.inv(projection)

    def place(right: float, depth: float) -> Array:
        share = ((spot[0] + right) / size[0], spot[1] / size[1], depth, 1.0)
        whole = back @ np.array(share)
        return np.asarray(whole[:3] / whole[3], dtype=np.float64)

    start, end = place(0.0, -1.0), place(0.0, 1.0)
    far = float(np.linalg.norm(end - start))
    pixel, last = (
        float(np.linalg.norm(place(1.0, depth) - at))
        for depth, at in ((-1.0, start), (1.0, end))
    )
    return Sight(
        start=point(start),
        along=unit(point(end - start)),
        near=0.0,
        far=far,
        pixel=pixel,
        widening=(last - pixel) / far,
    )


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class RayMeeting:
    """How a ray meets points with room round them: the first in order is meant.

    Attributes
    ----------
    is_beside : bool
        Whether it only nearly meets them.
    depth : float
        How deep [mm].
    place : int
        Which of the points it is.
    """

    is_beside: bool
    depth: float
    place: int


def meeting(sight: Sight, points: Array, *, radius: float) -> RayMeeting | None:
    """Return how a ray meets balls round points (n, 3) [mm]; None if it passes all by.

    Of those that it meets, and that no others hide, the one it passes closest, as of those
    that it only nearly meets.
    """
    if not len(points):
        return None
    from_start = points - np.asarray(sight.start)
    depth = from_start @ np.asarray(sight.along)
    beside = np.linalg.norm(from_start - np.outer(depth, sight.along), axis=1) - radius
    is_shown = (depth >= sight.near) & (depth <= sight.far)
    met = is_shown & (beside <= 0.0)
    nearly = is_shown & (beside <= sight.reach(depth))
    if not nearly.any():
        return None
    if met.any():
        nearly = met & (depth <= depth[met].min() + 2.0 * radius)
    place = int(np.argmin(np.where(nearly, beside, np.inf)))
    return RayMeeting(is_beside=not met.any(), depth=float(depth[place]), place=place)


def depth_of(sight: Sight, solid: Solid) -> float | None:
    """Return how deep a ray meets the surface of a solid [mm]; None if it passes by.

    References
    ----------
    Sphere tracing: J. C. Hart, The Visual Computer 12 (1996) 527: a step as long as the
    distance to a surface never goes through it.
    """
    depth = sight.near
    for _ in range(MOST_STRIDES):
        (gap,) = signed_distance(solid, np.array([sight.at(depth)]))
        if gap <= MET:
            return depth
        depth += float(gap)
        if not depth <= sight.far < math.inf:
            return None
    return None
