"""Where a tube and what is drawn aside for it stand, from station to station."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from loopsolver.assembly.removal import Removal
from loopsolver.assembly.swept import NOWHERE
from loopsolver.geometry.vectors import Array, Point, cross, offset
from loopsolver.tube.chain import screw_motions


@dataclass(frozen=True, slots=True, kw_only=True)
class Stance:
    """Where a tube stands while it goes in, and how far what is loose is drawn aside.

    Attributes
    ----------
    turn : array (3, 3)
    way : Point
        A point p of the tube in its place stands at ``turn @ p + way`` [mm].
    shift : Point
        By how much the loose parts stand aside [mm].
    is_held : bool
        Whether the tube is held aside by hand.
    """

    turn: Array
    way: Point
    shift: Point
    is_held: bool = False

    def moved(self, points: Array) -> Array:
        """Return where points of the tube in its place stand, (n, 3) [mm]."""
        there: Array = points @ self.turn.T + np.asarray(self.way)
        return there


def stations(removal: Removal, *, out: float | None = None) -> tuple[Stance, ...]:
    """Return the stations of a tube that goes in: outside first, in its place last.

    Parameters
    ----------
    removal : Removal
    out : float, optional
        How far off its fittings the first station is [mm]; out of the case if None.
    """
    return tuple(_taken_out(removal, out))[::-1]


def _taken_out(removal: Removal, out: float | None) -> Iterator[Stance]:
    """Yield the stations of a removal, the tube in its place first."""
    freeing, leaving = removal.freeing, removal.leaving
    still = np.eye(3)
    yield Stance(turn=still, way=NOWHERE, shift=NOWHERE)
    shift = NOWHERE if freeing.shift is None else freeing.shift.vector
    way = shift if removal.tube in freeing.tubes else NOWHERE
    is_held = freeing.easing is not None
    if freeing.easing is not None:
        way = offset(NOWHERE, freeing.easing.way, freeing.easing.wanted)
    if shift != NOWHERE or is_held:
        yield Stance(turn=still, way=way, shift=shift, is_held=is_held)
    turn, swing = still, leaving.swing
    if swing is not None:
        screw = (*swing.axis, *cross(swing.centre, swing.axis))
        pose = screw_motions(screw, np.array([swing.angle]))
        turn = pose.rotations[0]
        x, y, z = (turn @ np.asarray(way) + pose.positions[0]).tolist()
        way = (x, y, z)
        yield Stance(turn=turn, way=way, shift=shift, is_held=is_held)
    way = offset(way, leaving.draw.way, leaving.draw.by)
    yield Stance(turn=turn, way=way, shift=shift)
    far = leaving.out.by if out is None else min(out, leaving.out.by)
    yield Stance(turn=turn, way=offset(way, leaving.out.way, far), shift=shift)
