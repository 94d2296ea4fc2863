"""Which parts no longer come out once the tubes are in: what each tube blocks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from loopsolver.assembly.blocking import CASE_WALLS, Build, InPlace
from loopsolver.assembly.swept import Slide, solid_slides_free, tube_slides_free
from loopsolver.geometry.solids import HalfSpace, bounds
from loopsolver.geometry.vectors import Point, dot
from loopsolver.scene.walls import room


def covered_parts(of: Build, open_to: Iterable[Point]) -> dict[str, tuple[str, ...]]:
    """Return the parts that come straight out of the open case, were it not for tubes.

    With the fewest tubes that are in the way. Parts that tubes end at are left out, and
    those that other parts hold: a drive in its cage comes out with the cage or not at all.

    Parameters
    ----------
    of : Build
    open_to : iterable of Points
        Along which axes the case is open.
    """
    sides = tuple(dict.fromkeys(open_to))
    found = {}
    for part in of.scene.components:
        if part.bodies and not any(True for _ in of.joints_on(part.name)):
            ways = _tubes_in_the_way(of, InPlace("part", part.name), sides)
            fewest = min(ways, key=len, default=())
            if fewest:
                found[part.name] = fewest
    return found


def _tubes_in_the_way(
    of: Build, part: InPlace, sides: Iterable[Point]
) -> Iterator[tuple[str, ...]]:
    """Yield the tubes in the way to each side that no part is in the way of."""
    for way in sides:
        slide = Slide(way=way, by=_out_of_room(of, part, way))
        if _is_held(of, part, slide):
            continue
        solids = of.solid_set(part)
        yield tuple(
            name
            for name, curves in of.curves.items()
            if not tube_slides_free(curves, solids, slide.back, radius=of.radius)
        )


def _is_held(of: Build, part: InPlace, slide: Slide) -> bool:
    """Whether another part, its fittings or a wall along the way stops a part."""
    return not all(
        solid_slides_free(one, another, slide)
        for one in of.solids(part)
        for other in of.things
        if other != part and other.kind != "tube"
        for another in of.solids(other)
        if not (
            other == CASE_WALLS
            and isinstance(another, HalfSpace)
            and dot(another.normal, slide.way) < 0.0
        )
    )


def _out_of_room(of: Build, part: InPlace, way: Point) -> float:
    """Return how far a part is wholly out of the room along an axis [mm]."""
    boxes = np.array([bounds(solid) for solid in of.solids(part)])
    axis = int(np.argmax(np.abs(way)))
    low, high = room(of.scene, beyond=0.0)
    if way[axis] > 0.0:
        return float(high[axis] - boxes[:, 0, axis].min())
    return float(boxes[:, 1, axis].max() - low[axis])
