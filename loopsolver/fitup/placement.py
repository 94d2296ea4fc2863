"""Where a tube as bent may sit: the position and roll that leave its fittings most room.

A tube is a rigid body. It is slid along either fitting's axis, which is trimmed or made
longer out of the trim allowance, rolled about its first fitting, and its tilt and offset
are shared between both fittings. Lengths in millimetres, angles in radians.

For one tube exactly, `placed` takes its far end in the frame of its first end, from
`chain.end_poses` with the angles, turns and straights that it really has, and moves it
until no smaller move helps; nothing in it is of first order but its steps.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from loopsolver.fitup.minimax import MoveLimits, better, least_share
from loopsolver.fitup.socket import Guide, Lying, Socket
from loopsolver.geometry.frames import Frame, rotations_by
from loopsolver.geometry.vectors import Array, Flags, Point
from loopsolver.tube.chain import Poses

_ROUNDS: Final = 4  # of moves; each leaves about the square of what the one before did
_PARTS: Final = (1.0, 0.5, 0.25)
READINGS: Final = 11
"""How many readings there are of a tube in both fittings, in order: four parts of limits
at the first and at the far one, both slides, the roll.
"""
FIRST_ROWS: Final = (0, 1, 2, 3, 8)
FAR_ROWS: Final = (4, 5, 6, 7, 9)
ROLL_ROW: Final = 10
MOST_ROLL: Final = math.radians(10.0)
"""How far a tube is rolled out of the position that it is drawn in [rad].

Common practice, no source: it is then still beside what it was drawn beside.
"""


@dataclass(frozen=True, kw_only=True)
class Seating:
    """Two fittings, how a tube is drawn in them, and how far it may be moved.

    Attributes
    ----------
    sockets : pair of Socket
        At the tube's first end and at its far one.
    drawn : Frame
        Of the tube's first end as drawn: z along the tube, x where it bends first.
    slides : pair of pairs of float
        At each end how far the tube may go further in, by trimming it, and come further
        out, by leaving more of the trim allowance on [mm]; above 0.
    roll : float
        How far it may be rolled either way [rad].
    """

    sockets: tuple[Socket, Socket]
    drawn: Frame
    slides: tuple[tuple[float, float], tuple[float, float]]
    roll: float = MOST_ROLL

    @cached_property
    def as_drawn(self) -> tuple[Lying, Lying]:
        """How the tube lies in both fittings where it is as drawn."""
        first, far = self.sockets
        return first.lying_on_axis, far.lying_on_axis

    @property
    def is_bored(self) -> bool:
        """Whether a bore holds either end."""
        return any(isinstance(one.holds, Guide) for one in self.sockets)

    @property
    def widths(self) -> Array:
        """What each reading is divided by: the limits of both fittings; nothing else."""
        held = [one.held for one in self.sockets]
        return np.array(
            [
                *(width for one in held for width in np.repeat(one[:2], 2)),
                *[1.0] * (READINGS - 8),
            ]
        )

    @cached_property
    def limits(self) -> MoveLimits:
        """The limits of all readings near the position drawn, slides and roll as well."""
        return self.limits_of(self.changes(self.as_drawn)[0])

    def limits_of(self, changes: Array) -> MoveLimits:
        """Return the limits of readings that change so with a move."""
        (in_first, out_first), (in_far, out_far) = self.slides
        return MoveLimits(
            rows=changes,
            low=np.array([in_first, in_far, self.roll]),
            high=np.array([out_first, out_far, self.roll]),
        )

    def firsts(self, count: int) -> Poses:
        """Return the first ends of so many tubes as they are drawn."""
        return Poses(
            np.tile(self.drawn.rotation, (count, 1, 1)),
            np.tile(np.asarray(self.drawn.origin), (count, 1)),
        )

    def lying(self, firsts: Poses, ends: Poses) -> tuple[Lying, Lying]:
        """Return how tubes lie in both fittings, exactly.

        Parameters
        ----------
        firsts : Poses
            Of their first ends.
        ends : Poses
            Of their far ends in the frames of the first.
        """
        fars, (first, far) = firsts.then(ends), self.sockets
        return (
            first.lying(firsts.positions, firsts.rotations[:, :, 2]),
            far.lying(fars.positions, -fars.rotations[:, :, 2]),
        )

    def rolls(self, firsts: Poses) -> Array:
        """Return how far first ends are rolled out of the position drawn [rad]."""
        sides = firsts.rotations[:, :, 0] @ self.drawn.rotation[:, :2]
        rolls: Array = np.arctan2(sides[:, 1], sides[:, 0])
        return rolls

    def readings(self, lying: Sequence[Lying], rolls: Array) -> Array:
        """Return what is limited, (tubes, 11): four parts of limits each, slides, roll."""
        readings = np.empty((len(rolls), READINGS))
        for one, rows in zip(lying, (FIRST_ROWS, FAR_ROWS), strict=True):
            readings[:, rows] = one.readings
        readings[:, ROLL_ROW] = rolls
        return readings

    def changes(self, lying: Sequence[Lying]) -> Array:
        """Return how `readings` change with a move about the first seat, (tubes, 11, 6)."""
        changes = np.zeros((len(lying[0].ends), READINGS, 6))
        for one, rows in zip(lying, (FIRST_ROWS, FAR_ROWS), strict=True):
            changes[:, rows] = one.changes(self.drawn.origin)
        changes[:, ROLL_ROW, :3] = self.sockets[0].axis
        return changes


@dataclass(frozen=True, kw_only=True)
class Placements:
    """Where tubes sit best, an entry or row each.

    Attributes
    ----------
    room : ndarray, (tubes,)
        The part of what the fittings take that is left over; below 0 it does not fit.
    rolls : ndarray, (tubes,)
        Out of the position drawn, right-handed about the tube as it leaves its first
        fitting [rad].
    slides : ndarray, (tubes, 2)
        How much longer its straight at either end has to be than it is [mm]: as much
        less is trimmed off; below 0 more.
    offsets, tilts : ndarray, (tubes, 2)
        At either mouth, from the fitting's axis [mm]; between both axes [rad].
    firsts : Poses
        Of their first ends, in the frame of the case.
    """

    room: Array
    rolls: Array
    slides: Array
    offsets: Array
    tilts: Array
    firsts: Poses

    def of(self, number: int) -> Placements:
        """Return where one of the tubes sits, by itself."""
        one = slice(number, number + 1)
        return Placements(
            room=self.room[one],
            rolls=self.rolls[one],
            slides=self.slides[one],
            offsets=self.offsets[one],
            tilts=self.tilts[one],
            firsts=Poses(self.firsts.rotations[one], self.firsts.positions[one]),
        )

    @property
    def fits(self) -> Flags:
        """Whether each goes into both fittings."""
        return self.room >= 0.0


def placed(seating: Seating, ends: Poses) -> Placements:
    """Return where tubes sit best, from their far ends in the frames of their first ends.

    Where a tube can be placed within its slides and roll, the fittings are given most
    room; where it cannot, slides and roll count as the fittings do, so that what is
    missing is least.
    """
    firsts = seating.firsts(len(ends.positions))
    for _ in range(_ROUNDS):
        lying = seating.lying(firsts, ends)
        readings = seating.readings(lying, seating.rolls(firsts))
        good = _good_moves(seating.limits_of(seating.changes(lying)), readings)
        parts = [part * moves for moves in good for part in _PARTS]
        firsts = _best_of(seating, ends, firsts, parts)
    return _as_placed(seating, firsts, ends)


def best_moves(limits: MoveLimits, readings: Array) -> Array:
    """Return the moves that give the fittings most room, or that leave least missing."""
    *_, best = _good_moves(limits, readings)
    return best


def _good_moves(limits: MoveLimits, readings: Array) -> Iterator[Array]:
    """Yield what leaves least missing, then where nothing is what gives most room."""
    least = least_share(limits, readings)
    yield least.moves
    can = least.shares < 1.0
    if can.any():
        held = replace(limits, rows=limits.rows[can], grows=0.0)
        moves = least.moves.copy()
        moves[can] = better(held, readings[can], least.moves[can]).moves
        yield moves


def _best_of(
    seating: Seating, ends: Poses, firsts: Poses, moves: Sequence[Array]
) -> Poses:
    """Return the best of first ends as they are and moved by one of some moves.

    A roll has a curve that its slope does not tell: what is too long a move by far may
    still point the right way.
    """
    best, least = firsts, _asked(seating, firsts, ends)
    for one in moves:
        there = moved(firsts, one, about=seating.drawn.origin)
        asked = _asked(seating, there, ends)
        is_less = asked < least
        best = Poses(
            np.where(is_less[:, None, None], there.rotations, best.rotations),
            np.where(is_less[:, None], there.positions, best.positions),
        )
        least = np.minimum(asked, least)
    return best


def _asked(seating: Seating, firsts: Poses, ends: Poses) -> Array:
    """Return what share the fittings are asked for; where it is not enough, of all."""
    readings = seating.readings(seating.lying(firsts, ends), seating.rolls(firsts))
    shares = seating.limits.shares(readings)
    missing = shares.max(axis=1)
    asked: Array = np.where(missing <= 1.0, shares[:, :4].max(axis=1), missing)
    return asked


def moved(poses: Poses, moves: Array, *, about: Point) -> Poses:
    """Return poses turned about a point by the first three columns, moved by the rest."""
    centre, turned = np.asarray(about), rotations_by(moves[:, :3])
    arms = np.einsum("mij,mj->mi", turned, poses.positions - centre)
    return Poses(turned @ poses.rotations, centre + arms + moves[:, 3:])


def _as_placed(seating: Seating, firsts: Poses, ends: Poses) -> Placements:
    """Return tubes in their places as they are to be told."""
    lying = seating.lying(firsts, ends)
    return Placements(
        room=1.0 - _asked(seating, firsts, ends),
        rolls=seating.rolls(firsts),
        slides=np.stack([one.slides for one in lying], axis=1),
        offsets=np.stack([np.hypot(*one.offsets.T) for one in lying], axis=1),
        tilts=np.stack([np.arctan(np.hypot(*one.slopes.T)) for one in lying], axis=1),
        firsts=firsts,
    )
