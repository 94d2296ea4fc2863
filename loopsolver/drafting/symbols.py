"""Symbols on a drawing: numbers in discs, lettering on cleared ground, arrow heads."""

from __future__ import annotations

from typing import Final

from loopsolver.drafting.drawing import (
    Anchor,
    Circle,
    Entity,
    Face,
    Line,
    Place,
    Polygon,
    Text,
    polar,
)
from loopsolver.drafting.extent import turned
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import ANCHOR, text_width

_ARROW: Final = (2.4, 0.45)  # length and half width of an arrow head [mm]
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
    """Return a number in a disc, lettered so that it stands out from the fill.

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


def lettered(
    text: str,
    position: Place,
    *,
    size: float,
    anchor: Anchor = "start",
    angle_deg: float = 0.0,
    face: Face = Face.REGULAR,
) -> tuple[Entity, ...]:
    """Return a line of lettering on ground that is cleared of the grid."""
    width = text_width(text, size, face)
    left = -width * ANCHOR[anchor] - 0.5
    flat = (left, -0.4 * size, left + width + 1.0, 1.3 * size)
    ground = turned(flat, position, angle_deg)
    return (
        Polygon(points=ground, layer=PageLayers.SOLID, fill=1.0),
        Text(
            position=position,
            text=text,
            size=size,
            anchor=anchor,
            angle_deg=angle_deg,
            face=face,
        ),
    )


def readable_deg(angle_deg: float) -> float:
    """Return a direction or its opposite, so that lettering along it is not on its head.

    Upright lettering reads from the right.
    """
    turned_deg = angle_deg % 360.0
    return turned_deg - 180.0 if 95.0 < turned_deg <= 275.0 else turned_deg


def arrow_head(tip: Place, heading_deg: float) -> Polygon:
    """Return a filled arrow head that points along a direction."""
    length, half = _ARROW
    back = polar(tip, -length, heading_deg)
    return Polygon(
        points=(
            tip,
            polar(back, half, heading_deg + 90.0),
            polar(back, half, heading_deg - 90.0),
        ),
        layer=PageLayers.DIMENSION,
        fill=0.0,
    )


def cross(place: Place, arm: float, layer: Layer) -> tuple[Line, Line]:
    """Return an upright cross, each of its arms so long [mm]."""
    x, y = place
    return (
        Line(start=(x - arm, y), end=(x + arm, y), layer=layer),
        Line(start=(x, y - arm), end=(x, y + arm), layer=layer),
    )


def spoke(
    centre: Place, reach: tuple[float, float], angle_deg: float, layer: Layer
) -> Line:
    """Return a line along a direction, from one distance to another [mm]."""
    start, end = (polar(centre, radius, angle_deg) for radius in reach)
    return Line(start=start, end=end, layer=layer)
