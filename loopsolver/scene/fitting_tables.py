"""The tables of a scene file about fittings: their sizes, and what they take."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, Any, ClassVar

from loopsolver.scene import limits
from loopsolver.scene.choices import number
from loopsolver.scene.findings import Finding
from loopsolver.scene.model import Acceptance
from loopsolver.scene.quantities import (
    Measured,
    Reading,
    length,
    measured,
    positive_length,
)
from loopsolver.scene.toml_table import Table, length_field

_FITTING_SIZE = measured(positive_length(most=limits.FITTING_MOST))
_FITTING_LENGTH = measured(length(most=limits.FITTING_MOST))


class AcceptsTable(Table):
    """How far off a tube may come into a fitting's mouth."""

    written: ClassVar[str] = "accepts = { sideways = ..., tilt = ... }"

    sideways: Annotated[float, positive_length(most=limits.PLAY_MOST)] = length_field(
        Acceptance().sideways
    )
    """how far the tube's centre line may lie beside the fitting's axis, at the mouth"""

    tilt: Annotated[
        float, number("degrees", least=limits.TILT_LEAST, most=limits.TILT_MOST)
    ] = math.degrees(Acceptance().tilt)
    """how far askew the tube may come in, in degrees"""


class FittingTable(Table):
    """What is screwed into a port and holds the tube."""

    written: ClassVar[str] = "[fittings.NAME]"

    height: Annotated[Measured, _FITTING_SIZE]
    """the fitting's height, from the port's face to the mouth"""

    depth: Annotated[Measured, _FITTING_LENGTH]
    """how far the tube goes in, from the mouth to the seat"""

    diameter: Annotated[Measured, _FITTING_SIZE]
    """the diameter of the fitting's body"""

    straight_beyond: Annotated[Measured, _FITTING_LENGTH]
    """how far outside the mouth the tube stays straight"""

    turn: Annotated[float, number("degrees", least=0.0, most=150.0)] = 0.0
    """degrees between the port's direction and the outlet"""

    reach: Annotated[Measured, _FITTING_SIZE] | None = None
    """of an elbow: from the port's axis to the mouth"""

    loss: (
        Annotated[
            float, number("velocity heads", least=0.0, most=limits.FITTING_LOSS_MOST)
        ]
        | None
    ) = None
    """what it costs the coolant, in velocity heads of the tube"""

    bore: Annotated[Measured, _FITTING_SIZE] | None = None
    """the bore of what guides the tube from mouth to seat; default: not measured, then
    accepts holds
    """

    accepts: AcceptsTable | None = None
    """instead of bore: { sideways = 0.5, tilt = 1 }, what the mouth takes, both at once;
    these are the default
    """

    @classmethod
    def misfits(cls, data: dict[str, Any]) -> Iterator[Finding]:
        """Return what is wrong with the choice of keys."""
        if "bore" in data and "accepts" in data:
            yield Finding(
                path=("accepts",),
                found="accepts beside bore",
                wanted="one of them: with bore what the fitting takes follows from it",
            )

    def contradictions(self, reading: Reading) -> Iterator[Finding]:
        """Return what does not go together."""
        if self.turn > 0.0 and self.reach is None:
            yield Finding(
                path=("reach",),
                found="nothing",
                wanted="the length from the port's axis to the mouth: a fitting with "
                f"turn = {self.turn:g} is an elbow",
            )
        if self.turn == 0.0 and self.reach is not None:
            yield Finding(
                path=("reach",),
                found=reading.lengths.exact(self.reach.mean),
                wanted="turn = 90 (or what it is) beside it: only an elbow has a reach",
            )
        yield from self._depth_faults(reading)
        outer = reading.outer_diameter
        if outer is not None and self.diameter.mean < outer:
            yield Finding(
                path=("diameter",),
                found=reading.lengths.exact(self.diameter.mean),
                wanted="at least the tube's outer diameter, "
                f"{reading.lengths.exact(outer)}",
            )
        yield from self._bore_faults(reading)

    def _depth_faults(self, reading: Reading) -> Iterator[Finding]:
        """Return the fault of a tube that would go in deeper than the fitting is."""
        room = self.reach if self.turn > 0.0 else self.height
        called = "reach" if self.turn > 0.0 else "height"
        exact = reading.lengths.exact
        if room is not None and self.depth.mean > room.mean:
            yield Finding(
                path=("depth",),
                found=exact(self.depth.mean),
                wanted=f"at most the {called}, {exact(room.mean)}, or the tube's end "
                "would stand inside the component",
            )

    def _bore_faults(self, reading: Reading) -> Iterator[Finding]:
        """Return the fault of a bore that the tube is too thick for, or no bore of it."""
        exact, outer = reading.lengths.exact, reading.outer_diameter
        if self.bore is None:
            return
        if outer is not None and self.bore.mean <= outer:
            yield Finding(
                path=("bore",),
                found=exact(self.bore.mean),
                wanted=f"more than the tube's outer diameter, {exact(outer)}, or it "
                "would not go in: measure both finer, or leave bore out",
            )
        if self.bore.mean >= self.diameter.mean:
            yield Finding(
                path=("bore",),
                found=exact(self.bore.mean),
                wanted="less than the diameter of the fitting's body, "
                f"{exact(self.diameter.mean)}",
            )
