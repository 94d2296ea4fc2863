"""A number in a disc: how bends are named on every sheet."""

from __future__ import annotations

from typing import Final

from loopsolver.drafting.drawing import Circle, Entity, Face, Place, Text
from loopsolver.drafting.layers import Layer, PageLayers

_CAPITALS: Final = 0.95  # height of a single digit, in radii of the disc
_TWO_DIGITS: Final = 0.75  # the same of two


def numbered_disc(
    centre: Place,
    number: int,
    *,
    radius: float,
    fill: float = 0.0,
    layer: Layer = PageLayers.NOTE,
) -> tuple[Entity, ...]:
    """Return a bend's number in a disc, lettered so that it stands out from the fill.

    Parameters
    ----------
    radius : float
        [mm].
    fill : float
        0 for a black disc, 1 for a white one.
    """
    says = str(number)
    size = radius * (_CAPITALS if len(says) == 1 else _TWO_DIGITS)
    return (
        Circle(centre=centre, radius=radius, layer=layer, fill=fill),
        Text(
            position=(centre[0], centre[1] - size / 2.0),
            text=says,
            size=size,
            anchor="middle",
            face=Face.STRONG,
            grey=1.0 - fill,
        ),
    )
