"""How far entities reach: the upright box round each, lettering measured."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache

from loopsolver.drafting.drawing import (
    Arc,
    Circle,
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


def _text_box(text: Text) -> Extent:
    """Return the box round a line of lettering, turned as it is."""
    width = text_width(text.text, text.size, text.face)
    left = -width * ANCHOR[text.anchor]
    angle = math.radians(text.angle_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    x, y = text.position
    corners = [
        (along, up)
        for along in (left, left + width)
        for up in (-_DESCENT * text.size, text.size)
    ]
    return around(
        (x + along * cos - up * sin, y + along * sin + up * cos)
        for along, up in corners
    )


@lru_cache(maxsize=65536)
def box(entity: Entity) -> Extent:
    """Return the upright box round an entity, its line width left out."""
    match entity:
        case Line(start=start, end=end):
            return around((start, end))
        case Arc():
            return _arc_box(entity)
        case Circle(centre=(x, y), radius=radius):
            return (x - radius, y - radius, x + radius, y + radius)
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
