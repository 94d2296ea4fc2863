"""Where x, y and z point for somebody who stands before the case's front.

The machine stands as it is used. Right, away and up are right-handed in this order, so
axes are right-handed where the determinant of their parts along these three is 1. Axes
that are not describe the case's mirror image, and every tube comes out as its own.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final, Literal, get_args

from loopsolver.errors import GeometryError
from loopsolver.geometry.vectors import (
    AXES,
    Point,
    axis_name,
    cross,
    dot,
    offset,
    point,
    unit,
)

Side = Literal["right", "left", "away", "near", "up", "down"]
"""The six ways, each beside its opposite."""

Axes = tuple[Side, Side, Side]
"""Where x, y and z point."""

SIDES: Final[tuple[Side, ...]] = get_args(Side)

OPPOSITE: Final = dict(
    pair
    for one, other in zip(SIDES[::2], SIDES[1::2], strict=True)
    for pair in ((one, other), (other, one))
)

_PARTS: Final[dict[Side, Point]] = dict(zip(SIDES, AXES.values(), strict=True))
"""Each way by its parts along right, away and up."""

_LEVEL: Final = 0.9
"""An axis with less of `up` than this in it is level enough to call it right."""


def is_each_once(axes: Axes) -> bool:
    """Whether right or left, away or near, and up or down stand in it once each."""
    return len({*axes, *(OPPOSITE[side] for side in axes)}) == len(SIDES)


def is_right_handed(axes: Axes) -> bool:
    """Whether axes, one each of the three pairs, are right-handed.

    >>> is_right_handed(("left", "near", "up")), is_right_handed(("left", "away", "up"))
    (True, False)
    """
    x, y, z = (_PARTS[side] for side in axes)
    return dot(cross(x, y), z) > 0.0


RIGHT_HANDED: Final[tuple[Axes, ...]] = tuple(
    (x, y, z)
    for x, y, z in itertools.permutations(SIDES, 3)
    if is_each_once((x, y, z)) and is_right_handed((x, y, z))
)
"""All axes that a case can have: 24."""


def direction_of(side: Side, axes: Axes) -> Point:
    """Return the axis of the case along which a side lies, of length 1."""
    return point(dot(_PARTS[axis], _PARTS[side]) + 0.0 for axis in axes)


def agrees(axes: Axes, up: Point) -> bool:
    """Whether `up` is nearer to the axis called up than to any other way of the six.

    A machine that leans still has its axes named by its own walls.
    """
    named = direction_of("up", axes)
    return all(dot(up, named) > dot(up, way) for way in AXES.values() if way != named)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sides:
    """Right, away and up as seen from before the case's front.

    Directions in the case frame, of length 1, square to each other and right-handed.
    """

    right: Point
    away: Point
    up: Point

    @property
    def axes(self) -> Axes | None:
        """Where x, y and z point; None where one of them points between two ways."""
        words = [
            next((side for side in SIDES if self._lies_along(side, axis)), None)
            for axis in list(AXES.values())[::2]
        ]
        x, y, z = words
        return None if x is None or y is None or z is None else (x, y, z)

    def _lies_along(self, side: Side, axis: Point) -> bool:
        parts = (dot(axis, self.right), dot(axis, self.away), dot(axis, self.up))
        return axis_name(parts) == axis_name(_PARTS[side])


def sides_of(*, axes: Axes | None, up: Point) -> Sides:
    """Return right, away and up in the case frame.

    Where no axes are stated, x points right (y where up is nearly along x). So x, y and
    z are right, away and up where up is along z, and right-handed whatever up is. Up is
    as given; the other two are level.

    Parameters
    ----------
    axes : Axes or None
        Where x, y and z point.
    up : Point
        Against gravity; any length above zero.

    Raises
    ------
    GeometryError
        If the axes are not right-handed.
    """
    upright = unit(up)
    if axes is None:
        level = AXES["+x"] if abs(upright[0]) < _LEVEL else AXES["+y"]
        right = unit(offset(level, upright, -dot(level, upright)))
        return Sides(
            right=_plain(right), away=_plain(cross(upright, right)), up=upright
        )
    if axes not in RIGHT_HANDED:
        msg = f"axes {', '.join(axes)} are not right-handed: no case has them"
        raise GeometryError(msg)
    straight = direction_of("away", axes)
    away = unit(offset(straight, upright, -dot(straight, upright)))
    return Sides(right=_plain(cross(away, upright)), away=_plain(away), up=upright)


def _plain(direction: Point) -> Point:
    """Return a direction without negative zeros."""
    return point(part + 0.0 for part in direction)
