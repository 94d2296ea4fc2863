"""Marks along the straight blank, measured from its first end."""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.tube.bend_table import BendTable


@dataclass(frozen=True, slots=True, kw_only=True)
class BendMark:
    """Where one bend lies along the blank [mm from the blank's first end].

    `heated_from` and `heated_to` bound the length to heat: the arc and one outer
    diameter each side (common practice, no source).
    """

    number: int
    start: float
    centre: float
    end: float
    heated_from: float
    heated_to: float


def bend_marks(
    table: BendTable, *, trim_allowance: float, outer_diameter: float
) -> tuple[BendMark, ...]:
    """Return the marks of every bend, trim allowance at the first end included."""
    raise NotImplementedError


def blank_length(table: BendTable, *, trim_allowance: float) -> float:
    """Return the developed length plus the trim allowance at both ends [mm]."""
    raise NotImplementedError
