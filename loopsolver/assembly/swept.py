"""Whether something runs into something else on its way: sweeps that are certified."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np

from loopsolver.clearance.gap import curves_of
from loopsolver.geometry.curves import Curves
from loopsolver.geometry.nearest import nearest_solids
from loopsolver.geometry.separation import separation
from loopsolver.geometry.solid_set import SolidSet
from loopsolver.geometry.solids import (
    Box,
    Cylinder,
    HalfSpace,
    Solid,
    bounds,
    boxes_meet,
)
from loopsolver.geometry.vectors import Array, Flags, Point, cross, dot, offset
from loopsolver.tolerances import OVERLAP_DOUBT
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.chain import screw_motions

LOOK_AFTER: Final = OVERLAP_DOUBT
"""Where things all but touch, how far they are moved from look to look [mm].

Between two looks they can come into each other by half of it, unseen.
"""

_RESOLUTION: Final = 0.1
"""How finely gaps are measured on the way [mm]: a step is shorter by as much."""

_FAR: Final = 30.0
"""What is further off is looked at again only after so much of a way [mm]."""

NOWHERE: Final[Point] = (0.0, 0.0, 0.0)

Placed = Callable[[float], Curves]
"""The centre line of a tube after so many millimetres of its way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slide:
    """A straight way: a unit direction and how far [mm]."""

    way: Point
    by: float

    @property
    def back(self) -> Slide:
        """The same way back."""
        x, y, z = self.way
        return replace(self, way=(0.0 - x, 0.0 - y, 0.0 - z))

    @property
    def vector(self) -> Point:
        """From start to end [mm]."""
        return offset(NOWHERE, self.way, self.by)


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """A turn by an angle [rad], right-handed about an axis through a point [mm]."""

    centre: Point
    axis: Point
    angle: float


def moved_curves(curves: Curves, by: Sequence[float]) -> Curves:
    """Return curves moved by a vector [mm]; nothing turns."""
    along = np.asarray(by, dtype=float)
    return Curves(
        origin=curves.origin + along,
        first=curves.first,
        second=curves.second,
        start=curves.start,
        stop=curves.stop,
        is_bent=curves.is_bent,
    )


def swung_curves(curves: Curves, swing: Swing) -> Curves:
    """Return curves turned about an axis."""
    screw = (*swing.axis, *cross(swing.centre, swing.axis))
    pose = screw_motions(screw, np.array([swing.angle]))
    turn = pose.rotations[0]
    return Curves(
        origin=curves.origin @ turn.T + pose.positions[0],
        first=curves.first @ turn.T,
        second=curves.second @ turn.T,
        start=curves.start,
        stop=curves.stop,
        is_bent=curves.is_bent,
    )


def tube_slides_free(
    curves: Curves, solids: SolidSet, slide: Slide, *, radius: float
) -> bool:
    """Return whether a tube slides along without running into solids.

    It may touch them; where it stands in one to begin with, it may not go deeper.

    Parameters
    ----------
    curves : Curves
        The tube's centre line, less a radius at either end, so that its round end is
        flush with where it ends.
    solids : SolidSet
    slide : Slide
    radius : float
        Of the tube [mm].

    Notes
    -----
    Conservative advancement: nothing on the tube moves by more than the way does, so
    after a look that finds a gap of g it is surely free for g more.

    References
    ----------
    B. Mirtich, Impulse-based dynamic simulation of rigid body systems, thesis, Berkeley
    (1996), section 2.3: from memory.
    """
    box = _swept_box(curve_bounds(curves), slide)
    is_near = _boxes_meet(solids.bounds, box, within=radius + LOOK_AFTER)
    if not is_near.any():
        return True
    return _is_free(
        lambda at: moved_curves(curves, offset(NOWHERE, slide.way, at)),
        solids.among(np.flatnonzero(is_near)),
        length=slide.by,
        radius=radius,
    )


def tube_swings_free(
    curves: Curves, solids: SolidSet, swing: Swing, *, radius: float
) -> bool:
    """Return whether a tube swings about an axis without running into solids.

    As `tube_slides_free`: no point of it moves further than the longest arm turns.
    """
    arm = _longest_arm(curves, swing) + radius
    sign = math.copysign(1.0, swing.angle)
    return _is_free(
        lambda at: swung_curves(curves, replace(swing, angle=sign * at / arm)),
        solids,
        length=arm * abs(swing.angle),
        radius=radius,
    )


def _is_free(placed: Placed, solids: SolidSet, *, length: float, radius: float) -> bool:
    at, floor = 0.0, 0.0
    while True:
        gap = _gap(placed(at), solids, radius)
        if at == 0.0:
            floor = min(gap, 0.0)
        if gap < floor - _RESOLUTION:
            return False
        if at >= length:
            return True
        at = min(length, at + max(gap - floor - _RESOLUTION, LOOK_AFTER))


def _gap(curves: Curves, solids: SolidSet, radius: float) -> float:
    """Return the gap of a tube to solids, or `_FAR` where it is more [mm]."""
    is_near = _boxes_meet(solids.bounds, curve_bounds(curves), within=radius + _FAR)
    near = np.flatnonzero(is_near)
    if not near.size:
        return _FAR
    found = nearest_solids(
        curves,
        solids.among(near),
        groups=np.zeros(near.size, dtype=np.intp),
        resolution=_RESOLUTION,
    )
    return min(float(found.distance[0]) - radius, _FAR)


def _swept_box(box: Array, slide: Slide) -> Array:
    """Return the box round a box and where it slides to, (2, 3)."""
    there = box + np.asarray(slide.vector)
    swept: Array = np.array(
        [np.minimum(box[0], there[0]), np.maximum(box[1], there[1])]
    )
    return swept


def _boxes_meet(boxes: Array, box: Array, *, within: float) -> Flags:
    """Return which boxes (n, 2, 3) come nearer to a box than a distance [mm]."""
    meets = (boxes[:, 0] < box[1] + within) & (boxes[:, 1] > box[0] - within)
    return np.asarray(meets.all(axis=1))


def curve_bounds(curves: Curves) -> Array:
    """Return the lowest and highest x, y, z that curves surely keep within, (2, 3)."""
    middles, reach = curves.middles(), curves.half_reach()[:, None]
    corners: Array = np.array(
        [(middles - reach).min(axis=0), (middles + reach).max(axis=0)]
    )
    return corners


def _longest_arm(curves: Curves, swing: Swing) -> float:
    """Return how far from an axis any point of curves lies at most [mm]."""
    middles = curves.middles() - np.asarray(swing.centre)
    away = np.linalg.norm(np.cross(middles, swing.axis), axis=1)
    return float((away + curves.half_reach()).max())


def solid_slides_free(mover: Solid, other: Solid, slide: Slide) -> bool:
    """Return whether a convex solid slides along without running into another.

    It may touch it, and stand in it by what measuring leaves; not go deeper than that.

    Notes
    -----
    The signed distance of two convex solids is convex along the way, and a separation's
    direction gives its slope. So the least lies between two looks that slope towards
    each other, no lower than where their tangents cross (Kelley's cutting planes, 1960,
    on a line: from memory).
    """
    if isinstance(mover, HalfSpace):
        return solid_slides_free(other, mover, slide.back)
    if boxes_apart(mover, other, slide):
        return True
    low, high = _look(mover, other, slide, 0.0), _look(mover, other, slide, slide.by)
    floor = min(low.distance, 0.0) - OVERLAP_DOUBT
    last = high
    while last.distance >= floor:
        at, bound = _tangents_cross(low, high)
        if bound >= floor or high.at - low.at <= LOOK_AFTER:
            return True
        last = _look(mover, other, slide, at)
        low, high = (last, high) if last.slope < 0.0 else (low, last)
    return False


class _Look(NamedTuple):
    """How far two solids stand apart after some of a way, and how fast that grows."""

    at: float
    distance: float
    slope: float


def _look(mover: Box | Cylinder, other: Solid, slide: Slide, at: float) -> _Look:
    place = offset(mover.frame.origin, slide.way, at)
    there = replace(mover, frame=replace(mover.frame, origin=place))
    apart = separation(other, there)
    return _Look(at, apart.distance, dot(apart.direction, slide.way))


def _tangents_cross(low: _Look, high: _Look) -> tuple[float, float]:
    """Return where the tangents at two looks cross, and how high: no less lies between."""
    if low.slope >= 0.0:
        return low.at, low.distance
    if high.slope <= 0.0:
        return high.at, high.distance
    ahead = high.distance - low.distance - high.slope * (high.at - low.at)
    along = ahead / (low.slope - high.slope)
    return low.at + along, low.distance + low.slope * along


def boxes_apart(mover: Solid, other: Solid, slide: Slide) -> bool:
    """Return whether the boxes round two solids never meet on the way."""
    box = _swept_box(bounds(mover), slide)
    return not boxes_meet(box, bounds(other), within=0.0)


def flush_curves(centreline: Centreline, *, radius: float) -> Curves:
    """Return a tube's centre line less a radius at either end."""
    return curves_of(centreline, skip_start=radius, skip_end=radius)
