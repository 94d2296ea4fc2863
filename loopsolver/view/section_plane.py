"""A plane that cuts the build open, square to one of the case's axes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from loopsolver.geometry.vectors import AXES, Array, Flags, Point, dot
from loopsolver.scene.walls import Room
from loopsolver.view.sight import Sight

PLANE_STEP: Final = 5.0
"""How far a key moves the plane [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionPlane:
    """Where the build is cut.

    Attributes
    ----------
    axis : int
        The plane is square to x, y or z: 0, 1 or 2.
    at : float
        Its place along that axis [mm].
    keeps : int
        1 where what is shown lies further along the axis, -1 where less far.
    """

    axis: int
    at: float
    keeps: int

    @property
    def normal(self) -> Point:
        """Towards what is shown; unit length."""
        return AXES[f"{'+' if self.keeps > 0 else '-'}{'xyz'[self.axis]}"]

    def is_shown(self, points: Array) -> Flags:
        """Return which points (n, 3) [mm] are on the side that is shown, or on the cut."""
        flags: Flags = self.keeps * (points[:, self.axis] - self.at) >= 0.0
        return flags


def next_plane(
    now: SectionPlane | None, *, room: Room, towards_eye: Point
) -> SectionPlane | None:
    """Return the plane across the next axis, through the middle; after z there is none.

    What lies towards the eye is cut away.
    """
    axis = 0 if now is None else now.axis + 1
    if axis > 2:
        return None
    low, high = room
    keeps = -1 if towards_eye[axis] > 0.0 else 1
    return SectionPlane(axis=axis, at=(low[axis] + high[axis]) / 2.0, keeps=keeps)


def moved(now: SectionPlane, *, by: float, room: Room) -> SectionPlane:
    """Return the plane moved along its axis [mm], never out of the case."""
    low, high = room
    at = min(max(now.at + by, low[now.axis]), high[now.axis])
    return replace(now, at=at)


def cut_sight(sight: Sight, plane: SectionPlane | None) -> Sight:
    """Return that part of a ray which lies in what is shown."""
    if plane is None:
        return sight
    across = dot(sight.along, plane.normal)
    before = plane.keeps * (sight.start[plane.axis] - plane.at)
    if across > 0.0:
        return replace(sight, near=max(sight.near, -before / across))
    if across < 0.0:
        return replace(sight, far=min(sight.far, -before / across))
    return sight if before >= 0.0 else replace(sight, far=sight.near - 1.0)
