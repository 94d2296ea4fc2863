"""A position together with an orientation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from loopsolver.geometry.vectors import (
    Array,
    Point,
    axis_name,
    cos_sin_deg,
    cross,
    point,
    unit,
)


def _turn(axis: int, angle_deg: float) -> Array:
    """Return the right-handed 3x3 rotation about x, y or z, exact at quarter turns."""
    cos, sin = cos_sin_deg(angle_deg)
    matrix = np.eye(3)
    first, second = (axis + 1) % 3, (axis + 2) % 3
    matrix[first, first] = matrix[second, second] = cos
    matrix[first, second], matrix[second, first] = -sin, sin
    return matrix


def rotation_matrix(angles_deg: Sequence[float]) -> Array:
    """Return the 3x3 rotation about the fixed x, then y, then z axis.

    Parameters
    ----------
    angles_deg : sequence of 3 floats
        Right-handed angles [degrees]; quarter turns give exact zeros and ones.
    """
    x_deg, y_deg, z_deg = angles_deg
    matrix: Array = _turn(2, z_deg) @ _turn(1, y_deg) @ _turn(0, x_deg)
    return matrix


def cross_matrices(vectors: Array) -> Array:
    """Return the matrices that multiply by many vectors as `cross` does, (n, 3, 3)."""
    matrices = np.zeros((len(vectors), 3, 3))
    matrices[:, 2, 1], matrices[:, 0, 2], matrices[:, 1, 0] = vectors.T
    return matrices - matrices.transpose(0, 2, 1)


def rotations_by(vectors: Array) -> Array:
    """Return the rotations about many vectors by their lengths [rad], (n, 3, 3).

    Notes
    -----
    With K the matrix of ``k x`` and t its length, ``I + sin t / t K + (1 - cos t) / t^2
    K^2`` (O. Rodrigues, 1840), written so that it holds for no turn at all.
    """
    crosses = cross_matrices(vectors)
    turned = np.linalg.norm(vectors, axis=1)[:, None, None] / np.pi
    half = np.sinc(0.5 * turned)
    rotations: Array = np.eye(3) + np.sinc(turned) * crosses
    rotations += 0.5 * half**2 * (crosses @ crosses)
    return rotations


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where a thing stands: its origin, and its own axes seen from outside.

    Attributes
    ----------
    origin : Point
        Position of the thing's origin [mm].
    axes : tuple of 3 Points
        Unit vectors of its own x, y and z.
    """

    origin: Point = (0.0, 0.0, 0.0)
    axes: tuple[Point, Point, Point] = (
        (1.0, 0.0, 0.0),
        (0.0, 1.0, 0.0),
        (0.0, 0.0, 1.0),
    )

    @classmethod
    def from_rotation(cls, origin: Sequence[float], matrix: Array) -> Frame:
        """Return the frame whose axes are the columns of a 3x3 rotation."""
        x, y, z = (point(matrix[:, column]) for column in range(3))
        return cls(origin=point(origin), axes=(x, y, z))

    @property
    def rotation(self) -> Array:
        """The 3x3 matrix that turns own directions into outside ones."""
        return np.array(self.axes, dtype=np.float64).T

    def place(self, position: Sequence[float]) -> Point:
        """Return a position given in this frame as seen from outside [mm]."""
        return point(
            np.asarray(self.origin) + self.rotation @ np.asarray(position, float)
        )

    def turn(self, direction: Sequence[float]) -> Point:
        """Return a direction given in this frame as seen from outside, length 1."""
        return unit(point(self.rotation @ np.asarray(direction, float)))

    def inside(self, other: Frame) -> Frame:
        """Return this frame, given inside `other`, as seen from outside `other`."""
        return Frame.from_rotation(
            other.place(self.origin), other.rotation @ self.rotation
        )

    @property
    def is_square(self) -> bool:
        """Whether every own axis lies along an outside axis."""
        return _is_square(self.axes)


@lru_cache(maxsize=4096)
def _is_square(axes: tuple[Point, Point, Point]) -> bool:
    return all(axis_name(axis) is not None for axis in axes)


def axis_frame(centre: Sequence[float], axis: Sequence[float]) -> Frame:
    """Return a frame at `centre` whose z points along `axis`; x and y are arbitrary.

    The choice of x and y is fixed, so that equal input gives equal frames.
    """
    z = point(unit(axis))
    square = np.array(cross(np.eye(3)[np.argmin(np.abs(z))].tolist(), z))
    x = point(square / np.linalg.norm(square))
    return Frame(origin=point(centre), axes=(x, cross(z, x), z))
