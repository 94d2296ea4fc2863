"""A drawing in true millimetres, for every writer: lines, arcs, lettering, layers.

x runs to the right and y up, as on a drawing board. A `Drawing` has no paper; a `Page`
is a sheet of paper with things on it and viewports onto larger drawings. Writers turn
them into PDF, SVG and DXF and add nothing of their own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum
from typing import Literal

from loopsolver.drafting.layers import Layer, PageLayers

Place = tuple[float, float]
"""A position on the sheet [mm]."""

Anchor = Literal["start", "middle", "end"]
"""Which point of a line of lettering stands at its position."""


class Face(Enum):
    """Lettering: ordinary, or strong for headings and what must be read first."""

    REGULAR = "regular"
    STRONG = "strong"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line."""

    start: Place
    end: Place
    layer: Layer


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A circular arc, counter-clockwise from `start_deg` to `end_deg`.

    Angles are counted from +x; `end_deg` is larger than `start_deg` by at most 360.
    """

    centre: Place
    radius: float
    start_deg: float
    end_deg: float
    layer: Layer


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A full circle; `fill` is a grey (0 black, 1 white) or None for an open one."""

    centre: Place
    radius: float
    layer: Layer
    fill: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Polyline:
    """Straight lines from point to point, open."""

    points: tuple[Place, ...]
    layer: Layer


@dataclass(frozen=True, slots=True, kw_only=True)
class Polygon:
    """A closed outline; `fill` is a grey (0 black, 1 white) or None for an open one.

    On a layer of no line width, such as `PageLayers.SOLID`, the fill alone is drawn.
    """

    points: tuple[Place, ...]
    layer: Layer
    fill: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One line of lettering.

    Attributes
    ----------
    position : Place
        The anchor, on the base line [mm].
    size : float
        Height of the capitals [mm].
    angle_deg : float
        Counter-clockwise from +x.
    grey : float
        0 is black, 1 is white.
    """

    position: Place
    text: str
    size: float
    anchor: Anchor = "start"
    angle_deg: float = 0.0
    face: Face = Face.REGULAR
    grey: float = 0.0
    layer: Layer = PageLayers.NOTE


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A PNG picture in a box whose lower left corner is `position` [mm].

    Left out by the DXF writer: pictures are no part of a true-size drawing.
    """

    position: Place
    width: float
    height: float
    png: bytes
    layer: Layer = PageLayers.NOTE


Entity = Line | Arc | Circle | Polyline | Polygon | Text | Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Entities and the box that they are shown in.

    Attributes
    ----------
    low, high : Place
        Lower left and upper right corner of the box [mm].
    """

    entities: tuple[Entity, ...]
    low: Place
    high: Place

    @property
    def width(self) -> float:
        """Width of the box [mm]."""
        return self.high[0] - self.low[0]

    @property
    def height(self) -> float:
        """Height of the box [mm]."""
        return self.high[1] - self.low[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Viewport:
    """The part of a drawing between `low` and `high`, its lower left corner at `at`.

    At true size, and cut off at its edge.
    """

    drawing: Drawing
    low: Place
    high: Place
    at: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A sheet of paper, its lower left corner at (0, 0).

    `viewports` are drawn first, `entities` on top of them.
    """

    width: float
    height: float
    entities: tuple[Entity, ...]
    viewports: tuple[Viewport, ...] = ()


def polar(centre: Place, radius: float, angle_deg: float) -> Place:
    """Return the point at `radius` from `centre`, `angle_deg` from +x [mm]."""
    angle = math.radians(angle_deg)
    return (
        centre[0] + radius * math.cos(angle),
        centre[1] + radius * math.sin(angle),
    )


def between(start: Place, end: Place, share: float) -> Place:
    """Return the point at a share of the way from one place to another."""
    return (
        start[0] + share * (end[0] - start[0]),
        start[1] + share * (end[1] - start[1]),
    )


def direction_deg(start: Place, end: Place) -> float:
    """Return the direction from one place to another, from +x [degrees]."""
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def moved(entities: Iterable[Entity], by: Place) -> tuple[Entity, ...]:
    """Return entities moved by so much along x and y [mm]."""
    return tuple(_moved(entity, by) for entity in entities)


def _moved(entity: Entity, by: Place) -> Entity:
    """Return one entity moved."""

    def shifted(place: Place) -> Place:
        return (place[0] + by[0], place[1] + by[1])

    match entity:
        case Line(start=start, end=end):
            return replace(entity, start=shifted(start), end=shifted(end))
        case Arc(centre=centre) | Circle(centre=centre):
            return replace(entity, centre=shifted(centre))
        case Polyline(points=points) | Polygon(points=points):
            return replace(entity, points=tuple(shifted(point) for point in points))
        case Text(position=position) | Picture(position=position):
            return replace(entity, position=shifted(position))


def rectangle(
    low: Place, high: Place, *, layer: Layer, fill: float | None = None
) -> Polygon:
    """Return an upright rectangle from its lower left and upper right corner."""
    (left, bottom), (right, top) = low, high
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    return Polygon(points=corners, layer=layer, fill=fill)
