"""A fitting as a tube meets it, and how tubes lie in it.

Lengths in millimetres, angles in radians.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.vectors import Array, Point, crosses, offset
from loopsolver.scene.model import Acceptance


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """A bore that guides the tube from mouth to seat.

    Attributes
    ----------
    play : float
        What the bore is wider than the tube [mm], above 0: the tube's centre line stays
        within half of it from the fitting's axis, at the mouth and at the seat.
    """

    play: float


class Held(NamedTuple):
    """What a fitting limits: the offset at its mouth, and a second reading.

    Attributes
    ----------
    offset, second : float
        The limits of both [mm], of a slope what it comes to along 1 mm.
    of_offset, of_slope : float
        What offset at the mouth and slope make of the second reading.
    """

    offset: float
    second: float
    of_offset: float
    of_slope: float


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
    holds : Guide or Acceptance
        What it takes of a tube that is not where it should be.
    """

    seat: Point
    axis: Point
    depth: float
    holds: Guide | Acceptance

    @property
    def mouth(self) -> Point:
        """The middle of its open rim [mm]."""
        return offset(self.seat, self.axis, self.depth)

    @cached_property
    def across(self) -> Array:
        """Two directions square to its axis and to each other, a row each."""
        return axis_frame(self.seat, self.axis).rotation.T[:2]

    @property
    def held(self) -> Held:
        """What it limits: offsets at mouth and seat, or at the mouth offset and slope."""
        if isinstance(self.holds, Guide):
            half = 0.5 * self.holds.play
            return Held(half, half, 1.0, -self.depth)
        return Held(self.holds.sideways, math.tan(self.holds.tilt), 0.0, 1.0)

    def lying(self, ends: Array, directions: Array) -> Lying:
        """Return how tubes lie in it, exactly.

        Parameters
        ----------
        ends : ndarray, (tubes, 3)
            Where they end [mm].
        directions : ndarray, (tubes, 3)
            Along the straight that goes in, out of the fitting; unit length.
        """
        axis, mouth = np.asarray(self.axis), np.asarray(self.mouth)
        along = directions / (directions @ axis)[:, None]
        met = ends - ((ends - mouth) @ axis)[:, None] * along
        return Lying(self, ends, along, met)

    @property
    def lying_on_axis(self) -> Lying:
        """How a tube lies in it that is where it should be."""
        return self.lying(np.array([self.seat]), np.array([self.axis]))


class Lying(NamedTuple):
    """How tubes lie in a fitting.

    Attributes
    ----------
    socket : Socket
    ends : ndarray, (tubes, 3)
        Where they end [mm].
    along : ndarray, (tubes, 3)
        Along the straight that goes in, as far as comes out by 1.
    met : ndarray, (tubes, 3)
        Where it passes the mouth's plane [mm].
    """

    socket: Socket
    ends: Array
    along: Array
    met: Array

    @property
    def offsets(self) -> Array:
        """How far off the axis at the mouth, either way across, (tubes, 2) [mm]."""
        off: Array = (self.met - np.asarray(self.socket.mouth)) @ self.socket.across.T
        return off

    @property
    def slopes(self) -> Array:
        """How far off it goes as it comes out by 1, either way across, (tubes, 2)."""
        slopes: Array = self.along @ self.socket.across.T
        return slopes

    @property
    def slides(self) -> Array:
        """How far the end is from the seat, outwards, (tubes,) [mm]."""
        out: Array = (self.ends - self.socket.seat) @ np.asarray(self.socket.axis)
        return out

    @property
    def readings(self) -> Array:
        """Offsets and what else is held, as parts of their limits; slides, (tubes, 5)."""
        held = self.socket.held
        second = held.of_offset * self.offsets + held.of_slope * self.slopes
        parts = [self.offsets / held.offset, second / held.second]
        return np.concatenate([*parts, self.slides[:, None]], axis=1)

    def changes(self, about: Point) -> Array:
        """Return how readings change as tubes are turned and moved, (tubes, 5, 6).

        The first three columns turn them about a point [rad], the others move them [mm].
        What of a move is along the axis counts by the slope.
        """
        axis = np.asarray(self.socket.axis)
        ways = self.socket.across - self.slopes[:, :, None] * axis
        arms = (self.met - about)[:, None, :]
        offsets = np.concatenate([crosses(arms, ways), ways], axis=2)
        turns = crosses(self.along[:, None, :], ways)
        slopes = np.concatenate([turns, np.zeros_like(turns)], axis=2)
        held = self.socket.held
        second = held.of_offset * offsets + held.of_slope * slopes
        ends = crosses(self.ends - about, axis)
        slides = np.concatenate([ends, np.broadcast_to(axis, ends.shape)], axis=1)
        parts = [offsets / held.offset, second / held.second]
        return np.concatenate([*parts, slides[:, None, :]], axis=1)
