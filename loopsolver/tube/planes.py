"""The stretches of a tube that lie in one plane, and the turn between them."""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.tube.bend_table import BendTable


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneStretch:
    """Neighbouring bends that lie in one plane.

    Attributes
    ----------
    first, last : int
        Numbers of its first and last bend, counted from 1.
    turn_deg : float
        Rotation of the tube against the stretch before, in (-180, 180]; 0 for the first.
    """

    first: int
    last: int
    turn_deg: float


def plane_stretches(table: BendTable) -> tuple[PlaneStretch, ...]:
    """Return the plane stretches of a table in order; empty for a tube without bends."""
    raise NotImplementedError
