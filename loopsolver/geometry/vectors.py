"""Directions and angles in three dimensions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.errors import GeometryError
from loopsolver.tolerances import UNIT_LENGTH

Point = tuple[float, float, float]
"""A position [mm] or a direction, immutable and hashable."""

Array = NDArray[np.float64]

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


def unit(vector: Sequence[float]) -> Point:
    """Return the direction of `vector`, of length 1.

    Raises
    ------
    GeometryError
        If the vector has no length.
    """
    x, y, z = vector
    length = math.sqrt(x * x + y * y + z * z)
    if not length > UNIT_LENGTH:
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
    """Return '+x' ... '-z' where `direction` is one of them to 1e-9, else None."""
    for name, axis in AXES.items():
        if all(abs(a - b) < 1e-9 for a, b in zip(direction, axis, strict=True)):
            return name
    return None


def angle_between(first: Sequence[float], second: Sequence[float]) -> float:
    """Return the angle between two directions in [0, pi] [rad].

    Uses atan2 of the cross and dot product, exact near 0 and pi alike.
    """
    a, b = np.asarray(first, float), np.asarray(second, float)
    return float(np.arctan2(np.linalg.norm(np.cross(a, b)), a @ b))


def signed_angle(
    first: Sequence[float], second: Sequence[float], *, about: Sequence[float]
) -> float:
    """Return the angle that turns `first` into `second` about a unit axis [rad].

    Right-handed about `about`, in (-pi, pi]. Both directions are taken square to it.
    """
    a, b, axis = (np.asarray(v, float) for v in (first, second, about))
    angle = float(np.arctan2(np.cross(a, b) @ axis, a @ b - (a @ axis) * (b @ axis)))
    return math.pi if angle <= -math.pi else angle
