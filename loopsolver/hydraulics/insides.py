"""The inside of a loop: chambers of parts, joined by the bores of tubes and fittings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import Array, Indices, Point, difference, norm, point
from loopsolver.hydraulics.volumes import CUBIC_MM_PER_ML, fitting_paths, wet_parts
from loopsolver.plan import Plan
from loopsolver.scene.model import Component
from loopsolver.scene.water import OpenPlace
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import BendArc, Straight, piece_length, pieces

BorePiece = Straight | BendArc
Space = Box | Cylinder

SLICE: Final = 1.5
"""Longest slice of a bore whose volume is reckoned as one [mm].

A third of a fitting's depth: pockets are then true to some 0.02 mL.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamber:
    """The space of a part, in which air and coolant find one level.

    Attributes
    ----------
    name : str
    solids : tuple of Box or Cylinder
        Where the coolant is [mm].
    volume_ml : float
        What it holds; where neither stated nor weighed, all that its solids would.
    is_known : bool
        Whether that was stated or weighed.
    """

    name: str
    solids: tuple[Space, ...]
    volume_ml: float
    is_known: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A tube with its fittings, from one chamber to another.

    Attributes
    ----------
    name : str
        Of the run.
    ends : pair of int
        Places of the chambers that it joins.
    pieces : tuple of Straight or BendArc
        Its centre line, from the one part's space to the other's.
    lead : float
        Length of those that lie before the tube's end, in the first part and fitting.
    """

    name: str
    ends: tuple[int, int]
    pieces: tuple[BorePiece, ...]
    lead: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPort:
    """A port or point to the air or to drain by, in a chamber.

    `direction` is None for a point, which has no width.
    """

    chamber: int
    position: Point
    direction: Point | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Insides:
    """All that the coolant fills.

    Attributes
    ----------
    chambers : tuple of Chamber
    bores : tuple of Bore
    radius : float
        Of every bore [mm].
    """

    chambers: tuple[Chamber, ...]
    bores: tuple[Bore, ...]
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slices:
    """Bores cut across, n slices of all bores one after the other.

    Attributes
    ----------
    bore, piece : int array (n,)
        Which bore, which of its pieces.
    at : array (n,)
        Share of the piece at the slice's middle.
    middle, tangent, inward : array (n, 3)
        Middle, direction of the centre line, direction to the middle of the bend (zero
        on straights).
    thickness : array (n,)
        [mm].
    curvature : array (n,)
        1 / bend radius [1/mm]; zero on straights.
    """

    bore: Indices
    piece: Indices
    at: Array
    middle: Array
    tangent: Array
    inward: Array
    thickness: Array
    curvature: Array


def insides(plan: Plan) -> Insides:
    """Return the inside of a plan's loop, its chosen tubes taken."""
    parts = wet_parts(plan)
    places = {part.name: place for place, part in enumerate(parts)}
    chambers = tuple(_chamber(part) for part in parts)
    bores = []
    for run in plan.runs:
        chosen = run.tube_in_place
        if chosen is None:
            continue
        first, last = fitting_paths(plan.scene, chosen)
        start, goal = (
            places[path.port.split(".", 1)[0]]
            for path in (chosen.ends[0], chosen.ends[1])
        )
        before = _straights((entry(chambers[start], first[0]), *first))
        after = _straights((*reversed(last), entry(chambers[goal], last[0])))
        bores.append(
            Bore(
                name=run.name,
                ends=(start, goal),
                pieces=(*before, *_kept(pieces(chosen.centreline)), *after),
                lead=math.fsum(piece_length(one) for one in before),
            )
        )
    radius = 0.5 * plan.scene.tube.inner_diameter
    return Insides(chambers=chambers, bores=tuple(bores), radius=radius)


def opening(inside: Insides, place: OpenPlace | None) -> OpenPort | None:
    """Return a place as an opening; None where no tube leads to its part."""
    names = [one.name for one in inside.chambers]
    if place is None or place.component not in names:
        return None
    return OpenPort(
        chamber=names.index(place.component),
        position=place.position,
        direction=place.direction,
    )


def _chamber(part: Component) -> Chamber:
    bodies = part.water.spaces or tuple(body.solid for body in part.bodies)
    solids = tuple(one for one in bodies if isinstance(one, Box | Cylinder))
    stated = part.water.volume_ml
    return Chamber(
        name=part.name,
        solids=solids,
        volume_ml=math.fsum(solid_ml(one) for one in solids)
        if stated is None
        else stated,
        is_known=stated is not None,
    )


def solid_ml(solid: Space) -> float:
    """Return the volume of a box or cylinder [mL]."""
    if isinstance(solid, Box):
        return math.prod(solid.size) / CUBIC_MM_PER_ML
    return 0.25 * math.pi * solid.diameter**2 * solid.height / CUBIC_MM_PER_ML


def entry(chamber: Chamber, port: Point) -> Point:
    """Return the point of a chamber that is nearest to a port on it [mm]."""
    nearest = [nearest_point(solid, port) for solid in chamber.solids]
    return min(nearest, key=lambda one: norm(difference(one, port)), default=port)


def nearest_point(solid: Space, to: Point) -> Point:
    """Return the point of a box or cylinder that is nearest to a point [mm]."""
    axes = np.array(solid.frame.axes)
    own = axes @ (np.asarray(to) - np.asarray(solid.frame.origin))
    if isinstance(solid, Box):
        half = 0.5 * np.asarray(solid.size)
        own = np.clip(own, -half, half)
    else:
        away = math.hypot(own[0], own[1])
        own[:2] *= min(1.0, 0.5 * solid.diameter / away) if away > 0.0 else 1.0
        own[2] = np.clip(own[2], -0.5 * solid.height, 0.5 * solid.height)
    return point(np.asarray(solid.frame.origin) + own @ axes)


def _straights(path: Sequence[Point]) -> tuple[BorePiece, ...]:
    return _kept(Straight(start=a, end=b) for a, b in pairwise(path))


def _kept(of: Iterator[BorePiece] | Sequence[BorePiece]) -> tuple[BorePiece, ...]:
    """Return pieces of some length."""
    return tuple(one for one in of if piece_length(one) > TOUCH)


def tangent(piece: BorePiece, share: float) -> Point:
    """Return the direction of travel at a share of a piece; unit length."""
    if isinstance(piece, Straight):
        along = np.asarray(difference(piece.end, piece.start)) / piece_length(piece)
        return point(along)
    turned = share * piece.angle
    return point(
        math.cos(turned) * np.asarray(piece.v) - math.sin(turned) * np.asarray(piece.u)
    )


def slices(inside: Insides) -> Slices:
    """Return all bores cut across, slices no thicker than `SLICE`."""
    rows = [
        (place, number, share, piece, piece_length(piece) / count)
        for place, bore in enumerate(inside.bores)
        for number, piece in enumerate(bore.pieces)
        for count in (max(1, math.ceil(piece_length(piece) / SLICE)),)
        for share in (np.arange(count) + 0.5) / count
    ]
    middles = [_middle(piece, share) for _, _, share, piece, _ in rows]
    return Slices(
        bore=np.array([row[0] for row in rows], dtype=int),
        piece=np.array([row[1] for row in rows], dtype=int),
        at=np.array([row[2] for row in rows]),
        middle=np.array([one for one, _ in middles]).reshape(-1, 3),
        tangent=np.array([tangent(row[3], row[2]) for row in rows]).reshape(-1, 3),
        inward=np.array([one for _, one in middles]).reshape(-1, 3),
        thickness=np.array([row[4] for row in rows]),
        curvature=np.array(
            [
                1.0 / row[3].radius if isinstance(row[3], BendArc) else 0.0
                for row in rows
            ]
        ),
    )


def _middle(piece: BorePiece, share: float) -> tuple[Array, Array]:
    """Return the centre line's point at a share of a piece, and the way inward."""
    if isinstance(piece, Straight):
        start, end = np.asarray(piece.start), np.asarray(piece.end)
        return start + share * (end - start), np.zeros(3)
    turned = share * piece.angle
    spoke = math.cos(turned) * np.asarray(piece.u) + math.sin(turned) * np.asarray(
        piece.v
    )
    return np.asarray(piece.centre) + piece.radius * spoke, -spoke
