"""How lengths, sizes and materials are worded on all sheets."""

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
    """Return a length with its unit: ``412.7 mm``, ``3.500 in``."""
    return lengths_for(unit).plain(mm)


def size_words(mm: float, unit: PaperUnit) -> str:
    """Return a diameter or radius with its unit: ``14.0 mm``, ``0.375 in``."""
    return lengths_for(unit).size(mm)


def tube_sizes(tube: Tube, unit: PaperUnit) -> str:
    """Return outer and inner diameter, the unit said once: ``14.0 / 10.0 mm``."""
    outer = size_words(tube.outer_diameter, unit).partition(" ")[0]
    return f"{outer} / {size_words(tube.inner_diameter, unit)}"


def unit_words(unit: PaperUnit) -> str:
    """Return the unit in full, for the heading of a table."""
    return "inches" if unit == "in" else "millimetres"


def material_words(material: Material) -> str:
    """Return a material's name as it is written in a sentence."""
    return "PETG" if material == "petg" else material
