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
from loopsolver.workshop.jigs.engraving import Wordings, upright_face
from loopsolver.workshop.jigs.shell import FlatSide, Shell, Surface, closed_shell, skin

WALL: Final = 5.0
"""Thickness beside a groove, and the least under it [mm]. Common practice, no source."""

LEAST_WALL: Final = 2.0
"""The least beside a groove, at the inside of a tight bend that rises [mm].

Five lines of a nozzle of 0.4 mm. Common practice, no source.
"""

TRUE_TO: Final = 0.02
"""How far a chord of a groove may stand off its arc [mm]: a tenth of a layer."""

_ARM: Final = 2.0  # of the legs beyond the bends, in diameters of the groove
_LEAST_ARM: Final = 25.0  # of them, and of the straights of a cradle in two [mm]
_NOTCH: Final = 1.2  # depth, and half width, of the notch where a bend begins [mm]
_SHARES: Final = (1.0, 0.75, 0.5, 0.25)  # of the legs, until none meets another


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossSection:
    """One cross-section of a cradle.

    Attributes
    ----------
    at, along : Array
        A place on the tube's axis [mm], and the direction of the tube there.
    leg : int or None
        Which straight it is in: before, between or behind the bends; None in a bend.
    wide : float
        From the tube's axis to the outside of the part [mm].
    """

    at: Array
    along: Array
    wide: float
    leg: int | None = None

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
    free = piece_length(held[2]) - 2.0 * _LEAST_ARM
    for share in _SHARES:
        whole = _stations(held, share * max(2.0 * _ARM * groove, _LEAST_ARM), groove)
        is_long = float(np.ptp(np.concatenate(_rims(whole)), axis=0).max()) > bed
        parts = _in_two(whole) if is_long and free > 0.0 else (whole,)
        if all(_has_room(part) for part in parts):
            low = min(float(one.at[2]) for one in whole) - groove - WALL
            return Cradle(
                first=first,
                shells=tuple(_solid(part, groove, low, words) for part in parts),
                between=free if len(parts) > 1 else 0.0,
            )
    return None


def _words(table: BendTable, *, run: int, first: int) -> tuple[Wordings, ...]:
    """Return what is engraved on first leg, middle and last leg: choices of lines."""
    bends = table.bends[first - 1 : first + 1]
    turn_deg = bends[1].rotation_deg
    turn: Wordings
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
) -> tuple[CrossSection, ...]:
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
    before, between, after = (piece_length(piece) for piece in held[::2])
    lengths = (min(arm, before), between, min(arm, after))
    start = np.asarray(bends[0].centre) + bends[0].radius * np.asarray(bends[0].u)
    start = start - lengths[0] * ways[0]
    wide, found = groove + WALL, list[CrossSection]()
    for leg, (way, length) in enumerate(zip(ways, lengths, strict=True)):
        notches = (0.0, _NOTCH, _NOTCH)[leg], (_NOTCH, _NOTCH, 0.0)[leg]
        for at, notch in _notched(length, at_start=notches[0], at_end=notches[1]):
            place = start + at * way
            found.append(CrossSection(at=place, along=way, wide=wide - notch, leg=leg))
        for bend in bends[leg : leg + 1]:
            found += _round(bend, groove)
            start = np.asarray(bend.centre) + bend.radius * _spoke(bend, bend.angle)
    turn = _level(ways[1], -ways[0], ways[2])
    level = [replace(one, at=turn @ one.at, along=turn @ one.along) for one in found]
    return tuple(_slimmed(level, groove))


def _spoke(bend: BendArc, angle: float) -> Array:
    """Return the direction from a bend's centre at an angle from its start, length 1."""
    spoke: Array = math.cos(angle) * np.asarray(bend.u) + math.sin(angle) * np.asarray(
        bend.v
    )
    return spoke


def _notched(
    length: float, *, at_start: float, at_end: float
) -> Iterator[tuple[float, float]]:
    """Yield places along a straight, and how deep a notch is there [mm].

    Parameters
    ----------
    length : float
    at_start, at_end : float
        Depth of the notch at either end; 0 for none.
    """
    yield 0.0, at_start
    if length > 3.0 * _NOTCH:
        yield from (
            (at, 0.0) for at in (at_start, length - at_end) if 0.0 < at < length
        )
    yield length, at_end


def _round(bend: BendArc, groove: float) -> Iterator[CrossSection]:
    """Yield the stations of a bend, its ends left to the straights."""
    count = steps(bend.angle, bend.radius + groove)
    for number in range(1, count):
        angle = bend.angle * number / count
        spoke = _spoke(bend, angle)
        yield CrossSection(
            at=np.asarray(bend.centre) + bend.radius * spoke,
            along=_spoke(bend, angle + math.pi / 2.0),
            wide=groove + WALL,
        )


def _slimmed(stations: Sequence[CrossSection], groove: float) -> Iterator[CrossSection]:
    """Yield stations, slimmer where the inside of a bend would fold as seen from above."""
    headings = np.unwrap([math.atan2(one.along[1], one.along[0]) for one in stations])
    for number, one in enumerate(stations):
        if one.leg is None:
            before, after = stations[number - 1], stations[number + 1]
            turned = abs(headings[number + 1] - headings[number - 1])
            radius = float(np.linalg.norm((after.at - before.at)[:2])) / turned
            wide = min(one.wide, max(0.9 * radius, groove + LEAST_WALL))
            yield replace(one, wide=wide)
        else:
            yield one


def steps(angle: float, radius: float) -> int:
    """Return how many chords stand for an arc, an even number."""
    each = 2.0 * math.acos(1.0 - TRUE_TO / radius)
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


def _in_two(whole: Sequence[CrossSection]) -> tuple[tuple[CrossSection, ...], ...]:
    """Return the stations of both ends, each with so much of the straight between."""
    place = next(n for n, one in enumerate(whole) if one.leg == 1)
    inner = whole[place + 1 : place + 3]
    start, end = whole[place], whole[place + 3]
    cuts = [
        replace(one, at=end.at + by * one.along)
        for one, end, by in zip(
            inner, (start, end), (_LEAST_ARM, -_LEAST_ARM), strict=True
        )
    ]
    return (*whole[: place + 2], cuts[0]), (cuts[1], *whole[place + 2 :])


def _rims(stations: Sequence[CrossSection]) -> tuple[Array, Array]:
    """Return the outlines at the left and the right as seen from above, (n, 2) [mm]."""
    left, right = (
        np.array([(one.at + side * one.wide * one.aside)[:2] for one in stations])
        for side in (1.0, -1.0)
    )
    return left, right


def _has_room(stations: Sequence[CrossSection]) -> bool:
    """Return whether a part neither folds nor meets itself, as seen from above.

    Two of its places meet where they are nearer than it is wide, although they are
    further along the tube than half round a circle of that width.
    """
    places = np.array([one.at[:2] for one in stations])
    wide = max(one.wide for one in stations)
    ways = np.array([one.along[:2] for one in stations])
    ahead = ways[:-1] + ways[1:]
    for rim in _rims(stations):
        if np.any(np.sum(np.diff(rim, axis=0) * ahead, axis=1) <= 0.0):
            return False
    steps_along = np.linalg.norm(np.diff(places, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps_along)])
    apart = np.linalg.norm(places[:, None] - places, axis=2)
    far = np.abs(np.subtract.outer(along, along)) > math.pi * wide
    return not bool(np.any(far & (apart < 2.0 * wide)))


def _solid(
    stations: Sequence[CrossSection],
    groove: float,
    low: float,
    words: Sequence[Wordings],
) -> Shell:
    """Return a cradle over its stations, from a flat base so low up to the tube's axis."""
    angles = np.linspace(0.0, -math.pi, steps(math.pi, groove) + 1)
    rings = np.array([_section(one, groove, low, angles) for one in stations])
    closed = np.concatenate([rings, rings[:, :1]], axis=1)
    full = groove + WALL
    last = rings.shape[1] - 2
    lettered = [
        (number, side, words[a.leg])
        for number, (a, b) in enumerate(pairwise(stations))
        if a.leg is not None and a.leg == b.leg and a.wide == b.wide == full
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


def _section(station: CrossSection, groove: float, low: float, angles: Array) -> Array:
    """Return the outline of a cradle across the tube: up at the left, down at the right."""
    aside = station.aside
    over = np.cross(station.along, aside)
    at = station.at - (0.0, 0.0, low)
    out = station.wide * aside
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
    outline: Array, station: CrossSection, choices: Wordings, *, is_left: bool
) -> Surface:
    """Return a flat side of a straight, lettered."""
    up = np.array([0.0, 0.0, 1.0])
    right = np.cross(up, station.aside if is_left else -station.aside)
    ground = FlatSide(right=right, up=up)
    return upright_face(outline, ground, choices)
