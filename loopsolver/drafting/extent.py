"""How far entities reach: the upright box round each, lettering measured."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache

from loopsolver.drafting.drawing import (
    Arc,
    Circle,
    Drawing,
    Entity,
    Line,
    Picture,
    Place,
    Polygon,
    Polyline,
    Text,
    polar,
)
from loopsolver.drafting.lettering import ANCHOR, text_width

Extent = tuple[float, float, float, float]
"""Left, bottom, right, top [mm]."""

_DESCENT = 0.33  # below the base line, over the height of the capitals


def around(points: Iterable[Place]) -> Extent:
    """Return the box round points."""
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def _arc_box(arc: Arc) -> Extent:
    """Return the box round an arc: its ends, and the quarter points that it passes."""
    first, last = math.ceil(arc.start_deg / 90.0), math.floor(arc.end_deg / 90.0)
    quarters_deg = [90.0 * quarter for quarter in range(first, last + 1)]
    angles_deg = [arc.start_deg, arc.end_deg, *quarters_deg]
    return around(polar(arc.centre, arc.radius, angle_deg) for angle_deg in angles_deg)


def box_round(centre: Place, half_width: float, half_height: float) -> Extent:
    """Return the upright box round a place."""
    x, y = centre
    return (x - half_width, y - half_height, x + half_width, y + half_height)


def turned(box: Extent, position: Place, angle_deg: float) -> tuple[Place, ...]:
    """Return the corners of a box as it lies where its origin is moved and turned."""
    left, bottom, right, top = box
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    turn = math.radians(angle_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    x, y = position
    return tuple(
        (x + along * cos - up * sin, y + along * sin + up * cos)
        for along, up in corners
    )


def _text_box(text: Text) -> Extent:
    """Return the box round a line of lettering, turned as it is."""
    width = text_width(text.text, text.size, text.face)
    left = -width * ANCHOR[text.anchor]
    flat = (left, -_DESCENT * text.size, left + width, text.size)
    return around(turned(flat, text.position, text.angle_deg))


@lru_cache(maxsize=65536)
def box(entity: Entity) -> Extent:
    """Return the upright box round an entity, its line width left out."""
    match entity:
        case Line(start=start, end=end):
            return around((start, end))
        case Arc():
            return _arc_box(entity)
        case Circle(centre=centre, radius=radius):
            return box_round(centre, radius, radius)
        case Polyline(points=points) | Polygon(points=points):
            return around(points)
        case Text():
            return _text_box(entity)
        case Picture(position=(x, y), width=width, height=height):
            return (x, y, x + width, y + height)


def extent(entities: Iterable[Entity]) -> tuple[Place, Place]:
    """Return the lower left and upper right corner of the box round all entities."""
    left, bottom, right, top = zip(*map(box, entities), strict=True)
    return (min(left), min(bottom)), (max(right), max(top))


def framed(entities: Sequence[Entity], edge: float) -> Drawing:
    """Return entities as a drawing with an edge of that width round them [mm]."""
    low, high = extent(entities)
    return Drawing(
        entities=tuple(entities),
        low=(low[0] - edge, low[1] - edge),
        high=(high[0] + edge, high[1] + edge),
    )


def overlaps(entity: Entity, low: Place, high: Place) -> bool:
    """Return whether an entity's box, with a line's width to spare, meets a box."""
    left, bottom, right, top = box(entity)
    spare = 1.0
    return (
        left - spare <= high[0]
        and right + spare >= low[0]
        and bottom - spare <= high[1]
        and top + spare >= low[1]
    )


def is_within(box: Extent, low: Place, high: Place) -> bool:
    """Return whether a box lies inside another, given by two corners."""
    left, bottom, right, top = box
    return low[0] <= left and right <= high[0] and low[1] <= bottom and top <= high[1]
