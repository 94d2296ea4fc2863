"""The tables of a scene file about the tube: its stock, its bends, a route's rules."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import Field

from loopsolver.scene import limits
from loopsolver.scene.choices import (
    BEND_ANGLE,
    BEND_ANGLES,
    BEND_RANGE,
    TEMPERATURES,
    TURN_STEP,
    one_of,
    whole_number,
)
from loopsolver.scene.findings import Finding, shown
from loopsolver.scene.quantities import (
    BEND_RADII,
    Measured,
    Reading,
    length,
    measured,
    positive_length,
)
from loopsolver.scene.toml_table import Table, length_field
from loopsolver.tube.stock import MATERIAL_FACTS, Made, Material

TUBE_DIAMETER = measured(positive_length(most=limits.TUBE_MOST))
TWO = Field(min_length=2, max_length=2)
_BLANK = measured(positive_length(most=limits.STOCK_MOST))

BendRadii = Annotated[tuple[float, ...], BEND_RADII]
MaxBends = Annotated[int, whole_number(least=0, most=limits.MAX_BENDS_MOST)]
Angles = Annotated[tuple[float, ...] | Literal["any"], BEND_ANGLES]


class TubeTable(Table):
    """The tube as it is bought, and the former it is bent round."""

    written: ClassVar[str] = "[tube]"

    material: Annotated[Material, one_of(get_args(Material))]
    """"acrylic", "petg" or "copper" """

    outer_diameter: Annotated[Measured, TUBE_DIAMETER]
    """the tube's outer diameter, such as 14 or "1/2 in" """

    inner_diameter: Annotated[Measured, TUBE_DIAMETER]
    """the tube's inner diameter, such as 10 or "3/8 in" """

    bend_radius: BendRadii | None = None
    """the former's radius to the tube's centre line, or a list of them; default: twice
    the outer diameter
    """

    stock_length: Annotated[
        float, length(least=limits.STOCK_LEAST, most=limits.STOCK_MOST)
    ] = length_field(500.0)
    """the length that the tube is sold in"""

    trim_allowance: Annotated[float, length(most=limits.TRIM_MOST)] | None = None
    """the length left over at each end until the bends are done; default: 40 mm, of
    copper 30 mm
    """

    grip: Annotated[float, positive_length(most=limits.GRIP_MOST)] | None = None
    """the straight that a bender's clip or a hand needs beside a bend; default: not
    asked
    """

    temperatures: Annotated[tuple[float, float], TEMPERATURES] | None = None
    """how warm the tube is when it is built in, and at its warmest, in °C, such as
    [20, 45]; default: growth is not reckoned
    """

    made: Annotated[Made, one_of(get_args(Made))] | None = None
    """how acrylic tube was made: "extruded" or "cast"; default: "extruded" """

    @property
    def trim(self) -> float:
        """The trim allowance, as written or as usual for the material [mm]."""
        if self.trim_allowance is None:
            return MATERIAL_FACTS[self.material].trim_allowance
        return self.trim_allowance

    def contradictions(self, reading: Reading) -> Iterator[Finding]:
        """Return what does not go together."""
        exact = reading.lengths.exact
        outer, inner = self.outer_diameter.mean, self.inner_diameter.mean
        if inner >= outer:
            yield Finding(
                path=("inner_diameter",),
                found=exact(inner),
                wanted=f"less than the outer diameter, {exact(outer)}",
            )
        if self.stock_length <= 2.0 * self.trim:
            yield Finding(
                path=("stock_length",),
                found=exact(self.stock_length),
                wanted="more than the trim allowance at both ends together, "
                f"{exact(2.0 * self.trim)}",
            )
        if self.made is not None and self.material != "acrylic":
            yield Finding(
                path=("made",),
                found=f"{shown(self.made)} beside material = {shown(self.material)}",
                wanted='no made: it is asked of material = "acrylic" alone',
            )


class BendTestTable(Table):
    """A bend that was made to try, of the same stock and with the same bend radius."""

    written: ClassVar[str] = "[[test_bends]]"

    bent: Annotated[float, BEND_ANGLE]
    """the angle that it was held at until it was cold, in degrees"""

    got: Annotated[float, BEND_ANGLE]
    """the angle that it then had, in degrees"""

    blank: Annotated[Measured, _BLANK] | None = None
    """how long the straight piece was, measured before it was bent; with legs"""

    legs: Annotated[list[Annotated[Measured, _BLANK]], TWO] | None = None
    """two lengths: from each end to where the centre lines meet; with blank. Where
    [tube] bend_radius is a list, the piece was bent round its first
    """

    @classmethod
    def misfits(cls, data: dict[str, Any]) -> Iterator[Finding]:
        """Return what is wrong with the choice of keys."""
        for key, other in (("blank", "legs"), ("legs", "blank")):
            if key in data and other not in data:
                yield Finding(
                    path=(key,),
                    found=f"{key} without {other}",
                    wanted="blank and legs together, from which follows what the bend "
                    "takes up; or neither",
                )


class RulesTable(Table):
    """What a route must keep to."""

    written: ClassVar[str] = "[rules]"

    clearance: Annotated[float, length(most=limits.CLEARANCE_MOST)] = length_field(3.0)
    """the least gap round a tube"""

    straight_between_bends: Annotated[float, length(most=limits.STRAIGHT_MOST)] = (
        length_field(15.0)
    )
    """the least straight between two bends"""

    bend_angles: Angles = (90.0,)
    """a list of angles such as [45, 90], or "any" """

    turn_step: Annotated[float | Literal["any"], TURN_STEP] = "any"
    """turns between bends are multiples of it: 90 or 45 degrees; "any" for all turns"""

    bend_range: Annotated[tuple[float, float], BEND_RANGE] = limits.USUAL_BEND_RANGE
    """with bend_angles = "any": the least bend, from three bends on, and the greatest \
    [degrees]"""

    max_bends: MaxBends = 5
    """the most bends in one tube"""

    candidates: Annotated[int, whole_number(least=1, most=limits.CANDIDATES_MOST)] = 6
    """the most candidates kept for a run"""
