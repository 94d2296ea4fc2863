"""Bend tables written down row by row, and the tubes that are laid from them."""

from __future__ import annotations

from collections.abc import Iterable

from loopsolver.geometry.vectors import Point
from loopsolver.tube.bend_table import Bend, BendTable, lay_forward
from loopsolver.tube.centreline import Centreline


def bent(
    rows: Iterable[tuple[float, float, float]], *, closing: float, radius: float = 28.0
) -> BendTable:
    """Return a bend table: straight [mm], rotation and angle [degrees] of each bend.

    Behind the last bend `closing` is straight; all are bent round `radius` [mm].
    """
    return BendTable(
        bends=tuple(
            Bend(straight=straight, rotation_deg=rotation, angle_deg=angle)
            for straight, rotation, angle in rows
        ),
        closing_straight=closing,
        radius=radius,
    )


def turned(
    turns: Iterable[float], *, straight: float = 60.0, closing: float = 60.0
) -> BendTable:
    """Return a table of square bends round 28 mm, by the turns before them [degrees]."""
    return bent([(straight, turn, 90.0) for turn in turns], closing=closing)


def laid_along_x(table: BendTable, *, towards: Point = (0.0, 1.0, 0.0)) -> Centreline:
    """Return the tube that begins at the origin along +x and first bends `towards`."""
    return lay_forward(
        table,
        start=(0.0, 0.0, 0.0),
        direction=(1.0, 0.0, 0.0),
        first_bend_towards=towards,
    )
