"""Doubts about what a scene says of its coolant."""

from __future__ import annotations

from collections.abc import Iterator

from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Scene
from loopsolver.scene.water import rising_stretches


def water_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return a doubt for every pump whose pressure grows with the flow somewhere."""
    for part in scene.components:
        for (flow, pressure), (more, higher) in rising_stretches(part.water.pump):
            message = (
                f"rises from {pressure:g} kPa at {flow:g} L/min to {higher:g} kPa at "
                f"{more:g} L/min; pumps mostly fall, and with a curve that rises a loop "
                "may have several flows: measure these points again, or take them from "
                "the maker's curve"
            )
            where = f"components.{part.name}.water.pump"
            yield Doubt(kind="pump curve", where=where, message=message)
