"""How lengths, sizes and materials are worded on all sheets."""

from __future__ import annotations

from loopsolver.lengths import Lengths
from loopsolver.tube.stock import Material, Tube


def tube_sizes(tube: Tube, lengths: Lengths) -> str:
    """Return outer and inner diameter, the unit said once: ``14.0 / 10.0 mm``."""
    outer = lengths.size(tube.outer_diameter).partition(" ")[0]
    return f"{outer} / {lengths.size(tube.inner_diameter)}"


def unit_words(lengths: Lengths) -> str:
    """Return the unit in full, for the heading of a table."""
    return "inches" if lengths.unit == "in" else "millimetres"


def material_words(material: Material) -> str:
    """Return a material's name as it is written in a sentence."""
    return "PETG" if material == "petg" else material
