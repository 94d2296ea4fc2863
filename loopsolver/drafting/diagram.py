"""Two axes of a diagram: where values stand, with ticks at round numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from loopsolver.drafting.drawing import Entity, Line, Place, Text
from loopsolver.drafting.layers import PageLayers
from loopsolver.tolerances import TIDY_DECIMALS

_ROUND: Final = (1.0, 2.0, 5.0, 10.0)
_LETTERS: Final = 2.2  # height of capitals [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """One axis: its least and greatest value, and what it is called, unit included."""

    low: float
    high: float
    name: str

    def ticks(self, *, most: int) -> tuple[float, ...]:
        """Return at most so many round values along the axis, evenly apart.

        >>> Scale(low=0.0, high=30.0, name="min").ticks(most=7)
        (0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0)
        """
        least = tidied((self.high - self.low) / max(most - 1, 1))
        power = math.pow(10.0, math.floor(math.log10(least)))
        step = next(power * one for one in _ROUND if tidied(power * one) >= least)
        first = math.ceil(tidied(self.low / step))
        last = math.floor(tidied(self.high / step))
        return tuple(tidied(step * number) for number in range(first, last + 1))


def tidied(value: float) -> float:
    """Return a value without the last bits that steps leave behind."""
    return round(value, TIDY_DECIMALS) + 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagram:
    """A diagram's two axes, and the field between them.

    Attributes
    ----------
    across, up : Scale
    corner : Place
        Lower left corner of the field [mm].
    width, height : float
        Of the field [mm].
    """

    across: Scale
    up: Scale
    corner: Place
    width: float
    height: float

    def place(self, x: float, y: float) -> Place:
        """Return where two values stand on the drawing [mm]."""
        along = (x - self.across.low) / (self.across.high - self.across.low)
        above = (y - self.up.low) / (self.up.high - self.up.low)
        return (
            self.corner[0] + along * self.width,
            self.corner[1] + above * self.height,
        )

    def drawn(self) -> Iterator[Entity]:
        """Yield grid, ticks, numbers and names."""
        (left, bottom), size = self.corner, _LETTERS
        right, top = left + self.width, bottom + self.height
        for value in self.across.ticks(most=8):
            x, _ = self.place(value, self.up.low)
            yield Line(start=(x, bottom), end=(x, top), layer=PageLayers.GRID_STRONG)
            at = (x, bottom - 1.6 * size)
            yield Text(position=at, text=f"{value:g}", size=size, anchor="middle")
        for value in self.up.ticks(most=7):
            _, y = self.place(self.across.low, value)
            yield Line(start=(left, y), end=(right, y), layer=PageLayers.GRID_STRONG)
            at = (left - 0.8 * size, y - 0.5 * size)
            yield Text(position=at, text=f"{value:g}", size=size, anchor="end")
        yield Line(start=(left, bottom), end=(right, bottom), layer=PageLayers.NOTE)
        yield Line(start=(left, bottom), end=(left, top), layer=PageLayers.NOTE)
        below = (right, bottom - 3.8 * size)
        yield Text(position=below, text=self.across.name, size=size, anchor="end")
        yield Text(position=(left, top + size), text=self.up.name, size=size)
