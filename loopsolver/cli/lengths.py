"""Lengths and angles in words, in the unit that the person at the bench measures in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loopsolver.scene.model import Scene, Unit

_MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """How lengths are printed.

    To a tenth of a millimetre, which is what a rule shows, or a thousandth of an inch,
    in which callipers read and which keeps sizes such as 3/8 in exact.

    Attributes
    ----------
    unit : str
        As printed.
    millimetres : float
        In one unit.
    decimals : int
    """

    unit: str
    millimetres: float
    decimals: int

    @property
    def visible(self) -> float:
        """The least difference that does not print as nothing [mm]."""
        return 0.5 * self.millimetres / 10.0**self.decimals

    def number(self, length: float) -> str:
        """Return a length [mm] as a bare number for a table whose heading has the unit."""
        return fixed(length / self.millimetres, self.decimals)

    def text(self, length: float) -> str:
        """Return a length [mm] with its unit; in inches with millimetres beside it."""
        words = f"{self.number(length)} {self.unit}"
        if self.millimetres == 1.0:
            return words
        return f"{words} ({fixed(length, 1)} mm)"

    def rough(self, length: float) -> str:
        """Return a length [mm] in whole units, for what is about to change."""
        return f"{fixed(length / self.millimetres, 0)} {self.unit}"

    def fine(self, length: float) -> str:
        """Return a length [mm] with its unit, a decimal finer: for what is just short."""
        number = fixed(length / self.millimetres, self.decimals + 1)
        words = f"{number} {self.unit}"
        return words if self.millimetres == 1.0 else f"{words} ({fixed(length, 2)} mm)"


MILLIMETRES = Lengths(unit="mm", millimetres=1.0, decimals=1)
INCHES = Lengths(unit="in", millimetres=_MM_PER_INCH, decimals=3)


def lengths_for(units: Unit) -> Lengths:
    """Return how lengths are printed: inches for who measures in inches, else mm."""
    return INCHES if units == "in" else MILLIMETRES


def lengths_of(scene: Scene) -> Lengths:
    """Return how a scene's lengths are printed."""
    return lengths_for(scene.units)


def fixed(value: float, decimals: int) -> str:
    """Return a number with so many decimals, never minus zero."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}"


def rotation(angle_deg: float) -> str:
    """Return a rotation as a bare number in (-180, 180]."""
    words = fixed(angle_deg, 1)
    return "180.0" if words == "-180.0" else words


def degrees(angle_deg: float) -> str:
    """Return an angle with its unit: ``90 degrees``, ``88.5 degrees``."""
    return f"{fixed(angle_deg, 1).removesuffix('.0')} degrees"


def counted(number: int, noun: str, plural: str | None = None) -> str:
    """Return a number with its noun: ``1 bend``, ``2 bends``."""
    return f"{number} {noun if number == 1 else plural or f'{noun}s'}"
