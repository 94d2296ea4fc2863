"""Directions and angles in three dimensions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.errors import GeometryError
from loopsolver.tolerances import ALONG_AXIS, UNIT_LENGTH

Point = tuple[float, float, float]
"""A position [mm] or a direction, immutable and hashable."""

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]

AXES: Final[dict[str, Point]] = {
    "+x": (1.0, 0.0, 0.0),
    "-x": (-1.0, 0.0, 0.0),
    "+y": (0.0, 1.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
    "+z": (0.0, 0.0, 1.0),
    "-z": (0.0, 0.0, -1.0),
}
"""The six directions along the case's axes, by name."""


def point(values: Iterable[float]) -> Point:
    """Return three numbers as a Point of plain floats."""
    x, y, z = (float(value) for value in values)
    return (x, y, z)


def points_array(values: Iterable[Sequence[float]]) -> Array:
    """Return positions as an (n, 3) float64 array."""
    return np.asarray(list(values), dtype=np.float64).reshape(-1, 3)


def lowest_and_highest(points: Array) -> Array:
    """Return the least and the most of each coordinate of points (n, 3), (2, 3).

    Column by column: along the other way numpy takes twenty times as long.
    """
    sides = [(column.min(), column.max()) for column in points.T]
    return np.array(sides).T


def unit(vector: Sequence[float]) -> Point:
    """Return the direction of `vector`, of length 1.

    Raises
    ------
    GeometryError
        If the vector has no length.
    """
    x, y, z = vector
    length = norm(vector)
    if not UNIT_LENGTH < length < math.inf:
        msg = f"a direction needs a length above zero, found {tuple(vector)}"
        raise GeometryError(msg)
    return (x / length, y / length, z / length)


def offset(start: Sequence[float], direction: Sequence[float], by: float) -> Point:
    """Return the position `by` millimetres from `start` along `direction`."""
    return (
        start[0] + direction[0] * by,
        start[1] + direction[1] * by,
        start[2] + direction[2] * by,
    )


def axis_name(direction: Sequence[float]) -> str | None:
    """Return '+x' ... '-z' where `direction` is one of them, else None."""
    for name, axis in AXES.items():
        if all(abs(a - b) < ALONG_AXIS for a, b in zip(direction, axis, strict=True)):
            return name
    return None


def difference(end: Sequence[float], start: Sequence[float]) -> Point:
    """Return the vector that leads from `start` to `end`."""
    return (end[0] - start[0], end[1] - start[1], end[2] - start[2])


def dot(first: Sequence[float], second: Sequence[float]) -> float:
    """Return the inner product of two vectors."""
    return first[0] * second[0] + first[1] * second[1] + first[2] * second[2]


def cross(first: Sequence[float], second: Sequence[float]) -> Point:
    """Return the vector square to both, right-handed from `first` to `second`."""
    ax, ay, az = first
    bx, by, bz = second
    return (ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)


def crosses(first: Array, second: Array) -> Array:
    """Return `cross` of many vectors at once, of the same shape or of one with many."""
    ahead, behind = [1, 2, 0], [2, 0, 1]
    return first[..., ahead] * second[..., behind] - (
        first[..., behind] * second[..., ahead]
    )


def norm(vector: Sequence[float]) -> float:
    """Return the length of a vector."""
    x, y, z = vector
    return math.sqrt(x * x + y * y + z * z)


def sides_about(along: Array, count: int) -> Array:
    """Return unit vectors square to a direction (3,), evenly round it, (count, 3).

    The first lies towards that axis from which the direction is furthest; equal input
    gives equal sides.
    """
    axis = np.eye(3)[int(np.argmin(np.abs(along)))]
    first = axis - (axis @ along) * along
    first /= np.linalg.norm(first)
    second = np.cross(along, first)
    turns = 2.0 * math.pi * np.arange(count) / count
    sides: Array = np.cos(turns)[:, None] * first + np.sin(turns)[:, None] * second
    return sides


def cos_sin_deg(angle_deg: float) -> tuple[float, float]:
    """Return cosine and sine of an angle in degrees, exact at quarter turns.

    >>> cos_sin_deg(90.0)
    (0.0, 1.0)
    """
    quarters = angle_deg % 360.0 / 90.0
    if quarters in _QUARTERS:
        return _QUARTERS[quarters]
    angle = math.radians(angle_deg)
    return math.cos(angle), math.sin(angle)


_QUARTERS: Final = {
    0.0: (1.0, 0.0),
    1.0: (0.0, 1.0),
    2.0: (-1.0, 0.0),
    3.0: (0.0, -1.0),
    4.0: (1.0, 0.0),  # a tiny negative angle modulo 360 rounds to 360
}


def angle_between(first: Sequence[float], second: Sequence[float]) -> float:
    """Return the angle between two directions in [0, pi] [rad].

    Uses atan2 of the cross and dot product, exact near 0 and pi alike, where the
    arc cosine loses half of its digits.
    """
    return math.atan2(norm(cross(first, second)), dot(first, second))
