"""Drawings that are larger than the paper, as tiles.

`tiled` cuts a drawing into leaves that overlap and carry the marks by which they are
joined.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.drafting.drawing import (
    Arc,
    Circle,
    Drawing,
    Entity,
    Line,
    Place,
    Polygon,
    Text,
    Viewport,
    between,
    moved,
    polar,
)
from loopsolver.drafting.extent import around, box, extent, is_within, overlaps
from loopsolver.drafting.layers import AtJoint, PageLayers
from loopsolver.drafting.paging import Foot, Leaf, Paper, Size, Tile, room
from loopsolver.drafting.placing import NEAR_JOINT, Ground, Joints
from loopsolver.drafting.symbols import cross
from loopsolver.tolerances import ORDER_DECIMALS, WHOLE

OVERLAP: Final = 12.0
"""By how much neighbouring tiles show the same [mm]; they are joined in its middle."""

Array = NDArray[np.float64]

_STEP: Final = 1.0  # between places that are tried for the first tile [mm]
_LETTERED: Final = 40.0  # lettering cut counts like so much contour cut lengthwise [mm]
_BESIDE: Final = 8.0  # a joint so near to a contour runs along it [mm]

_LETTERING: Final = frozenset({PageLayers.NOTE, PageLayers.FRAME})
_BACKGROUND: Final = frozenset({AtJoint.GROUND, AtJoint.BACKGROUND})


def tiles_of(drawing: Drawing, size: Size) -> tuple[Tile, ...]:
    """Return the tiles that cover a drawing on that paper, row by row from the top.

    They overlap by `OVERLAP`. The drawing lies in the middle of them, or where joints
    cut least of its contours lengthwise, and of the lettering.
    """
    (low, high), (room_low, room_high) = (drawing.low, drawing.high), room(size)
    rows = _cuttable(drawing.entities)
    spans = []
    for axis in range(2):
        tile = room_high[axis] - room_low[axis]
        pitch = tile - OVERLAP
        length = high[axis] - low[axis]
        count = max(1, math.ceil((length - OVERLAP) / pitch - WHOLE))
        start = _best_start(
            rows,
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


def _cuttable(entities: Iterable[Entity]) -> Array:
    """Return what a joint had better not cut: contours lengthwise, and lettering, (n, 6).

    Its box, how near a joint may come to it [mm], and 1 for lettering.
    """
    rows = [
        (*box(one), _BESIDE if is_contour else NEAR_JOINT, one.layer in _LETTERING)
        for one in entities
        for is_contour in [one.layer.at_joint is AtJoint.CONTOUR]
        if is_contour or isinstance(one, Text | Circle) or one.layer is PageLayers.FRAME
    ]
    return np.array(rows, dtype=np.float64).reshape(-1, 6)


def _best_start(
    rows: Array, axis: int, *, least: float, most: float, joints: Array
) -> float:
    """Return where along an axis the first tile begins, so that joints cost least.

    The middle of where it may begin, if nothing tells for another place. Every thing
    that a joint runs through or near counts as long as it is along the joint [mm].

    Parameters
    ----------
    least, most : float
        Between which places [mm].
    joints : Array
        How far behind that each joint lies, (n,) [mm].
    """
    middle = (least + most) / 2.0
    if not joints.size or most <= least:
        return middle
    starts = np.append(np.arange(least, most, _STEP), [middle, most])
    places = (starts[:, None] + joints).reshape(-1, 1)
    along = rows[:, 3 - axis] - rows[:, 1 - axis]
    spare, is_lettering = rows[:, 4], rows[:, 5]
    cut = (places > rows[:, axis] - spare) & (places < rows[:, 2 + axis] + spare)
    costs = cut @ (along + _LETTERED * is_lettering)
    summed = costs.reshape(len(starts), -1).sum(axis=1)
    order = np.lexsort((np.abs(starts - middle), np.round(summed, ORDER_DECIMALS)))
    return float(starts[order[0]])


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
    shown = [e for e in drawing.entities if e.layer.at_joint not in _BACKGROUND]
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


def is_lettering(entity: Entity) -> bool:
    """Return whether a thing is of no use cut: words, a numbered disc, the like."""
    return (
        isinstance(entity, Text)
        or (isinstance(entity, Circle) and entity.fill is not None)
        or entity.layer.at_joint is AtJoint.WHOLE
    )


def is_lettering_cut(drawing: Drawing, paper: Paper) -> bool:
    """Return whether any lettering is whole on none of a drawing's pages."""
    tiles = printed_tiles(drawing, paper)
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


def printed_tiles(drawing: Drawing, paper: Paper) -> tuple[Tile, ...]:
    """Return the tiles that a drawing is printed on, the paper laid as is best."""
    return needed_tiles(drawing, best_size(drawing, paper))


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
            case Line() if entity.layer.at_joint is not AtJoint.GROUND:
                ground.take_line(entity.start, entity.end)
            case Arc():
                span_deg = np.linspace(entity.start_deg, entity.end_deg, 12)
                points = [
                    polar(entity.centre, entity.radius, angle_deg)
                    for angle_deg in span_deg
                ]
                ground.take_path(points, half_width=0.4)
            case Text() | Polygon(layer=PageLayers.FRAME):
                ground.take_box(box(entity))
    return ground


def _tile_marks(ground: Ground, tile: Tile, tiles: Sequence[Tile]) -> Iterator[Entity]:
    """Yield the marks by which a tile is joined to its neighbours, on the drawing."""
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
    corners: set[Place] = set()
    for (down, along), start, end in edges:
        other = near.get((tile.row + down, tile.column + along))
        if other is None:
            continue
        names = sorted((tile, other), key=lambda one: (one.row, one.column))
        says = " | ".join(one.name for one in names)
        yield from _joint(start, end, says, ground)
        corners |= {start, end}
    for corner in sorted(corners):
        yield Circle(centre=corner, radius=2.0, layer=PageLayers.PAGE_MARK)
        yield from cross(corner, 4.0, PageLayers.PAGE_MARK)


def _joint(start: Place, end: Place, says: str, ground: Ground) -> Iterator[Entity]:
    """Yield the edge marks of a joint: a dotted line, two diamonds, its name twice.

    Diamonds and names stand off the drawing's lines where there is room.
    """
    yield Line(start=start, end=end, layer=PageLayers.JOINT)
    upright = start[0] == end[0]
    for part in (0.25, 0.75):
        tried = [
            between(start, end, part + by)
            for step in range(10)
            for by in (0.02 * step, -0.02 * step)
        ]
        named = [_named_diamond(place, says, upright=upright) for place in tried]
        free = (one for one in named if ground.is_free(around(extent(one))))
        yield from next(free, named[0])


def _named_diamond(place: Place, says: str, *, upright: bool) -> tuple[Entity, ...]:
    """Return a diamond with a cross, and its joint's name beside it."""
    x, y = place
    diamond = ((x - 2.0, y), (x, y - 2.0), (x + 2.0, y), (x, y + 2.0))
    return (
        Polygon(points=diamond, layer=PageLayers.PAGE_MARK, fill=1.0),
        *cross(place, 2.0, PageLayers.PAGE_MARK),
        Text(
            position=(x + 0.9, y + 3.4) if upright else (x + 3.4, y - 0.9),
            text=says,
            size=1.8,
            angle_deg=90.0 if upright else 0.0,
        ),
    )
