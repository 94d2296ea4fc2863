"""Bend tables: straight, rotation, angle for every bend, to and from a centre line."""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.geometry.vectors import Point
from loopsolver.tube.centreline import Centreline


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """One row of a bend table: straight before the bend [mm], rotation and angle [degrees]."""

    straight: float
    rotation_deg: float
    angle_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BendTable:
    """The bends of a tube in order, and the straight that closes it [mm]."""

    bends: tuple[Bend, ...]
    closing_straight: float
    radius: float


def bend_table(centreline: Centreline) -> BendTable:
    """Return the bend table of a centre line.

    The first rotation is 0; afterwards it is the signed angle from the previous bend's
    plane, right-handed about the direction of travel, in (-180, 180].
    """
    raise NotImplementedError


def lay_forward(
    table: BendTable, *, start: Point, direction: Point, first_bend_towards: Point
) -> Centreline:
    """Return the centre line that a bend table gives from a start.

    `first_bend_towards` is the side to which the first bend turns, as a direction that
    need not be square to `direction`; for a table without bends it is not used.
    """
    raise NotImplementedError
