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
    Mesh,
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

_STAY: Final = np.zeros((1, 3))


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
    from a look that finds a gap of g it is surely free for g either way.

    References
    ----------
    B. Mirtich, Impulse-based dynamic simulation of rigid body systems, thesis, Berkeley
    (1996), section 2.3: from memory.
    """
    box = _swept_box(curve_bounds(curves), slide)
    is_near = _boxes_meet(solids.bounds, box, within=radius + LOOK_AFTER)
    if not is_near.any():
        return True
    near = solids.among(np.flatnonzero(is_near))
    back = -np.asarray(slide.way)

    def gaps(at: Array) -> Array:
        return _gaps(curves, near, at[:, None] * back, radius)

    return _is_free(gaps, length=slide.by)


def tube_swings_free(
    curves: Curves, solids: SolidSet, swing: Swing, *, radius: float
) -> bool:
    """Return whether a tube swings about an axis without running into solids.

    As `tube_slides_free`: no point of it moves further than the longest arm turns.
    """
    arm = _longest_arm(curves, swing) + radius
    sign = math.copysign(1.0, swing.angle)

    def gaps(at: Array) -> Array:
        turned = (replace(swing, angle=sign * one / arm) for one in at.tolist())
        here = ((swung_curves(curves, one), solids, _STAY, radius) for one in turned)
        return np.concatenate([_gaps(*one) for one in here])

    return _is_free(gaps, length=arm * abs(swing.angle))


def _is_free(gaps: Callable[[Array], Array], *, length: float) -> bool:
    """Return whether no gap on a way [mm] is less than the first one, or than none.

    `gaps` measures them after each of some lengths of the way, up to `_FAR`. Stretches of
    it that no look at their ends makes sure of are looked at again, all at once, in the
    middle of what is not sure.
    """
    at = np.linspace(0.0, length, 1 + math.ceil(max(length, _FAR) / _FAR / 2.0))
    gap = gaps(at)
    floor = min(float(gap[0]), 0.0)
    while gap.min() >= floor - _RESOLUTION:
        sure = np.maximum(gap - floor - _RESOLUTION, 0.0)
        low, high = at[:-1] + sure[:-1], at[1:] - sure[1:]
        unsure = high - low > LOOK_AFTER
        if not unsure.any():
            return True
        middles = 0.5 * (low + high)[unsure]
        places = np.flatnonzero(unsure) + 1
        at = np.insert(at, places, middles)
        gap = np.insert(gap, places, gaps(middles))
    return False


def _gaps(curves: Curves, solids: SolidSet, moves: Array, radius: float) -> Array:
    """Return the gap of a tube to solids moved by each of some vectors, (moves,) [mm].

    It is `_FAR` where it is more.
    """
    gaps = np.full(len(moves), _FAR)
    box = curve_bounds(curves)
    there = box - moves[:, None]
    is_near = _boxes_meet(solids.bounds, there[:, None], within=radius + _FAR)
    rows, near = np.nonzero(is_near)
    if near.size:
        looked, groups = np.unique(rows, return_inverse=True)
        found = nearest_solids(
            curves,
            solids.among(near).moved(moves[rows]),
            groups=groups,
            resolution=_RESOLUTION,
        )
        gaps[looked] = np.minimum(found.distance - radius, _FAR)
    return gaps


def _swept_box(box: Array, slide: Slide) -> Array:
    """Return the box round a box and where it slides to, (2, 3)."""
    there = box + np.asarray(slide.vector)
    swept: Array = np.array(
        [np.minimum(box[0], there[0]), np.maximum(box[1], there[1])]
    )
    return swept


def _boxes_meet(boxes: Array, others: Array, *, within: float) -> Flags:
    """Return which boxes (..., 2, 3) come nearer to others than a distance [mm]."""
    low, high = others[..., 0, :] - within, others[..., 1, :] + within
    meets = (boxes[..., 0, :] < high) & (boxes[..., 1, :] > low)
    return np.asarray(meets.all(axis=-1))


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
    """Return whether a solid slides along without running into another.

    It may touch it, and stand in it by what measuring leaves; not go deeper than that.

    Notes
    -----
    The signed distance of two convex solids is convex along the way, and a separation's
    direction gives its slope. So the least lies between two looks that slope towards
    each other, no lower than where their tangents cross (Kelley's cutting planes, 1960,
    on a line: from memory). Beside a mesh it is not convex: there the way is gone by
    what is free, as a tube goes.
    """
    if isinstance(mover, HalfSpace):
        return solid_slides_free(other, mover, slide.back)
    if boxes_apart(mover, other, slide):
        return True
    low, high = _look(mover, other, slide, 0.0), _look(mover, other, slide, slide.by)
    floor = min(low.distance, 0.0) - OVERLAP_DOUBT
    if isinstance(mover, Mesh) or isinstance(other, Mesh):
        return _advances_free(mover, other, slide, floor)
    last = high
    while last.distance >= floor:
        at, bound = _tangents_cross(low, high)
        if bound >= floor or high.at - low.at <= LOOK_AFTER:
            return True
        last = _look(mover, other, slide, at)
        low, high = (last, high) if last.slope < 0.0 else (low, last)
    return False


def _advances_free(
    mover: Box | Cylinder | Mesh, other: Solid, slide: Slide, floor: float
) -> bool:
    """Return whether two solids come no nearer than `floor` [mm] on the way."""
    at = 0.0
    while True:
        gap = _look(mover, other, slide, at).distance
        if gap < floor:
            return False
        if at >= slide.by:
            return True
        at = min(slide.by, at + max(gap - floor, LOOK_AFTER))


class _Look(NamedTuple):
    """How far two solids stand apart after some of a way, and how fast that grows."""

    at: float
    distance: float
    slope: float


def _look(mover: Box | Cylinder | Mesh, other: Solid, slide: Slide, at: float) -> _Look:
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
