"""Drawings that are larger than the paper, as tiles.

`tiled` cuts a drawing into leaves that overlap and carry the marks by which they are
joined.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from loopsolver.drafting.drawing import (
    Arc,
    Circle,
    Drawing,
    Entity,
    Line,
    Picture,
    Place,
    Polygon,
    Text,
    Viewport,
    moved,
    polar,
)
from loopsolver.drafting.extent import around, box, extent, is_within, overlaps
from loopsolver.drafting.layers import AtJoint, PageLayers
from loopsolver.drafting.paging import Foot, Leaf, Paper, Size, Tile, room
from loopsolver.drafting.placing import Ground, Joints
from loopsolver.drafting.tile_placing import Cuttable, best_start
from loopsolver.tolerances import WHOLE

OVERLAP: Final = 12.0
"""By how much neighbouring tiles show the same [mm]; they are joined in its middle."""

_BACKGROUND: Final = frozenset({AtJoint.GROUND, AtJoint.BACKGROUND})


def tile_grid(
    low: Place, high: Place, size: Size, *, entities: Iterable[Entity] = ()
) -> tuple[Tile, ...]:
    """Return the tiles that cover a box of a drawing, row by row from the top.

    They overlap by `OVERLAP`. The box lies in the middle of them, or where joints cut
    least of its contours lengthwise, and of the lettering, among `entities`.
    """
    cuttable = Cuttable(entities)
    room_low, room_high = room(size)
    spans = []
    for axis in range(2):
        tile = room_high[axis] - room_low[axis]
        pitch = tile - OVERLAP
        length = high[axis] - low[axis]
        count = max(1, math.ceil((length - OVERLAP) / pitch - WHOLE))
        start = best_start(
            cuttable,
            axis,
            least=high[axis] - count * pitch - OVERLAP,
            most=low[axis],
            joints=pitch * np.arange(1.0, count) + OVERLAP / 2.0,
        )
        spans.append(
            [(start + pitch * i, start + pitch * i + tile) for i in range(count)]
        )
    across, up = spans
    return tuple(
        Tile(row=row, column=column, low=(left, bottom), high=(right, top))
        for row, (bottom, top) in enumerate(reversed(up))
        for column, (left, right) in enumerate(across)
    )


def tiles_of(drawing: Drawing, size: Size) -> tuple[Tile, ...]:
    """Return the tiles that cover a drawing on that paper."""
    return tile_grid(drawing.low, drawing.high, size, entities=drawing.entities)


def joints_of(tiles: Sequence[Tile]) -> Joints:
    """Return where neighbouring tiles are joined: all x, then all y [mm]."""
    lefts = sorted({tile.low[0] for tile in tiles})
    bottoms = sorted({tile.low[1] for tile in tiles})
    return (
        tuple(left + OVERLAP / 2.0 for left in lefts[1:]),
        tuple(bottom + OVERLAP / 2.0 for bottom in bottoms[1:]),
    )


def needed_tiles(drawing: Drawing, size: Size) -> tuple[Tile, ...]:
    """Return the tiles of a drawing on that paper that show more than its background."""
    tiles = tiles_of(drawing, size)
    if len(tiles) == 1:
        return tiles
    shown = [e for e in drawing.entities if _stands_out(e)]
    inset = OVERLAP / 2.0
    return tuple(
        tile
        for tile in tiles
        if any(
            overlaps(
                entity,
                (tile.low[0] + inset, tile.low[1] + inset),
                (tile.high[0] - inset, tile.high[1] - inset),
            )
            for entity in shown
        )
    )


def _stands_out(entity: Entity) -> bool:
    """Return whether an entity is worth a page: no grid, bare area or leader."""
    return isinstance(entity, Picture) or entity.layer.at_joint not in _BACKGROUND


def is_lettering(entity: Entity) -> bool:
    """Return whether a thing is of no use cut: words, a numbered disc, the like."""
    if isinstance(entity, Picture):
        return False
    return (
        isinstance(entity, Text)
        or (isinstance(entity, Circle) and entity.fill is not None)
        or entity.layer.at_joint is AtJoint.WHOLE
    )


def is_lettering_cut(drawing: Drawing, paper: Paper) -> bool:
    """Return whether any lettering is whole on none of a drawing's pages."""
    tiles = needed_tiles(drawing, best_size(drawing, paper))
    return not all(
        any(is_within(box(entity), tile.low, tile.high) for tile in tiles)
        for entity in drawing.entities
        if is_lettering(entity)
    )


def uncut(viewports: Sequence[Viewport]) -> tuple[Viewport, ...]:
    """Return viewports onto one drawing without the lettering that their edges cut.

    Lettering that no viewport shows whole stays.
    """
    shown = viewports[0].drawing.entities
    lettering = [i for i, entity in enumerate(shown) if is_lettering(entity)]
    whole = [
        {i for i in lettering if is_within(box(shown[i]), one.low, one.high)}
        for one in viewports
    ]
    elsewhere = set().union(*whole)
    return tuple(
        replace(
            viewport,
            drawing=replace(
                viewport.drawing,
                entities=tuple(
                    entity
                    for i, entity in enumerate(shown)
                    if i in here or i not in elsewhere
                ),
            ),
        )
        for viewport, here in zip(viewports, whole, strict=True)
    )


def best_size(drawing: Drawing, paper: Paper) -> Size:
    """Return the way to lay the paper that needs fewer pages; upright where equal."""
    return min(paper.sizes, key=lambda size: len(needed_tiles(drawing, size)))


def tiled(drawing: Drawing, *, paper: Paper, foot: Foot) -> tuple[Leaf, ...]:
    """Return a drawing as leaves at true size, the paper laid so that few are needed."""
    size = best_size(drawing, paper)
    tiles = needed_tiles(drawing, size)
    low, _ = room(size)
    ground = _ground(drawing) if len(tiles) > 1 else Ground()
    viewports = uncut(
        [
            Viewport(drawing=drawing, low=tile.low, high=tile.high, at=low)
            for tile in tiles
        ]
    )
    return tuple(
        Leaf(
            size=size,
            foot=foot,
            viewports=(viewport,),
            entities=moved(
                _tile_marks(ground, tile, tiles),
                (low[0] - tile.low[0], low[1] - tile.low[1]),
            ),
            tiles=tiles,
            tile=tile,
        )
        for tile, viewport in zip(tiles, viewports, strict=True)
    )


def _ground(drawing: Drawing) -> Ground:
    """Return where a drawing has room for the names of joints."""
    ground = Ground()
    for entity in drawing.entities:
        match entity:
            case Line(layer=layer) if layer.at_joint is AtJoint.GROUND:
                continue
            case Line(start=start, end=end):
                ground.take_line(start, end)
            case Arc():
                span_deg = np.linspace(entity.start_deg, entity.end_deg, 12)
                points = [
                    polar(entity.centre, entity.radius, angle_deg)
                    for angle_deg in span_deg
                ]
                ground.take_path(points, half_width=0.4)
            case Text():
                ground.take_box(box(entity))
            case Polygon(layer=PageLayers.FRAME):
                ground.take_box(box(entity))
            case _:
                continue
    return ground


def _tile_marks(
    ground: Ground, tile: Tile, tiles: Sequence[Tile]
) -> tuple[Entity, ...]:
    """Return the marks by which a tile is joined to its neighbours, on the drawing."""
    near = {(other.row, other.column): other for other in tiles}
    inset = OVERLAP / 2.0
    left, bottom = tile.low[0] + inset, tile.low[1] + inset
    right, top = tile.high[0] - inset, tile.high[1] - inset
    edges = (
        ((0, -1), (left, bottom), (left, top)),
        ((0, 1), (right, bottom), (right, top)),
        ((-1, 0), (left, top), (right, top)),
        ((1, 0), (left, bottom), (right, bottom)),
    )
    marks: list[Entity] = []
    corners: set[Place] = set()
    for (down, along), start, end in edges:
        other = near.get((tile.row + down, tile.column + along))
        if other is None:
            continue
        names = sorted((tile, other), key=lambda one: (one.row, one.column))
        says = " | ".join(one.name for one in names)
        marks += _joint(start, end, says, ground)
        corners |= {start, end}
    for corner in sorted(corners):
        marks += _corner_mark(corner)
    return tuple(marks)


def _joint(start: Place, end: Place, says: str, ground: Ground) -> list[Entity]:
    """Return the edge marks of a joint: a dotted line, two diamonds, its name twice.

    Diamonds and names stand off the drawing's lines where there is room.
    """
    marks: list[Entity] = [Line(start=start, end=end, layer=PageLayers.JOINT)]
    (x0, y0), (x1, y1) = start, end
    upright = x0 == x1
    for part in (0.25, 0.75):
        tried = [
            (x0 + (part + by) * (x1 - x0), y0 + (part + by) * (y1 - y0))
            for step in range(10)
            for by in (0.02 * step, -0.02 * step)
        ]
        named = [_named_diamond(place, says, upright=upright) for place in tried]
        free = (one for one in named if ground.is_free(around(extent(one))))
        marks += next(free, named[0])
    return marks


def _named_diamond(place: Place, says: str, *, upright: bool) -> tuple[Entity, ...]:
    """Return a diamond with a cross, and its joint's name beside it."""
    x, y = place
    diamond = ((x - 2.0, y), (x, y - 2.0), (x + 2.0, y), (x, y + 2.0))
    return (
        Polygon(points=diamond, layer=PageLayers.PAGE_MARK, fill=1.0),
        Line(start=(x - 2.0, y), end=(x + 2.0, y), layer=PageLayers.PAGE_MARK),
        Line(start=(x, y - 2.0), end=(x, y + 2.0), layer=PageLayers.PAGE_MARK),
        Text(
            position=(x + 0.9, y + 3.4) if upright else (x + 3.4, y - 0.9),
            text=says,
            size=1.8,
            angle_deg=90.0 if upright else 0.0,
        ),
    )


def _corner_mark(corner: Place) -> list[Entity]:
    """Return a ring with a cross through it, its middle on a corner of the tile."""
    x, y = corner
    return [
        Circle(centre=corner, radius=2.0, layer=PageLayers.PAGE_MARK),
        Line(start=(x - 4.0, y), end=(x + 4.0, y), layer=PageLayers.PAGE_MARK),
        Line(start=(x, y - 4.0), end=(x, y + 4.0), layer=PageLayers.PAGE_MARK),
    ]
