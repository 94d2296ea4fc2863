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
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from loopsolver.fitup.minimax import Limits, better, least_share
from loopsolver.geometry.frames import Frame, axis_frame, rotations_by
from loopsolver.geometry.vectors import Array, Flags, Point, offset
from loopsolver.tube.chain import Poses

_ROUNDS: Final = 3  # of moves; each leaves about a fiftieth of what the one before did
_MOST_ROLL: Final = math.radians(10.0)
"""How far a tube is rolled out of the position that it is drawn in [rad].

Common practice, no source: it is then still beside what it was drawn beside.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A bore that guides the tube from mouth to seat.

    Attributes
    ----------
    play : float
        What the bore is wider than the tube [mm], above 0: the tube's centre line stays
        within half of it from the fitting's axis, at the mouth and at the seat.
    """

    play: float

    @property
    def limits(self) -> tuple[float, float]:
        """How far off the centre line may be at the mouth, and at the seat [mm]."""
        return 0.5 * self.play, 0.5 * self.play

    def second(self, depth: float) -> tuple[float, float]:
        """Return how the offset at the seat follows from that at the mouth, and slope."""
        return 1.0, -depth


@dataclass(frozen=True, slots=True, kw_only=True)
class Mouth:
    """A mouth that takes a tube so far off sideways and so far tilted, both at once.

    Attributes
    ----------
    sideways : float
        From the fitting's axis to the tube's centre line [mm].
    tilt : float
        Between them [rad].
    """

    sideways: float
    tilt: float

    @property
    def limits(self) -> tuple[float, float]:
        """How far off the centre line may be at the mouth [mm], and its slope."""
        return self.sideways, math.tan(self.tilt)

    def second(self, _: float) -> tuple[float, float]:
        """Return that the slope counts by itself, however deep the tube goes in."""
        return 0.0, 1.0


@dataclass(frozen=True, kw_only=True)
class Socket:
    """A fitting as the tube meets it.

    Attributes
    ----------
    seat : Point
        Where the tube's end stops [mm].
    axis : Point
        Out of the fitting; unit length.
    depth : float
        Mouth to seat [mm].
    holds : Bore or Mouth
        What it takes of a tube that is not where it should be.
    """

    seat: Point
    axis: Point
    depth: float
    holds: Bore | Mouth

    @property
    def mouth(self) -> Point:
        """The middle of its open rim [mm]."""
        return offset(self.seat, self.axis, self.depth)

    @cached_property
    def across(self) -> Array:
        """Two directions square to its axis and to each other, a row each."""
        return axis_frame(self.seat, self.axis).rotation.T[:2]

    def slopes(self, about: Point) -> Array:
        """Return how readings change as a tube is turned about a point and moved, (5, 6).

        Offset at the mouth, what else it holds, a row each way across; then the slide.
        The first three columns turn it [rad], the others move it [mm].
        """
        axis = np.asarray(self.axis)
        aside = np.cross(np.subtract(self.mouth, about), self.across)
        at_mouth = np.concatenate([aside, self.across], axis=1)
        tilted = np.concatenate([np.cross(axis, self.across), np.zeros((2, 3))], axis=1)
        slide = [*np.cross(np.subtract(self.seat, about), axis), *axis]
        return np.concatenate([at_mouth, self._second(at_mouth, tilted), [slide]])

    def readings(self, ends: Array, directions: Array) -> Array:
        """Return how tubes lie in it, exactly, (5, tubes): rows as those of `slopes`.

        Parameters
        ----------
        ends : ndarray, (tubes, 3)
            A point on each straight that goes in [mm]: where the tube ends.
        directions : ndarray, (tubes, 3)
            Along that straight, out of the fitting; unit length.
        """
        at_mouth, tilted = self._lines(ends, directions)
        slide = (ends - self.seat) @ np.asarray(self.axis)
        return np.concatenate([at_mouth, self._second(at_mouth, tilted), [slide]])

    def lying(self, ends: Array, directions: Array) -> tuple[Array, Array]:
        """Return how far tubes are off its axis at the mouth [mm], and tilted [rad]."""
        at_mouth, tilted = self._lines(ends, directions)
        return np.hypot(*at_mouth), np.arctan(np.hypot(*tilted))

    def _lines(self, ends: Array, directions: Array) -> tuple[Array, Array]:
        """Return where straights cross the mouth's plane, and their slopes, (2, tubes)."""
        axis = np.asarray(self.axis)
        tilted: Array = self.across @ (directions / (directions @ axis)[:, None]).T
        beyond = ends - self.mouth
        at_mouth: Array = self.across @ beyond.T - tilted * (beyond @ axis)
        return at_mouth, tilted

    def _second(self, at_mouth: Array, tilted: Array) -> Array:
        of_mouth, of_slope = self.holds.second(self.depth)
        second: Array = of_mouth * at_mouth + of_slope * tilted
        return second


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
    roll: float = _MOST_ROLL

    @cached_property
    def slopes(self) -> Array:
        """How all readings change with a move about the first seat, (11, 6).

        Four rows for each socket, as parts of its limits; slides at both; roll.
        """
        first, far = (one.slopes(self.drawn.origin) for one in self.sockets)
        roll = [*self.sockets[0].axis, 0.0, 0.0, 0.0]
        return self._in_limits(first, far, np.array(roll))

    @cached_property
    def limits(self) -> Limits:
        """The limits of all readings, where the slides and the roll count as well."""
        (in_first, out_first), (in_far, out_far) = self.slides
        return Limits(
            pairs=self.slopes[:8],
            singles=self.slopes[8:],
            low=np.array([in_first, in_far, self.roll]),
            high=np.array([out_first, out_far, self.roll]),
            grows=1.0,
        )

    def readings(self, firsts: Poses, ends: Poses) -> Array:
        """Return how tubes lie in both fittings, exactly, (11, tubes).

        Parameters
        ----------
        firsts : Poses
            Of their first ends.
        ends : Poses
            Of their far ends in the frames of the first.
        """
        fars = firsts.then(ends)
        sides = firsts.rotations[:, :, 0] @ self.drawn.rotation[:, :2]
        return self._in_limits(
            self.sockets[0].readings(firsts.positions, firsts.rotations[:, :, 2]),
            self.sockets[1].readings(fars.positions, -fars.rotations[:, :, 2]),
            np.arctan2(sides[:, 1], sides[:, 0]),
        )

    def _in_limits(self, first: Array, far: Array, roll: Array) -> Array:
        """Return rows of both sockets and the roll in order, what is held in limits."""
        widths = [limit for one in self.sockets for limit in one.holds.limits]
        held = np.concatenate([first[:4], far[:4]]) / np.repeat(widths, 2)[:, None]
        return np.concatenate([held, [first[4], far[4], roll]])


@dataclass(frozen=True, kw_only=True)
class Placements:
    """Where tubes sit best, an entry or row each.

    Attributes
    ----------
    room : ndarray, (tubes,)
        The part of what the fittings take that is left over; below 0 it does not fit.
    roll : ndarray, (tubes,)
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
    roll: Array
    slides: Array
    offsets: Array
    tilts: Array
    firsts: Poses

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
    count = len(ends.positions)
    firsts = Poses(
        np.tile(seating.drawn.rotation, (count, 1, 1)),
        np.tile(np.asarray(seating.drawn.origin), (count, 1)),
    )
    for _ in range(_ROUNDS):
        moves = _best_moves(seating.limits, seating.readings(firsts, ends))
        firsts = _moved(firsts, moves, about=seating.drawn.origin)
    return _as_placed(seating, firsts, ends)


def _best_moves(limits: Limits, values: Array) -> Array:
    """Return the moves that give the fittings most room, or that leave least missing."""
    least = least_share(limits, values)
    can = least.shares < 1.0
    if can.any():
        held = replace(limits, grows=0.0)
        roomy = better(held, values[:, can], least.moves[:, can])
        least.moves[:, can] = roomy.moves
    return least.moves


def _moved(poses: Poses, moves: Array, *, about: Point) -> Poses:
    """Return poses turned about a point by the first three rows and moved by the rest."""
    centre, turned = np.asarray(about), rotations_by(moves[:3].T)
    arms = np.einsum("mij,mj->mi", turned, poses.positions - centre)
    return Poses(turned @ poses.rotations, centre + arms + moves[3:].T)


def _as_placed(seating: Seating, firsts: Poses, ends: Poses) -> Placements:
    """Return tubes in their places as they are to be told."""
    values = seating.readings(firsts, ends)
    shares = seating.limits.shares(values)
    fars = firsts.then(ends)
    lying = [
        (firsts.positions, firsts.rotations[:, :, 2]),
        (fars.positions, -fars.rotations[:, :, 2]),
    ]
    offsets, tilts = np.transpose(
        [one.lying(*line) for one, line in zip(seating.sockets, lying, strict=True)],
        (1, 2, 0),
    )
    greatest = shares[:4].max(axis=0)
    missing = shares.max(axis=0)
    return Placements(
        room=1.0 - np.where(missing <= 1.0, greatest, missing),
        roll=values[10],
        slides=values[8:10].T,
        offsets=offsets,
        tilts=tilts,
        firsts=firsts,
    )
