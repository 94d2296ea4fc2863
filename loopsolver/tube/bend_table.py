"""Bend tables: straight, rotation, angle for every bend, to and from a centre line."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from loopsolver.errors import GeometryError
from loopsolver.geometry.vectors import (
    Point,
    cos_sin_deg,
    cross,
    dot,
    norm,
    offset,
    point,
    unit,
)
from loopsolver.tolerances import COINCIDENT, HALF_TURN_DEG, NO_BEND_DEG
from loopsolver.tube.centreline import Centreline, legs, straights_of
from loopsolver.tube.setting_out import arc_length, take_out


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """One row of a bend table: straight before it [mm], rotation, angle [degrees]."""

    straight: float
    rotation_deg: float
    angle_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BendTable:
    """The bends of a tube in order, and the straight that closes it [mm]."""

    bends: tuple[Bend, ...]
    closing_straight: float
    radius: float

    @property
    def straights(self) -> tuple[float, ...]:
        """Every straight in order: one more than there are bends [mm]."""
        return (*[bend.straight for bend in self.bends], self.closing_straight)

    @property
    def arcs(self) -> float:
        """The length of all its bends along the centre line [mm]."""
        turned = math.fsum(math.radians(bend.angle_deg) for bend in self.bends)
        return arc_length(self.radius, turned)

    @property
    def length(self) -> float:
        """The developed length [mm]."""
        return math.fsum(self.straights) + self.arcs


@lru_cache(maxsize=1024)
def bend_table(centreline: Centreline) -> BendTable:
    """Return the bend table of a centre line.

    The first rotation is 0; afterwards it is the signed angle from the previous bend's
    plane, right-handed about the direction of travel, in (-180, 180]: 0 where the tube
    turns to the same side again, 180 where it turns straight back to the other.

    Raises
    ------
    GeometryError
        As `centreline.legs` does.

    Notes
    -----
    With directions a, b, c of three legs in a row, the bends' plane normals are
    m = a x b and n = b x c, and the rotation is ``atan2((m x n) . b, m . n)``, where
    ``(m x n) . b`` comes to ``a . n``. This is the torsion angle of the four vertices.

    References
    ----------
    IUPAC Gold Book, T06406, torsion angle (PAC 1996, 68, 2193), for the sign.

    Examples
    --------
    A right-handed staircase rises by a quarter turn to the right of the travel:

    >>> stairs = ((0, 0, 0), (50, 0, 0), (50, 50, 0), (50, 50, 50))
    >>> bend_table(Centreline(vertices=stairs, radius=10)).bends[1]
    Bend(straight=30.0, rotation_deg=90.0, angle_deg=90.0)
    """
    of_legs = legs(centreline)
    directions = of_legs.directions
    normals = [cross(a, b) for a, b in pairwise(directions)]
    rotations_deg = [0.0] * min(1, len(normals))
    for index in range(1, len(normals)):
        sine = dot(directions[index - 1], normals[index])
        cosine = dot(normals[index - 1], normals[index])
        rotations_deg.append(_wrapped_deg(math.degrees(math.atan2(sine, cosine))))
    *before, closing = straights_of(of_legs, centreline.radius)
    return BendTable(
        bends=tuple(
            [
                Bend(
                    straight=straight,
                    rotation_deg=rotation_deg,
                    angle_deg=math.degrees(angle),
                )
                for straight, rotation_deg, angle in zip(
                    before, rotations_deg, of_legs.angles, strict=True
                )
            ]
        ),
        closing_straight=closing,
        radius=centreline.radius,
    )


def _wrapped_deg(rotation_deg: float) -> float:
    """Return a rotation in [-180, 180] in (-180, 180] instead, and no negative zero.

    A half turn that rounding has put just above -180 is 180 as well, so that the same
    flat tube never reads 180 in one place and -180 in another.
    """
    if rotation_deg <= -180.0 + HALF_TURN_DEG:
        return 180.0
    return rotation_deg + 0.0


def lay_forward(
    table: BendTable, *, start: Point, direction: Point, first_bend_towards: Point
) -> Centreline:
    """Return the centre line that a bend table gives from a start.

    `first_bend_towards` is the side to which the first bend turns, as a direction that
    need not be square to `direction`; for a table without bends it is not used.

    Parameters
    ----------
    table : BendTable
    start : Point
        Where the tube begins [mm].
    direction : Point
        Along the tube there; any length above zero.
    first_bend_towards : Point
        A rotation in the table's first row turns this side, too.

    Raises
    ------
    GeometryError
        If a bend is not between 0 and 180 degrees, if straights are so far below zero
        that a leg has no length left, or if the first bend has no side to turn to.
    """
    travel = unit(direction)
    normal = _first_normal(travel, first_bend_towards) if table.bends else travel
    vertices = [point(start)]
    out = 0.0
    for number, bend in enumerate(table.bends, start=1):
        next_out = take_out(table.radius, _bend_angle(number, bend))
        leg = _leg_length(number, bend.straight, out + next_out)
        vertices.append(offset(vertices[-1], travel, leg))
        normal = _turned(normal, travel, bend.rotation_deg)
        travel = _turned(travel, normal, bend.angle_deg)
        out = next_out
    leg = _leg_length(len(vertices), table.closing_straight, out)
    vertices.append(offset(vertices[-1], travel, leg))
    return Centreline(vertices=tuple(vertices), radius=table.radius)


def _first_normal(travel: Point, towards: Point) -> Point:
    """Return the normal of the plane in which a tube turns from `travel` to a side."""
    side = cross(travel, unit(towards))
    if norm(side) < math.radians(NO_BEND_DEG):
        msg = (
            f"the first bend cannot turn towards {towards}, which is along the tube's "
            f"own direction {travel}; give a side that is across it"
        )
        raise GeometryError(msg)
    return unit(side)


def _bend_angle(number: int, bend: Bend) -> float:
    """Return a row's bend angle [rad], or refuse one that is no bend."""
    if not NO_BEND_DEG < bend.angle_deg < 180.0 - NO_BEND_DEG:
        msg = (
            f"bend {number} is of {bend.angle_deg} degrees; a bend is above 0 and "
            "below 180 degrees"
        )
        raise GeometryError(msg)
    return math.radians(bend.angle_deg)


def _turned(vector: Point, axis: Point, angle_deg: float) -> Point:
    """Return a vector square to a unit axis turned about it, right-handed."""
    cos, sin = cos_sin_deg(angle_deg)
    x, y, z = cross(axis, vector)
    return (
        cos * vector[0] + sin * x,
        cos * vector[1] + sin * y,
        cos * vector[2] + sin * z,
    )


def _leg_length(number: int, straight: float, outs: float) -> float:
    """Return a leg's length [mm], or refuse a straight that leaves it none."""
    length = straight + outs
    if not COINCIDENT < length < math.inf:
        msg = (
            f"straight {number} of {straight} mm leaves its leg no length: it must be "
            f"above {-outs:.3f} mm, and at least 0 mm for a tube that can be made"
        )
        raise GeometryError(msg)
    return length
