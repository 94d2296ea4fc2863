"""The centre line of a bent tube: vertices in, straights and true arcs out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from loopsolver.errors import GeometryError
from loopsolver.geometry.vectors import (
    Array,
    Point,
    angle_between,
    difference,
    dot,
    norm,
    offset,
    unit,
)
from loopsolver.tolerances import COINCIDENT, NO_BEND_DEG, TOUCH
from loopsolver.tube.setting_out import arc_length, take_out


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
class BendArc:
    """A circular arc of centre line.

    ``p(s) = centre + radius * (cos(s) * u + sin(s) * v)`` for s from 0 to `angle`;
    u points from the centre to the arc's start, v along the travel there.
    """

    centre: Point
    u: Point
    v: Point
    radius: float
    angle: float


class Legs(NamedTuple):
    """The legs of a centre line, and the bends between them.

    Attributes
    ----------
    directions : tuple of Points
        Along the travel, length 1; one a leg.
    lengths : tuple of float
        From vertex to vertex [mm]; one a leg.
    angles : tuple of float
        Change of direction [rad]; one a bend, one fewer than there are legs.
    """

    directions: tuple[Point, ...]
    lengths: tuple[float, ...]
    angles: tuple[float, ...]


@lru_cache(maxsize=1024)
def legs(centreline: Centreline) -> Legs:
    """Return directions, lengths and bend angles of a centre line.

    Raises
    ------
    GeometryError
        If it has fewer than two vertices or no radius, if neighbouring vertices
        coincide, or if a bend is of 0 or 180 degrees; the message names the vertex.
    """
    vertices = centreline.vertices
    if len(vertices) < 2:
        msg = f"a tube needs its two ends, found vertices {vertices}"
        raise GeometryError(msg)
    if not 0.0 < centreline.radius < math.inf:
        msg = f"a bend radius is above 0 mm, found {centreline.radius} mm"
        raise GeometryError(msg)
    vectors = [difference(end, start) for start, end in pairwise(vertices)]
    lengths = tuple([norm(vector) for vector in vectors])
    for index, length in enumerate(lengths):
        if not COINCIDENT < length < math.inf:
            raise GeometryError(_no_leg(vertices, index, length))
    directions = tuple(
        [
            (x / length, y / length, z / length)
            for (x, y, z), length in zip(vectors, lengths, strict=True)
        ]
    )
    angles = tuple([angle_between(a, b) for a, b in pairwise(directions)])
    for index, angle in enumerate(angles):
        if not _LEAST_ANGLE < angle < _MOST_ANGLE:
            raise GeometryError(_no_bend(vertices, index + 1, angle))
    return Legs(directions, lengths, angles)


_LEAST_ANGLE = math.radians(NO_BEND_DEG)
_MOST_ANGLE = math.pi - _LEAST_ANGLE


def _no_leg(vertices: Sequence[Point], index: int, length: float) -> str:
    """Return what is wrong where two neighbouring vertices give no leg."""
    first = _vertex_name(vertices, index)
    if math.isfinite(length):
        return (
            f"{first} and the next one coincide ({length:.2g} mm apart): a leg needs a "
            "length; leave one of them out"
        )
    return f"{first} or the next one is not a finite position: give numbers in mm"


def _no_bend(vertices: Sequence[Point], index: int, angle: float) -> str:
    """Return what is wrong where the angle at a vertex can be no bend."""
    name = _vertex_name(vertices, index)
    bend = f"{name}: bend {index} is of {math.degrees(angle):.7g} degrees"
    if angle <= _LEAST_ANGLE:
        return f"{bend}, so its legs run in line; leave this vertex out"
    return (
        f"{bend}, so the tube turns straight back on itself, which no radius can "
        "follow; put two bends in place of this one"
    )


def _vertex_name(vertices: Sequence[Point], index: int) -> str:
    """Return how messages call a vertex, counted from 1, with its position."""
    x, y, z = vertices[index]
    return f"vertex {index + 1} of {len(vertices)} at ({x:.2f}, {y:.2f}, {z:.2f}) mm"


def bend_angles(centreline: Centreline) -> tuple[float, ...]:
    """Return the angle of each bend, in order [rad].

    Raises
    ------
    GeometryError
        As `legs` does.
    """
    return legs(centreline).angles


def straights(centreline: Centreline) -> tuple[float, ...]:
    """Return the length of each straight: one more than there are bends [mm].

    Negative where the legs are too short for their bends; never clipped.

    Raises
    ------
    GeometryError
        As `legs` does.
    """
    return straights_of(legs(centreline), centreline.radius)


def straights_of(of_legs: Legs, radius: float) -> tuple[float, ...]:
    """Return the length of each straight between bends of one radius [mm]."""
    outs = [0.0, *[take_out(radius, angle) for angle in of_legs.angles], 0.0]
    return tuple(
        [
            length - before - after
            for length, before, after in zip(
                of_legs.lengths, outs, outs[1:], strict=False
            )
        ]
    )


def straight_name(index: int, count: int) -> str:
    """Return what messages call a straight: its number and what it lies between."""
    if count == 1:
        return "straight 1 (the whole tube)"
    before = "the tube's start" if index == 0 else f"bend {index}"
    after = "the tube's end" if index == count - 1 else f"bend {index + 1}"
    return f"straight {index + 1} (between {before} and {after})"


def require_room(lengths: Sequence[float]) -> None:
    """Refuse straights of less than no length, whose bends would overlap.

    Raises
    ------
    GeometryError
        If a straight is below zero by more than `tolerances.TOUCH`.
    """
    for index, length in enumerate(lengths):
        if not length >= -TOUCH:
            name = straight_name(index, len(lengths))
            msg = (
                f"{name} is of {length:.3f} mm: its leg is {-length:.3g} mm too short "
                "for the bends; lengthen the leg or take a smaller bend radius"
            )
            raise GeometryError(msg)


def developed_length(centreline: Centreline) -> float:
    """Return the length of the centre line from tube end to tube end [mm].

    Straights and arcs summed; a straight below zero counts as what it is.

    Raises
    ------
    GeometryError
        As `legs` does.
    """
    of_legs = legs(centreline)
    radius = centreline.radius
    return math.fsum(straights_of(of_legs, radius)) + arc_length(
        radius, math.fsum(of_legs.angles)
    )


def arcs_length(centreline: Centreline) -> float:
    """Return the length of all bends along the centre line [mm].

    Raises
    ------
    GeometryError
        As `legs` does.
    """
    return arc_length(centreline.radius, math.fsum(legs(centreline).angles))


def pieces(centreline: Centreline) -> tuple[Straight | BendArc, ...]:
    """Return straights and arcs in order: straight, arc, straight, ..., straight.

    A straight of no length keeps its place, so that every other piece is an arc.

    Raises
    ------
    GeometryError
        As `legs` does, and where a leg is too short for its bends.
    """
    of_legs = legs(centreline)
    require_room(straights_of(of_legs, centreline.radius))
    radius, vertices = centreline.radius, centreline.vertices
    found: list[Straight | BendArc] = []
    start = vertices[0]
    for index, angle in enumerate(of_legs.angles):
        before, after = of_legs.directions[index : index + 2]
        vertex, out = vertices[index + 1], take_out(radius, angle)
        tangent = offset(vertex, before, -out)
        inward = unit(offset(after, before, -math.cos(angle)))
        found += [
            Straight(start=start, end=tangent),
            BendArc(
                centre=offset(tangent, inward, radius),
                u=(-inward[0], -inward[1], -inward[2]),
                v=before,
                radius=radius,
                angle=angle,
            ),
        ]
        start = offset(vertex, after, out)
    return (*found, Straight(start=start, end=vertices[-1]))


def sample(centreline: Centreline, *, spacing: float) -> Array:
    """Return points on the centre line, no further apart than `spacing`, (n, 3) [mm].

    Both ends and every tangent point are among them. Evenly spaced along each piece,
    measured along the line, so that chords are shorter still.

    Parameters
    ----------
    centreline : Centreline
    spacing : float
        Above 0 [mm].

    Raises
    ------
    GeometryError
        As `pieces` does, and for a spacing that is not above zero.
    """
    if not spacing > 0.0:
        msg = f"a spacing is above 0 mm, found {spacing} mm"
        raise GeometryError(msg)
    blocks = [np.array([centreline.vertices[0]])]
    for piece in pieces(centreline):
        length = piece_length(piece)
        if length > TOUCH:
            shares = np.linspace(0.0, 1.0, math.ceil(length / spacing) + 1)[1:]
            blocks.append(points_along(piece, shares))
    return np.concatenate(blocks)


def piece_length(piece: Straight | BendArc) -> float:
    """Return the length of a piece along the centre line [mm]."""
    if isinstance(piece, BendArc):
        return arc_length(piece.radius, piece.angle)
    return norm(difference(piece.end, piece.start))


def points_along(piece: Straight | BendArc, shares: Array) -> Array:
    """Return points at shares 0 to 1 of a piece's length, (n, 3) [mm]."""
    if isinstance(piece, BendArc):
        turned = shares[:, np.newaxis] * piece.angle
        spokes = np.cos(turned) * piece.u + np.sin(turned) * piece.v
        points: Array = np.asarray(piece.centre) + piece.radius * spokes
        return points
    start, end = np.asarray(piece.start), np.asarray(piece.end)
    along = shares[:, np.newaxis]
    line: Array = (1.0 - along) * start + along * end
    return line


def heights_along(piece: Straight | BendArc, up: Point) -> tuple[float, ...]:
    """Return heights of a piece along a direction, its least and greatest among them.

    Parameters
    ----------
    piece : Straight or BendArc
    up : Point
        Unit length; heights are counted from the origin [mm].

    Notes
    -----
    Along an arc the height is ``h + R (u.n cos t + v.n sin t)``, whose turning points
    lie at the angle of (u.n, v.n) and opposite to it.
    """
    if isinstance(piece, Straight):
        return dot(up, piece.start), dot(up, piece.end)
    cosine, sine = dot(up, piece.u), dot(up, piece.v)
    top = math.atan2(sine, cosine) % math.pi
    angles = [0.0, piece.angle, *([top] if top < piece.angle else [])]
    centre = dot(up, piece.centre)
    return tuple(
        centre + piece.radius * (cosine * math.cos(angle) + sine * math.sin(angle))
        for angle in angles
    )
