"""A cradle for two bends of a cold tube: it lies in only if plane and turn are right.

The straight between the two bends lies level. The part is rolled about it so that the
legs beyond both bends rise or fall alike: no leg is steeper than 45 degrees, the groove
lies open from above everywhere, and nothing overhangs in print.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.report.angles import clock_sense, degree_sign
from loopsolver.tube.bend_table import BendTable, bend_table
from loopsolver.tube.centreline import (
    BendArc,
    Centreline,
    Straight,
    piece_length,
    pieces,
)
from loopsolver.tube.planes import is_in_plane
from loopsolver.workshop.jigs.engraving import Choices, upright_face
from loopsolver.workshop.jigs.shell import Ground, Shell, Surface, closed_shell, skin

WALL: Final = 5.0
"""Least thickness beside and under a groove [mm]. Common practice, no source."""

CHORD: Final = 0.02
"""How far a chord of a groove may stand off its arc [mm]: a tenth of a layer."""

_ARM: Final = 2.0  # of the legs beyond the bends, in diameters of the groove
_LEAST_ARM: Final = 25.0  # of them, and of the straights of a cradle in two [mm]
_NOTCH: Final = 1.2  # depth, and half width, of the notch where a bend begins [mm]
_SHARES: Final = (1.0, 0.75, 0.5, 0.25, 0.0)  # of the legs, until none meets another


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """One cross-section of a cradle.

    Attributes
    ----------
    at, along : Array
        A place on the tube's axis [mm], and the direction of the tube there.
    leg : int or None
        Which straight it is in: before, between or behind the bends; None in a bend.
    inset : float
        How much narrower the part is here, at either side: a notch [mm].
    """

    at: Array
    along: Array
    leg: int | None = None
    inset: float = 0.0

    @property
    def aside(self) -> Array:
        """The level direction to the left of the tube, length 1."""
        x, y, _ = self.along
        return np.array([-y, x, 0.0]) / math.hypot(x, y)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cradle:
    """A cradle as it is printed, in one part or in two.

    Attributes
    ----------
    first : int
        Number of the first of the two bends that it holds.
    shells : tuple of Shell
    between : float
        Of two parts: how far apart they stand, along the straight edge [mm].
    """

    first: int
    shells: tuple[Shell, ...]
    between: float = 0.0


def cradle(
    centreline: Centreline, *, run: int, first: int, groove: float, bed: float
) -> Cradle | None:
    """Return the cradle of bends `first` and `first` + 1; None where it has no room.

    It has none where its legs come so near to each other that they would be one.

    Parameters
    ----------
    run : int
        Number of the run, as it is engraved.
    groove : float
        Radius of the groove's cross-section: the tube's, and half the play [mm].
    bed : float
        Longest part that the printer takes [mm]; what is longer comes in two.
    """
    words = _words(bend_table(centreline), run=run, first=first)
    held = pieces(centreline)[2 * first - 2 : 2 * first + 3]
    free, wide = piece_length(held[2]) - 2.0 * _LEAST_ARM, groove + WALL
    for share in _SHARES:
        whole = _stations(held, share * max(2.0 * _ARM * groove, _LEAST_ARM), groove)
        is_long = float(np.ptp(_plan(whole, wide), axis=0).max()) > bed
        parts = _in_two(whole) if is_long and free > 0.0 else (whole,)
        if not any(_meets_itself(_plan(part, wide)) for part in parts):
            low = min(float(one.at[2]) for one in whole) - wide
            return Cradle(
                first=first,
                shells=tuple(_solid(part, groove, low, words) for part in parts),
                between=free if len(parts) > 1 else 0.0,
            )
    return None


def _words(table: BendTable, *, run: int, first: int) -> tuple[Choices, ...]:
    """Return what is engraved on first leg, middle and last leg: choices of lines."""
    bends = table.bends[first - 1 : first + 1]
    turn_deg = bends[1].rotation_deg
    turn: Choices
    if is_in_plane(turn_deg):
        side = "SAME" if abs(turn_deg) < 90.0 else "OTHER"
        turn = (("ONE PLANE", f"{side} SIDE"), (f"{side} SIDE",), (side,))
    else:
        amount, sense = degree_sign(abs(turn_deg)), clock_sense(turn_deg).upper()
        short = "CW" if turn_deg > 0.0 else "ACW"
        turn = (
            (f"TURN {amount} {sense}",),
            ("TURN", amount, sense),
            (f"{amount} {short}",),
            (amount, short),
            (amount,),
        )
    legs = [
        (
            (f"R{run} BEND {number}", degree_sign(bend.angle_deg)),
            (f"R{run} B{number} {degree_sign(bend.angle_deg)}",),
            (f"B{number}",),
        )
        for number, bend in enumerate(bends, first)
    ]
    return (legs[0], turn, legs[1])


def _stations(
    held: Sequence[Straight | BendArc], arm: float, groove: float
) -> tuple[Station, ...]:
    """Return the stations of two bends, rolled so that no leg is steep.

    Parameters
    ----------
    held : sequence of pieces
        Straight, bend, straight, bend, straight.
    arm : float
        Most of the first and of the last straight that is held [mm].
    """
    bends = [piece for piece in held if isinstance(piece, BendArc)]
    leaving = [_spoke(one, one.angle + math.pi / 2.0) for one in bends]
    ways = (np.asarray(bends[0].v), *leaving)
    lengths = [piece_length(piece) for piece in held[::2]]
    before, after = min(arm, lengths[0]), min(arm, lengths[2])
    begin = np.asarray(bends[0].centre) + bends[0].radius * np.asarray(bends[0].u)
    found = list(
        _along(begin - before * ways[0], ways[0], before, leg=0, insets=(0.0, _NOTCH))
    )
    for number, bend in enumerate(bends):
        found += _round(bend, groove)
        start = np.asarray(bend.centre) + bend.radius * _spoke(bend, bend.angle)
        length, inset = (lengths[1], _NOTCH) if number == 0 else (after, 0.0)
        found += _along(
            start, ways[number + 1], length, leg=number + 1, insets=(_NOTCH, inset)
        )
    turn = _level(ways[1], -ways[0], ways[2])
    return tuple(
        replace(one, at=turn @ (one.at - begin), along=turn @ one.along)
        for one in found
    )


def _spoke(bend: BendArc, angle: float) -> Array:
    """Return the direction from a bend's centre at an angle from its start, length 1."""
    spoke: Array = math.cos(angle) * np.asarray(bend.u) + math.sin(angle) * np.asarray(
        bend.v
    )
    return spoke


def _along(
    start: Array,
    along: Array,
    length: float,
    *,
    leg: int,
    insets: tuple[float, float],
) -> Iterator[Station]:
    """Yield the stations of a straight, with notches at the ends that have an inset."""
    inner = [inset for inset in insets if length > 3.0 * _NOTCH]
    places = [(0.0, insets[0])]
    places += [(inset, 0.0) for inset in inner[:1] if inset]
    places += [(length - inset, 0.0) for inset in inner[1:] if inset]
    places += [(length, insets[1])]
    for at, inset in places:
        yield Station(at=start + at * along, along=along, leg=leg, inset=inset)


def _round(bend: BendArc, groove: float) -> Iterator[Station]:
    """Yield the stations of a bend, its ends left to the straights."""
    count = steps(bend.angle, bend.radius + groove)
    for number in range(1, count):
        angle = bend.angle * number / count
        spoke = _spoke(bend, angle)
        yield Station(
            at=np.asarray(bend.centre) + bend.radius * spoke,
            along=_spoke(bend, angle + math.pi / 2.0),
        )


def steps(angle: float, radius: float) -> int:
    """Return how many chords stand for an arc, an even number."""
    each = 2.0 * math.acos(1.0 - CHORD / radius)
    return 2 * math.ceil(0.5 * angle / each)


def _level(x: Array, back: Array, forth: Array) -> Array:
    """Return the rotation that lays x level, both legs rising or falling alike, (3, 3).

    Where they point to one side, one rises as much as the other falls; else both rise.
    """
    first, second = (leg - (leg @ x) * x for leg in (back, forth))
    first, second = first / np.linalg.norm(first), second / np.linalg.norm(second)
    is_one_side = first @ second >= 0.0
    y = first + second if is_one_side else first - second
    y /= np.linalg.norm(y)
    turn = np.array([x, y, np.cross(x, y)])
    if not is_one_side and turn[2] @ (first + second) < 0.0:
        turn[1:] *= -1.0
    return turn


def _in_two(whole: Sequence[Station]) -> tuple[tuple[Station, ...], ...]:
    """Return the stations of both ends, each with so much of the straight between."""
    place = next(n for n, one in enumerate(whole) if one.leg == 1)
    start, end = whole[place], whole[place + 3]
    return (
        (*whole[: place + 2], replace(start, at=_ahead(start, _LEAST_ARM), inset=0.0)),
        (replace(end, at=_ahead(end, -_LEAST_ARM), inset=0.0), *whole[place + 2 :]),
    )


def _ahead(station: Station, by: float) -> Array:
    place: Array = station.at + by * station.along
    return place


def _plan(stations: Sequence[Station], wide: float) -> Array:
    """Return the outline of a cradle as seen from above, (n, 2) [mm]."""
    left, right = (
        [one.at[:2] + side * wide * one.aside[:2] for one in stations]
        for side in (1.0, -1.0)
    )
    return np.array([*left, *right[::-1]])


def _meets_itself(outline: Array) -> bool:
    """Return whether two edges of an outline cross that are no neighbours."""
    start, way = outline, np.roll(outline, -1, axis=0) - outline
    apart = start[None, :] - start[:, None]

    def turned(a: Array, b: Array) -> Array:
        product: Array = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
        return product

    across = turned(way[:, None], way[None, :])
    across = np.where(across == 0.0, np.nan, across)  # side by side
    here, there = (turned(apart, one) / across for one in (way[None, :], way[:, None]))
    count = len(outline)
    gap = np.abs(np.subtract.outer(np.arange(count), np.arange(count)))
    far = (gap > 1) & (gap < count - 1)
    hit = far & (here >= 0.0) & (here <= 1.0) & (there >= 0.0) & (there <= 1.0)
    return bool(hit.any())


def _solid(
    stations: Sequence[Station], groove: float, low: float, words: Sequence[Choices]
) -> Shell:
    """Return a cradle over its stations, from a flat base so low up to the tube's axis."""
    angles = np.linspace(0.0, -math.pi, steps(math.pi, groove) + 1)
    rings = np.array([_section(one, groove, low, angles) for one in stations])
    closed = np.concatenate([rings, rings[:, :1]], axis=1)
    last = rings.shape[1] - 2
    lettered = [
        (number, side, words[a.leg])
        for number, (a, b) in enumerate(pairwise(stations))
        if a.leg is not None and a.leg == b.leg and not a.inset and not b.inset
        for side in (0, last)
    ]
    surfaces = [
        skin(closed, left_out={(number, side) for number, side, _ in lettered}),
        _end(rings[0])[:, ::-1],
        _end(rings[-1]),
    ]
    for number, side, choices in lettered:
        quad = closed[number : number + 2, side : side + 2]
        outline = np.array([quad[0, 0], quad[0, 1], quad[1, 1], quad[1, 0]])
        surfaces.append(_side(outline, stations[number], choices, is_left=side == 0))
    return closed_shell(surfaces)


def _section(station: Station, groove: float, low: float, angles: Array) -> Array:
    """Return the outline of a cradle across the tube: up at the left, down at the right."""
    aside = station.aside
    over = np.cross(station.along, aside)
    at = station.at - (0.0, 0.0, low)
    out = (groove + WALL - station.inset) * aside
    foot = np.array([1.0, 1.0, 0.0])
    spokes = np.outer(np.cos(angles), aside) + np.outer(np.sin(angles), over)
    rim = np.array([at + out, *(at + groove * spokes), at - out])
    section: Array = np.concatenate([rim[:1] * foot, rim, rim[-1:] * foot])
    return section


def _end(section: Array) -> Surface:
    """Return the face in a section's outline, as seen against the tube's direction."""
    middle = len(section) // 2
    left, right = section[0], section[-1]
    chain = list(pairwise(section[1:-1]))
    return np.array(
        [
            *((left, a, b) for a, b in chain[: middle - 1]),
            (left, section[middle], right),
            *((right, a, b) for a, b in chain[middle - 1 :]),
        ]
    )


def _side(
    outline: Array, station: Station, choices: Choices, *, is_left: bool
) -> Surface:
    """Return a flat side of a straight, lettered."""
    up = np.array([0.0, 0.0, 1.0])
    right = np.cross(up, station.aside if is_left else -station.aside)
    ground = Ground(right=right, up=up)
    return upright_face(outline, ground, choices)
