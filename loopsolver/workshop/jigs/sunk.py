"""A flat rectangle with outlines sunk into it, filled slab by slab.

Upright lines through every corner cut the rectangle into slabs, in which outlines only
run across: what lies between two of them is filled at once. Neighbours share all corners
on the line between them, so that the surface has no gaps.

References
----------
F. P. Preparata, M. I. Shamos, Computational Geometry, 1985, section 2.2.2.1, the slab
method.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loopsolver.drafting.drawing import Place
from loopsolver.geometry.vectors import Array
from loopsolver.workshop.jigs.shell import FlatSide, Surface

Corner = tuple[float, float, float]
"""A place on the rectangle, and its height over it [mm]."""

Span = tuple[float, float, bool]
"""From where to where along a line something lies, and whether it is sunk."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """An edge of an outline that is not upright, from left to right."""

    start: Place
    end: Place

    def height(self, x: float) -> float:
        """Return where it is above a place between its ends; exact at both [mm]."""
        (x0, y0), (x1, y1) = self.start, self.end
        if x == x1:
            return y1
        return y0 + (x - x0) / (x1 - x0) * (y1 - y0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Slab:
    """What lies between two upright lines.

    Attributes
    ----------
    sides : pair of float
    borders : tuple of Edge
        From below: the rectangle's own first and last, the pockets' between them.
    """

    sides: tuple[float, float]
    borders: tuple[Edge, ...]

    def spans(self, side: int) -> list[Span]:
        """Return what lies along its left (0) or right (1) side, from below."""
        heights = [one.height(self.sides[side]) for one in self.borders]
        return [
            (low, high, number % 2 == 1)
            for number, (low, high) in enumerate(pairwise(heights))
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sunk:
    """A rectangle with outlines sunk into it.

    Attributes
    ----------
    outline : Array, (n, 3)
        The rectangle's, counter-clockwise, with the corners that its filling needs [mm].
    surface : Surface
        The rectangle with its pockets.
    """

    outline: Array
    surface: Surface


def sunk(
    outlines: Sequence[Sequence[Place]],
    *,
    low: Place,
    high: Place,
    depth: float,
    ground: FlatSide,
    height: float,
) -> Sunk:
    """Return a rectangle with outlines sunk into it; an outline in another is an island.

    Parameters
    ----------
    outlines : sequence of sequences of Place
        On the face, along its right and up from the origin; they do not cross [mm].
    low, high : Place
        Corners of the rectangle, which holds all outlines [mm].
    depth : float
        Of the pockets [mm].
    ground : FlatSide
    height : float
        Of the face along its normal from the origin [mm].
    """
    edges = [
        Edge(start=min(ends), end=max(ends))
        for outline in outlines
        for ends in zip(outline, [*outline[1:], outline[0]], strict=True)
        if ends[0][0] != ends[1][0]
    ]
    lines = sorted({low[0], high[0], *(x for one in outlines for x, _ in one)})
    frame = [Edge(start=(low[0], y), end=(high[0], y)) for y in (low[1], high[1])]
    slabs = list(_slabs(lines, edges, frame))
    corners = _corners_on(lines, slabs)
    triangles = [
        *(one for slab in slabs for one in _filled(slab, corners, depth)),
        *(one for slab in slabs for one in _walls_across(slab, depth)),
        *_walls_along(lines, slabs, corners, depth),
    ]
    axes, base = ground.axes, np.array([0.0, 0.0, height])
    rim = [(x, low[1], 0.0) for x in lines] + [(x, high[1], 0.0) for x in lines[::-1]]
    return Sunk(
        outline=(np.array(rim) + base) @ axes,
        surface=(np.array(triangles) + base) @ axes,
    )


def _slabs(
    lines: Sequence[float], edges: Sequence[Edge], frame: Sequence[Edge]
) -> Iterator[Slab]:
    """Yield what lies between one line and the next, from the left."""
    to_come = sorted(edges, key=lambda one: one.start, reverse=True)
    across: list[Edge] = []
    for left, right in pairwise(lines):
        across = [one for one in across if one.end[0] > left]
        while to_come and to_come[-1].start[0] <= left:
            across.append(to_come.pop())
        across.sort(key=lambda one: one.height(left) + one.height(right))
        yield Slab(sides=(left, right), borders=(frame[0], *across, frame[1]))


def _corners_on(
    lines: Sequence[float], slabs: Sequence[Slab]
) -> dict[float, list[float]]:
    """Return the heights of all corners on each line, from below."""
    found: dict[float, set[float]] = {x: set() for x in lines}
    for slab in slabs:
        for x in slab.sides:
            found[x] |= {one.height(x) for one in slab.borders}
    return {x: sorted(heights) for x, heights in found.items()}


def _filled(
    slab: Slab, corners: dict[float, list[float]], depth: float
) -> Iterator[tuple[Corner, Corner, Corner]]:
    """Yield the level surfaces in a slab: of the face, and of the pockets' floors."""
    for left, right in zip(slab.spans(0), slab.spans(1), strict=True):
        z = -depth if left[2] else 0.0
        chains = (
            [(x, y, z) for y in corners[x] if low <= y <= high]
            for x, (low, high, _) in zip(slab.sides, (left, right), strict=True)
        )
        yield from _between(*chains)


def _between(
    left: list[Corner], right: list[Corner]
) -> Iterator[tuple[Corner, Corner, Corner]]:
    """Yield triangles between corners on two upright lines, both from below."""
    for start, end in pairwise(right):
        yield left[0], start, end
    for start, end in pairwise(left):
        yield start, right[-1], end


def _walls_across(slab: Slab, depth: float) -> Iterator[tuple[Corner, Corner, Corner]]:
    """Yield the pockets' walls along the outlines that run across a slab."""
    x0, x1 = slab.sides
    for number, edge in enumerate(slab.borders[1:-1], start=1):
        start, end = (x0, edge.height(x0)), (x1, edge.height(x1))
        has_pocket_above = number % 2 == 1
        yield from _wall(*((start, end) if has_pocket_above else (end, start)), depth)


def _walls_along(
    lines: Sequence[float],
    slabs: Sequence[Slab],
    corners: dict[float, list[float]],
    depth: float,
) -> Iterator[tuple[Corner, Corner, Corner]]:
    """Yield the pockets' walls along the lines between slabs."""
    for x, (before, after) in zip(lines[1:-1], pairwise(slabs), strict=True):
        sides = before.spans(1), after.spans(0)
        for low, high in pairwise(corners[x]):
            is_left, is_right = (_is_sunk(spans, low, high) for spans in sides)
            if is_left and not is_right:
                yield from _wall((x, low), (x, high), depth)
            elif is_right and not is_left:
                yield from _wall((x, high), (x, low), depth)


def _is_sunk(spans: Sequence[Span], low: float, high: float) -> bool:
    """Return whether a stretch of a line lies in something sunk."""
    return any(sunk for start, end, sunk in spans if start <= low and high <= end)


def _wall(
    start: Place, end: Place, depth: float
) -> Iterator[tuple[Corner, Corner, Corner]]:
    """Yield a wall down from a line that is walked with the pocket at the left."""
    a, b, c, d = (*start, 0.0), (*end, 0.0), (*end, -depth), (*start, -depth)
    yield a, b, c
    yield a, c, d
