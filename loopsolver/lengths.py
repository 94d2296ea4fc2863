"""Lengths in words, in the unit in which the scene was measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from loopsolver.units import MM_PER, LengthUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """How lengths are shown and printed.

    Attributes
    ----------
    unit : str
        As shown.
    millimetres : float
        In one unit.
    decimals : int
        To a tenth of a millimetre, which a rule shows, or a thousandth of an inch, in
        which callipers read and which keeps sizes such as 3/8 in exact.
    """

    unit: str
    millimetres: float
    decimals: int

    @property
    def visible(self) -> float:
        """The least difference that does not show as nothing [mm]."""
        return 0.5 * self.millimetres / 10.0**self.decimals

    def number(self, length: float) -> str:
        """Return a length [mm] without its unit, for where that is said once for many."""
        return fixed(length / self.millimetres, self.decimals)

    def short(self, length: float) -> str:
        """Return a length [mm] without its unit and without closing noughts."""
        number = self.number(length)
        return number.rstrip("0").rstrip(".") if "." in number else number

    def text(self, length: float) -> str:
        """Return a length [mm] with its unit; in inches with millimetres beside it."""
        words = f"{self.number(length)} {self.unit}"
        return words if self.millimetres == 1.0 else f"{words} ({fixed(length, 1)} mm)"

    def brief(self, length: float) -> str:
        """Return a length [mm] with its unit, without closing noughts of millimetres.

        >>> MILLIMETRES.brief(71.0), MILLIMETRES.brief(4.06), INCHES.brief(50.8)
        ('71 mm', '4.1 mm', '2.000 in (50.8 mm)')
        """
        if self.millimetres == 1.0:
            return f"{self.short(length)} {self.unit}"
        return self.text(length)

    def rough(self, length: float) -> str:
        """Return a length [mm] in whole units, for what is about to change."""
        return f"{fixed(length / self.millimetres, 0)} {self.unit}"

    def fine(self, length: float) -> str:
        """Return a length [mm] with its unit, a decimal finer: for what is just short."""
        number = fixed(length / self.millimetres, self.decimals + 1)
        words = f"{number} {self.unit}"
        return words if self.millimetres == 1.0 else f"{words} ({fixed(length, 2)} mm)"


MILLIMETRES: Final = Lengths(unit="mm", millimetres=MM_PER["mm"], decimals=1)
INCHES: Final = Lengths(unit="in", millimetres=MM_PER["in"], decimals=3)


def lengths_for(units: LengthUnit) -> Lengths:
    """Return inches for who measures in inches, millimetres for everybody else."""
    return INCHES if units == "in" else MILLIMETRES


def fixed(value: float, decimals: int) -> str:
    """Return a number with so many decimals, never minus nought."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}"
