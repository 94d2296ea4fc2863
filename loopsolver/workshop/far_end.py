"""Where the far end of a bent tube is, told on the first sheet: to check all bends by.

The tube lies with its first straight and first bend on their lines. How far its far end
is then off the foot and the height told here, as the sheet is read, and how its last
straight points, says what has to be mended: see ``loopsolver correct``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from loopsolver.drafting.drawing import Circle, Entity, Place
from loopsolver.drafting.extent import around
from loopsolver.drafting.placing import Ground
from loopsolver.drafting.symbols import cross as cross_at
from loopsolver.drafting.symbols import lettered
from loopsolver.geometry.vectors import Point, cross, difference, dot, point, unit
from loopsolver.report.angles import degree_sign
from loopsolver.scene.axes import OPPOSITE, SIDES, Side
from loopsolver.workshop.flat import FlatPlane
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers

_ARM: Final = 4.0  # of the cross at the foot [mm]
_LEVEL_DEG: Final = 0.5  # what points so little off an axis is told to point along it
_SIZE: Final = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class FarEnd:
    """Where a tube's far end is over its first sheet, where it is trimmed.

    Attributes
    ----------
    foot : Place
        Right and away of where the first bend's centre lines meet [mm].
    height : float
        Above the sheet, below 0 under it [mm].
    points : Point
        Where the last straight points, out of the tube: right, away and up.
    """

    foot: Place
    height: float
    points: Point


def far_end(job: Job, plane: FlatPlane) -> FarEnd | None:
    """Return where the far end is over a sheet; None where that is not to be told.

    It is told on the first sheet of the plain set alone, and not where the whole tube
    lies on it: there the end itself is drawn.
    """
    if plane.number != 1 or plane.is_mirrored or plane.turn_after_deg is None:
        return None
    start, corner, after = job.centreline.vertices[:3]
    *_, before, end = job.centreline.vertices
    right, leaving = unit(difference(corner, start)), difference(after, corner)
    sides = (right, leaving) if plane.bends[0].side > 0 else (leaving, right)
    up = unit(cross(*sides))
    axes = (right, cross(up, right), up)
    x, y, height = (dot(difference(end, corner), axis) for axis in axes)
    along = unit(difference(end, before))
    return FarEnd(
        foot=(x, y), height=height, points=point(dot(along, axis) for axis in axes)
    )


def far_end_words(job: Job, plane: FlatPlane) -> tuple[str, ...]:
    """Return where the far end has to be, as the sheet is read, in sentences."""
    there = far_end(job, plane)
    if there is None:
        return ()
    ways: tuple[tuple[float, Side], ...] = (
        (there.foot[0], "right"),
        (there.foot[1], "away"),
    )
    foot = " and ".join(
        f"{job.length(abs(by))} {way if by >= 0.0 else OPPOSITE[way]}"
        for by, way in ways
    )
    level = "above" if there.height >= 0.0 else "below"
    return (
        "All bends made, the first straight and bend 1 on their lines: the far end, where "
        f"it is trimmed, has its foot {foot} of where the centre lines of bend 1 meet, and "
        f"is {job.length(abs(there.height))} {level} this sheet; there the last straight "
        f"points {_pointing(there.points)}. Measure how far off it is: loopsolver correct "
        "says what mends it.",
    )


def far_end_mark(job: Job, plane: FlatPlane, ground: Ground) -> Iterator[Entity]:
    """Yield a mark at the far end's foot, where it lies among what is drawn anyhow."""
    there = far_end(job, plane)
    if there is None:
        return
    left, bottom, right, top = around(plane.points)
    if not (left <= there.foot[0] <= right and bottom <= there.foot[1] <= top):
        return
    yield Circle(centre=there.foot, radius=0.6 * _ARM, layer=Layers.DIMENSION)
    yield from cross_at(there.foot, _ARM, Layers.DIMENSION)
    beside = (there.foot[0] + _ARM + 1.0, there.foot[1] - 0.4 * _SIZE)
    yield from lettered("foot of the far end", beside, size=_SIZE)
    ground.take_line(there.foot, (beside[0] + 30.0, there.foot[1]), half_width=_ARM)


def _pointing(points: Point) -> str:
    """Return a direction as the sheet is read: one way, or how far up and between two.

    >>> _pointing((0.0, 0.0, -1.0)), _pointing((0.6, 0.8, 0.0))
    ('down', '53.1° from right towards away')
    >>> _pointing((-0.5, 0.0, 0.75**0.5))
    'left and 60° up'
    """
    rise_deg = math.degrees(math.asin(max(-1.0, min(1.0, points[2]))))
    upright: Side = "up" if rise_deg >= 0.0 else "down"
    if 90.0 - abs(rise_deg) < _LEVEL_DEG:
        return upright
    level = _level_words(points)
    if abs(rise_deg) < _LEVEL_DEG:
        return level
    return f"{level} and {degree_sign(abs(rise_deg))} {upright}"


def _level_words(points: Point) -> str:
    """Return where a direction points as seen from above the sheet."""
    across: Side = SIDES[0] if points[0] >= 0.0 else SIDES[1]
    along: Side = SIDES[2] if points[1] >= 0.0 else SIDES[3]
    turn_deg = math.degrees(math.atan2(abs(points[1]), abs(points[0])))
    if turn_deg < _LEVEL_DEG:
        return across
    if 90.0 - turn_deg < _LEVEL_DEG:
        return along
    return f"{degree_sign(turn_deg)} from {across} towards {along}"
