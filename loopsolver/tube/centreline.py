"""The centre line of a bent tube: vertices in, straights and true arcs out."""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.geometry.vectors import Array, Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Centreline:
    """A tube's centre line, given by its vertices and one bend radius.

    Attributes
    ----------
    vertices : tuple of Points
        Tube end, the vertices in order, other tube end [mm]; at least two.
    radius : float
        Centre-line radius of every bend [mm].
    """

    vertices: tuple[Point, ...]
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight:
    """A straight stretch of centre line [mm]."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A circular arc of centre line.

    ``p(s) = centre + radius * (cos(s) * u + sin(s) * v)`` for s from 0 to `angle`;
    u points from the centre to the arc's start, v along the travel there.
    """

    centre: Point
    u: Point
    v: Point
    radius: float
    angle: float


def bend_angles(centreline: Centreline) -> tuple[float, ...]:
    """Return the angle of each bend, in order [rad]."""
    raise NotImplementedError


def straights(centreline: Centreline) -> tuple[float, ...]:
    """Return the length of each straight: one more than there are bends [mm].

    Negative where the legs are too short for their bends; never clipped.
    """
    raise NotImplementedError


def developed_length(centreline: Centreline) -> float:
    """Return the length of the centre line from tube end to tube end [mm]."""
    raise NotImplementedError


def pieces(centreline: Centreline) -> tuple[Straight | Arc, ...]:
    """Return straights and arcs in order: straight, arc, straight, ..., straight."""
    raise NotImplementedError


def sample(centreline: Centreline, *, spacing: float) -> Array:
    """Return points on the centre line, no further apart than `spacing`, (n, 3) [mm].

    Both ends and every tangent point are among them.
    """
    raise NotImplementedError
