"""The stretches of a tube that lie in one plane, and the turn between them."""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.tolerances import IN_PLANE_DEG
from loopsolver.tube.bend_table import BendTable


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneStretch:
    """Neighbouring bends that lie in one plane.

    Attributes
    ----------
    first, last : int
        Numbers of its first and last bend, counted from 1.
    turn_deg : float
        Rotation against the stretch before, in (-180, 180]; 0 for the first.
    """

    first: int
    last: int
    turn_deg: float


def plane_stretches(table: BendTable) -> tuple[PlaneStretch, ...]:
    """Return the plane stretches of a table in order; empty for a tube without bends.

    A bend belongs to the stretch before it where its rotation is within
    `tolerances.IN_PLANE_DEG` of 0 or of a half turn; otherwise it begins the next one.
    """
    bends = table.bends
    firsts = [
        number
        for number, bend in enumerate(bends, start=1)
        if number == 1 or not is_in_plane(bend.rotation_deg)
    ]
    lasts = [first - 1 for first in firsts[1:]] + [len(bends)]
    return tuple(
        PlaneStretch(
            first=first,
            last=last,
            turn_deg=0.0 if first == 1 else bends[first - 1].rotation_deg,
        )
        for first, last in zip(firsts, lasts, strict=False)
    )


def is_in_plane(rotation_deg: float) -> bool:
    """Return whether a rotation leaves a bend in the plane of the one before it."""
    turn_deg = abs(rotation_deg) % 180.0
    return min(turn_deg, 180.0 - turn_deg) <= IN_PLANE_DEG
