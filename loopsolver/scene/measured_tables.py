"""What was measured between points, in a scene file: places, readings, spreads."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, ClassVar

from pydantic import Field

from loopsolver.geometry.vectors import Point
from loopsolver.scene import limits
from loopsolver.scene.choices import DIRECTION, number, plain_text
from loopsolver.scene.findings import Finding
from loopsolver.scene.model import Spread
from loopsolver.scene.quantities import (
    Measured,
    Reading,
    length,
    measured,
    or_not_taken,
    or_open,
    positive_length,
)
from loopsolver.scene.shapes import SIGNED_LENGTH, THREE
from loopsolver.scene.toml_table import Table, length_field

_READ = or_not_taken(measured(length(most=limits.COORDINATE)))
_OPEN = or_open(measured(SIGNED_LENGTH))
_SPREAD = positive_length(most=limits.SPREAD_MOST)
_BENT = number("degrees", least=limits.TILT_LEAST, most=limits.TILT_MOST)

Offset = Annotated[list[Annotated[Measured, _OPEN]], THREE]
PointName = Annotated[str, plain_text(most=limits.POINT_MOST)]


class PlaceTable(Table):
    """Where a component stands, from a point of another one or the datum corner."""

    written: ClassVar[str] = "place = { point = ..., from = ..., offset = ... }"

    point: PointName
    """a point of the component itself: a port's or point's name, "origin", or a corner
    such as "+x-y+z"
    """

    start: PointName = Field(alias="from")
    """the point that it is placed from, such as "board.hole" or "datum" """

    offset: Offset
    """three lengths along the case's x, y and z, from that point to the component's own;
    "?" leaves one to the readings
    """


class SpreadTable(Table):
    """How far values usually lie off: two of three lie within it."""

    written: ClassVar[str] = "[spread]"

    reading: Annotated[float, _SPREAD] = length_field(0.5)
    """a length as it is read"""

    square: Annotated[float, number("degrees", least=0.0, most=45.0)] = 0.5
    """a port's direction, in degrees"""

    straight: Annotated[float, _SPREAD] = length_field(Spread().straight)
    """each straight between bends, as bent"""

    angle: Annotated[float, _BENT] = math.degrees(Spread().angle)
    """the angle of each bend, in degrees"""

    turn: Annotated[float, _BENT] = math.degrees(Spread().turn)
    """each turn between two bends, in degrees"""

    bias: Annotated[float, number("degrees", least=0.0, most=limits.TILT_MOST)] = (
        math.degrees(Spread().bias)
    )
    """what all bends have in common, from former and springback, in degrees"""

    bore: Annotated[float, length(most=limits.PLAY_MOST)] = length_field(Spread().bore)
    """the bore of each fitting"""


class ReadingTable(Table):
    """A length that was measured between two points or planes."""

    written: ClassVar[str] = "[[readings]]"

    start: PointName = Field(alias="from")
    """the point or plane it was measured from, such as "pump.out" or "wall +y" """

    goal: PointName = Field(alias="to")
    """the point or plane it was measured to, such as "block.in" """

    along: Annotated[Point, DIRECTION] | None = None
    """the direction in which it was measured: "+x" ... "-z", or a vector; default: the
    straight distance
    """

    value: Annotated[Measured, _READ]
    """the length, or a list of readings of it; [] where it was not taken yet"""

    spread: Annotated[float, _SPREAD] | None = None
    """how far one reading usually lies off; default: [spread] reading"""

    zero: Annotated[float, length(most=limits.ZERO_MOST)] = length_field(0.0)
    """what the rule shows at its own end; it is taken off"""

    def contradictions(self, reading: Reading) -> Iterator[Finding]:
        """Return what does not go together."""
        exact = reading.lengths.exact
        for value in self.value.values:
            if value < self.zero:
                yield Finding(
                    path=("zero",),
                    found=exact(self.zero),
                    wanted=f"at most what was read, {exact(value)}",
                )
                return
