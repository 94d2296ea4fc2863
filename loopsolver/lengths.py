"""Lengths in words, in the unit in which the scene was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from loopsolver.tolerances import WRITTEN_DECIMALS
from loopsolver.units import MM_PER, LengthUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """How lengths are shown and printed.

    Attributes
    ----------
    unit : LengthUnit
        As shown.
    millimetres : float
        In one unit.
    decimals : int
        To a tenth of a millimetre, which a rule shows, or a thousandth of an inch, in
        which callipers read and which keeps sizes such as 3/8 in exact.
    """

    unit: LengthUnit
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

    def plain(self, length: float) -> str:
        """Return a length [mm] with its unit, for where there is no room for a second.

        >>> MILLIMETRES.plain(412.66), INCHES.plain(88.9)
        ('412.7 mm', '3.500 in')
        """
        return f"{self.number(length)} {self.unit}"

    def size(self, length: float) -> str:
        """Return a diameter or radius [mm] with its unit, inches without closing noughts.

        >>> MILLIMETRES.size(14.0), INCHES.size(9.525)
        ('14.0 mm', '0.375 in')
        """
        bare = self.number if self.millimetres == 1.0 else self.short
        return f"{bare(length)} {self.unit}"

    def text(self, length: float) -> str:
        """Return a length [mm] with its unit; in inches with millimetres beside it."""
        words = self.plain(length)
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

    def exact(self, length: float) -> str:
        """Return a length [mm] with all its digits, as files hold it, and its unit.

        >>> MILLIMETRES.exact(20.0), INCHES.exact(20.0), INCHES.exact(9.525)
        ('20 mm', '0.7874 in (20 mm)', '0.375 in (9.525 mm)')
        """
        words = f"{_digits(length)} mm"
        if self.millimetres == 1.0:
            return words
        return f"{written_length(length, self.unit)} ({words})"

    def place(self, at: Sequence[float]) -> str:
        """Return a position [mm] as `exact` does a length.

        >>> MILLIMETRES.place((20.0, 0.5, -0.0)), INCHES.place((20.0, 0.5, 0.0))
        ('[20, 0.5, 0] mm', '[0.7874, 0.019685, 0] in ([20, 0.5, 0] mm)')
        """
        words = f"[{', '.join(map(_digits, at))}] mm"
        if self.millimetres == 1.0:
            return words
        inches = ", ".join(f"{value / self.millimetres:.5g}" for value in at)
        return f"[{inches}] {self.unit} ({words})"


MILLIMETRES: Final = Lengths(unit="mm", millimetres=MM_PER["mm"], decimals=1)
INCHES: Final = Lengths(unit="in", millimetres=MM_PER["in"], decimals=3)


def lengths_for(units: LengthUnit) -> Lengths:
    """Return inches for who measures in inches, millimetres for everybody else."""
    return INCHES if units == "in" else MILLIMETRES


def on_a_rule(units: LengthUnit) -> Lengths:
    """Return how lengths read off a steel rule are shown, in the unit of the scene.

    A hundredth of an inch is 0.25 mm, finer than the 1/64 of a rule; a hundredth of a
    centimetre is 0.1 mm.

    >>> on_a_rule("mm").plain(12.04), on_a_rule("cm").plain(12.04)
    ('12.0 mm', '1.20 cm')
    """
    decimals = 1 if units == "mm" else 2
    return Lengths(unit=units, millimetres=MM_PER[units], decimals=decimals)


def written_length(length: float, units: LengthUnit) -> str:
    """Return a length [mm] as somebody may have written it, to five digits.

    >>> written_length(609.6, "in"), written_length(14.0, "mm")
    ('24 in', '14 mm')
    """
    return f"{length / MM_PER[units]:.5g} {units}"


def _digits(length: float) -> str:
    """Return a length [mm] as files hold it, without closing noughts."""
    return f"{round(length, WRITTEN_DECIMALS) + 0.0:.12g}"


def fixed(value: float, decimals: int) -> str:
    """Return a number with so many decimals, never minus nought."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}"
