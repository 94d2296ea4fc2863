"""From where the build is looked at: chosen so that the tubes are seen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.solids import Box, Cylinder, Mesh, Solid, box_round
from loopsolver.geometry.vectors import Array, Flags, Point, point, unit
from loopsolver.scene.axes import Sides
from loopsolver.tolerances import FLAT, SQUARE_COSINE

VIEW_ANGLE_DEG: Final = 22.0
"""Vertical opening of the lens: long enough that parallel tubes look parallel."""

PICTURE_MARGIN: Final = 0.045
"""Share of the picture left free at each side."""

_TURNS_DEG: Final = (-35.0, -55.0, 35.0, 55.0, -125.0, -145.0, 125.0, 145.0)
"""Three-quarter views: turns about up from the front to the right; those that see the
front come first, those from the left before those from the right as in `side`."""

_RISES_DEG: Final = (24.0, 12.0, 38.0)
"""How far above the level the eye stands; slightly above looks most natural."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Eye:
    """A direction to look from.

    Attributes
    ----------
    towards_eye : Point
        From the build to the eye; unit length.
    up : Point
        What points up in the picture; unit length, square to `towards_eye`.
    """

    towards_eye: Point
    up: Point

    @property
    def right(self) -> Point:
        """What points to the right in the picture; unit length."""
        return unit(np.cross(self.up, self.towards_eye).tolist())


def _eye(towards: Array, up: Array) -> Eye:
    direction = towards / np.linalg.norm(towards)
    square = up - (up @ direction) * direction
    return Eye(towards_eye=point(direction), up=unit(point(square)))


def front(sides: Sides) -> Eye:
    """Return the level view from before the case's front, its right to the right."""
    return _eye(-np.asarray(sides.away), np.asarray(sides.up))


def side(sides: Sides) -> Eye:
    """Return the level view from the case's left.

    There a case whose board stands on the right is open (common practice, no source).
    """
    return _eye(-np.asarray(sides.right), np.asarray(sides.up))


def top(sides: Sides) -> Eye:
    """Return the view from above, the case's right still to the right."""
    return _eye(np.asarray(sides.up), np.asarray(sides.away))


def from_behind(eye: Eye) -> Eye:
    """Return the same view from behind."""
    x, y, z = eye.towards_eye
    return Eye(towards_eye=(-x, -y, -z), up=eye.up)


def three_quarter(sides: Sides, *, turn_deg: float, rise_deg: float) -> Eye:
    """Return a view turned about up from the front to the right, and raised."""
    right, away, up = (np.asarray(way) for way in (sides.right, sides.away, sides.up))
    turn, rise = math.radians(turn_deg), math.radians(rise_deg)
    level = math.sin(turn) * right - math.cos(turn) * away
    return _eye(math.cos(rise) * level + math.sin(rise) * up, up)


def is_hidden(points: Array, towards_eye: Point, solids: Sequence[Solid]) -> Flags:
    """Return which points have a solid between themselves and a far eye, (n,) of bool.

    Points within a solid count as hidden by it. A mesh counts as the box round it. Half
    spaces hide nothing.
    """
    hidden = np.zeros(len(points), dtype=bool)
    ray = np.asarray(towards_eye)
    for solid in solids:
        if isinstance(solid, Box):
            hidden |= _box_hides(points, ray, solid)
        elif isinstance(solid, Cylinder):
            hidden |= _cylinder_hides(points, ray, solid)
        elif isinstance(solid, Mesh):
            hidden |= _box_hides(points, ray, box_round(solid))
    return hidden


def _slab(start: Array, slope: Array, half: Array | float) -> tuple[Array, Array]:
    """Return from where to where rays lie between two walls at -half and +half.

    References
    ----------
    The slab test: T. L. Kay and J. T. Kajiya, Ray tracing complex scenes, SIGGRAPH 1986.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (-half - start) / slope, (half - start) / slope
    level = np.abs(slope) < SQUARE_COSINE
    inside = np.abs(start) <= half
    enter = np.where(
        level, np.where(inside, -np.inf, np.inf), np.minimum(first, second)
    )
    leave = np.where(
        level, np.where(inside, np.inf, -np.inf), np.maximum(first, second)
    )
    return enter, leave


def _box_hides(points: Array, ray: Array, box: Box) -> Flags:
    own = (points - np.asarray(box.frame.origin)) @ box.frame.rotation
    slope = np.broadcast_to(ray @ box.frame.rotation, own.shape)
    enter, leave = _slab(own, slope, np.asarray(box.size) / 2.0)
    result: Flags = np.maximum(enter.max(axis=1), 0.0) < leave.min(axis=1)
    return result


def _cylinder_hides(points: Array, ray: Array, cylinder: Cylinder) -> Flags:
    own = (points - np.asarray(cylinder.frame.origin)) @ cylinder.frame.rotation
    slope = ray @ cylinder.frame.rotation
    along_in, along_out = _slab(
        own[:, 2], np.full(len(own), slope[2]), cylinder.height / 2.0
    )
    # Where |start + t * slope| across the axis is the radius: a t^2 + 2 b t + c = 0.
    a = slope[0] ** 2 + slope[1] ** 2
    b = own[:, :2] @ slope[:2]
    c = (own[:, :2] ** 2).sum(axis=1) - (cylinder.diameter / 2.0) ** 2
    if a < FLAT:
        enter = np.where(c <= 0.0, -np.inf, np.inf)
        leave = -enter
    else:
        root = np.sqrt(np.maximum(b * b - a * c, 0.0))
        meets = b * b >= a * c
        enter = np.where(meets, (-b - root) / a, np.inf)
        leave = np.where(meets, (-b + root) / a, -np.inf)
    result: Flags = np.maximum(np.maximum(enter, along_in), 0.0) < np.minimum(
        leave, along_out
    )
    return result


def best_eye(lines: Sequence[Array], solids: Sequence[Solid], *, sides: Sides) -> Eye:
    """Return the three-quarter view in which the lines are seen best.

    What counts is the length of line that is not behind a solid, as long as it appears
    in the picture; the usual view wins where others are no better.

    Parameters
    ----------
    lines : sequence of arrays (n, 3) [mm]
        Points along each tube's centre line, evenly spaced.
    solids : sequence of Solid
        What stands in the way.
    sides : Sides
    """
    views = [
        three_quarter(sides, turn_deg=turn_deg, rise_deg=rise_deg)
        for rise_deg in _RISES_DEG
        for turn_deg in _TURNS_DEG
    ]
    if not lines:
        return views[0]
    scores = [_seen(lines, solids, eye) for eye in views]
    # A view further down the list must be better by a hundredth, or rounding decides.
    enough = max(scores) * 0.99
    return next(
        eye for eye, score in zip(views, scores, strict=True) if score >= enough
    )


def _seen(lines: Sequence[Array], solids: Sequence[Solid], eye: Eye) -> float:
    """Return how much of the lines is seen: apparent length, less what is covered."""
    direction = np.asarray(eye.towards_eye)
    steps = np.vstack([np.diff(line, axis=0) for line in lines])
    middles = np.vstack([(line[1:] + line[:-1]) / 2.0 for line in lines])
    across = steps - np.outer(steps @ direction, direction)
    # Bodies are translucent: what is behind one is seen, but less well.
    clear = np.where(is_hidden(middles, eye.towards_eye, solids), 0.35, 1.0)
    return float(np.linalg.norm(across, axis=1) @ clear)


@dataclass(frozen=True, slots=True, kw_only=True)
class Framing:
    """Where the camera stands and looks, so that all is in the picture [mm].

    `height` is the height of the picture in the plane through the focus; a parallel
    picture is without perspective, as drawings are made.
    """

    focus: Point
    distance: float
    height: float
    is_parallel: bool = False


def framing(points: Array, eye: Eye, *, aspect: float) -> Framing:
    """Return the nearest place from which all points are within the margins.

    Parameters
    ----------
    points : array (n, 3) [mm]
    eye : Eye
    aspect : float
        Width of the picture divided by its height.
    """
    axes = np.array([eye.right, eye.up, eye.towards_eye])
    own = points @ axes.T
    slope = math.tan(math.radians(VIEW_ANGLE_DEG) / 2.0) * (1.0 - 2.0 * PICTURE_MARGIN)
    slopes = np.array([slope * aspect, slope])
    focus = (own.min(axis=0) + own.max(axis=0)) / 2.0
    # What is near looks larger, so the middle of the picture is not that of the bounds:
    # a cone's sides touch the extremes; each pair of sides gives place and distance.
    high = (own[:, :2] + slopes * own[:, 2:]).max(axis=0)
    low = (own[:, :2] - slopes * own[:, 2:]).min(axis=0)
    # Eye at depth d and position p: own + slope * depth <= p + slope * d at every point.
    depths = (high - low) / (2.0 * slopes)
    focus[:2] = (high + low) / 2.0
    distance = float(depths.max() - focus[2])
    return Framing(
        focus=point(focus @ axes),
        distance=distance,
        height=2.0 * distance * math.tan(math.radians(VIEW_ANGLE_DEG) / 2.0),
    )


def parallel_framing(points: Array, eye: Eye, *, aspect: float) -> Framing:
    """Return the same as `framing` for a picture without perspective."""
    axes = np.array([eye.right, eye.up, eye.towards_eye])
    own = points @ axes.T
    low, high = own.min(axis=0), own.max(axis=0)
    width, height, depth = high - low
    return Framing(
        focus=point((low + high) / 2.0 @ axes),
        distance=float(depth + np.linalg.norm(high - low)),
        height=float(max(height, width / aspect) / (1.0 - 2.0 * PICTURE_MARGIN)),
        is_parallel=True,
    )
