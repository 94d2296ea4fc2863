"""How numbers are worded on all sheets: lengths, sizes, angles, turns, counts."""

from __future__ import annotations

from typing import Literal

from loopsolver.lengths import lengths_for
from loopsolver.tube.stock import Material, Tube
from loopsolver.units import LengthUnit

PaperUnit = Literal["mm", "in"]
"""What the person at the bench measures in."""


def paper_unit(units: LengthUnit) -> PaperUnit:
    """Return what lengths are written in for a scene measured in those units."""
    return "in" if units == "in" else "mm"


def number_words(mm: float, unit: PaperUnit) -> str:
    """Return a length as a bare number, never minus zero."""
    return lengths_for(unit).number(mm)


def length_words(mm: float, unit: PaperUnit) -> str:
    """Return a length with its unit.

    Examples
    --------
    >>> length_words(412.66, "mm"), length_words(88.9, "in")
    ('412.7 mm', '3.500 in')
    """
    return f"{number_words(mm, unit)} {unit}"


def size_words(mm: float, unit: PaperUnit) -> str:
    """Return a diameter or radius with its unit, inches without idle zeros.

    Examples
    --------
    >>> size_words(14.0, "mm"), size_words(9.525, "in")
    ('14.0 mm', '0.375 in')
    """
    lengths = lengths_for(unit)
    number = lengths.short(mm) if unit == "in" else lengths.number(mm)
    return f"{number} {unit}"


def tube_sizes(tube: Tube, unit: PaperUnit) -> str:
    """Return outer and inner diameter, the unit said once: ``14.0 / 10.0 mm``."""
    outer = size_words(tube.outer_diameter, unit).partition(" ")[0]
    return f"{outer} / {size_words(tube.inner_diameter, unit)}"


def unit_words(unit: PaperUnit) -> str:
    """Return the unit in full, for the heading of a table."""
    return "inches" if unit == "in" else "millimetres"


def degrees(angle_deg: float) -> str:
    """Return an angle with its sign, to a tenth of a degree where it is not whole.

    Examples
    --------
    >>> degrees(90.0), degrees(-33.68), degrees(-0.01)
    ('90°', '-33.7°', '0°')
    """
    return f"{round(angle_deg, 1) + 0.0:.1f}".removesuffix(".0") + "°"


def clock_sense(rotation_deg: float) -> str:
    """Return which way a rotation goes, seen along the tube from its first end.

    Notes
    -----
    A rotation is right-handed about the direction of travel, and a right-handed turn
    about a direction that points away from the eye is clockwise.
    """
    return "clockwise" if rotation_deg > 0.0 else "anticlockwise"


def clock(rotation_deg: float) -> str:
    """Return a rotation in words, seen along the tube from its first end.

    Examples
    --------
    >>> clock(90.0), clock(-77.7), clock(180.0)
    ('90° clockwise', '77.7° anticlockwise', '180°, half a turn')
    """
    amount = degrees(abs(rotation_deg))
    if amount == "180°":
        return f"{amount}, half a turn"
    return f"{amount} {clock_sense(rotation_deg)}"


def counted(count: int, noun: str) -> str:
    """Return a number with its noun: ``1 tube``, ``2 tubes``."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def material_words(material: Material) -> str:
    """Return a material's name as it is written in a sentence."""
    return "PETG" if material == "petg" else material


def bender_words(ends: tuple[str, str]) -> str:
    """Return which end of a tube lies in a bender's clip, and which mark at its zero.

    Common practice, no source.

    Parameters
    ----------
    ends : two str
        The ports of the tube's first and last end.
    """
    first, last = ends
    return (
        f"In the bender: the clip holds the tube on the side of its first end ({first}), "
        "the start mark meets the bender's zero, and the bend runs on towards "
        f"{last}. Where the clip holds the other side, the end mark meets the zero. "
        "Benders differ: what the maker of yours says goes first."
    )
