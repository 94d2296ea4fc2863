"""Lengths in words, in the unit in which the scene was measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from loopsolver.scene.model import Unit
from loopsolver.units import MM_PER


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """How lengths are shown.

    Attributes
    ----------
    unit : str
        As shown.
    millimetres : float
        In one unit.
    decimals : int
        To a tenth of a millimetre, which a rule shows, or a thousandth of an inch,
        which callipers do.
    """

    unit: str
    millimetres: float
    decimals: int

    def number(self, length: float) -> str:
        """Return a length [mm] without its unit, never as minus nought."""
        rounded = round(length / self.millimetres, self.decimals) + 0.0
        return f"{rounded:.{self.decimals}f}"

    def short(self, length: float) -> str:
        """Return a length [mm] without its unit and without closing noughts."""
        number = self.number(length)
        return number.rstrip("0").rstrip(".") if "." in number else number

    def text(self, length: float) -> str:
        """Return a length [mm] with its unit; in inches with millimetres beside it."""
        words = f"{self.number(length)} {self.unit}"
        return words if self.millimetres == 1.0 else f"{words} ({length:.1f} mm)"


MILLIMETRES: Final = Measures(unit="mm", millimetres=1.0, decimals=1)
INCHES: Final = Measures(unit="in", millimetres=MM_PER["in"], decimals=3)


def measures_for(units: Unit) -> Measures:
    """Return inches for who measures in inches, millimetres for everybody else."""
    return INCHES if units == "in" else MILLIMETRES
