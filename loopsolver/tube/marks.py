"""Marks along the straight blank, measured from its first end."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.centreline import require_room
from loopsolver.tube.setting_out import arc_length


@dataclass(frozen=True, slots=True, kw_only=True)
class BendMark:
    """Where one bend lies along the blank [mm from the blank's first end].

    `heated_from` and `heated_to` bound the length to heat: the arc and `heat_reach`
    each side. Copper is bent cold; there they only bound the length that the bend needs
    to itself.
    """

    number: int
    start: float
    centre: float
    end: float
    heated_from: float
    heated_to: float


def heat_reach(outer_diameter: float) -> float:
    """Return how far the heat for a bend reaches into the straights beside it [mm].

    One outer diameter: common practice, no source.
    """
    return outer_diameter


def bend_marks(
    table: BendTable,
    *,
    trim_allowance: float,
    outer_diameter: float,
    take_up: float = 1.0,
) -> tuple[BendMark, ...]:
    """Return the marks of every bend, trim allowance at the first end included.

    The marks are laid on the straight blank; they hold for the bent tube as well, since
    the centre line keeps its length (taken for granted, as in the sources of
    `setting_out`) unless test bends say otherwise. A length to heat ends where the blank
    does.

    Parameters
    ----------
    table : BendTable
    trim_allowance, outer_diameter : float [mm]
    take_up : float
        How much tube a bend takes up, as a share of its arc.

    Raises
    ------
    GeometryError
        If a straight is below zero, so that neighbouring bends would overlap.
    """
    require_room(table.straights)
    whole = blank_length(table, trim_allowance=trim_allowance, take_up=take_up)
    marks: list[BendMark] = []
    reach = heat_reach(outer_diameter)
    at = trim_allowance
    for number, bend in enumerate(table.bends, start=1):
        start = at + bend.straight
        arc = take_up * arc_length(table.radius, math.radians(bend.angle_deg))
        at = start + arc
        marks.append(
            BendMark(
                number=number,
                start=start,
                centre=start + 0.5 * arc,
                end=at,
                heated_from=max(0.0, start - reach),
                heated_to=min(whole, at + reach),
            )
        )
    return tuple(marks)


def blank_length(
    table: BendTable, *, trim_allowance: float, take_up: float = 1.0
) -> float:
    """Return what is cut for a tube: it and the trim allowance at both ends [mm].

    The tube is as long as its centre line, but that a bend takes up more or less than
    its arc, `take_up` times it.
    """
    taken_more = (take_up - 1.0) * table.arcs
    return table.length + taken_more + 2.0 * trim_allowance
