"""The cut plan, drawn: a picture of each stock tube with its pieces and saw cuts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from loopsolver.cutting.cut_plan import Cut, CutPlan, StockTube
from loopsolver.drafting.blocks import BODY, Block, space, stacked
from loopsolver.drafting.drawing import Entity, Face, Line, Text, rectangle
from loopsolver.drafting.lettering import cut_to_width, text_width
from loopsolver.lengths import Lengths
from loopsolver.tolerances import TOUCH
from loopsolver.workshop.layers import Layers

_BAR: Final = 12.5  # height of a stock tube on the drawing [mm]
_LETTERS: Final = 2.2  # height of capitals in it [mm]
_SLIM: Final = 2.0  # the same in a piece that is lettered across [mm]
_HATCH: Final = 2.5  # distance of the lines through a leftover [mm]


def cut_plan_blocks(
    plan: CutPlan, *, width: float, lengths: Lengths
) -> tuple[Block, ...]:
    """Return a picture of each stock tube, drawn so long that it fills the width.

    Parameters
    ----------
    width : float
        Of the page [mm].
    lengths : Lengths
        What the lengths are written in.
    """
    return tuple(
        stacked([_tube_picture(number, tube, width=width, lengths=lengths), space(3.0)])
        for number, tube in enumerate(plan.tubes, start=1)
    )


def _tube_picture(
    number: int, tube: StockTube, *, width: float, lengths: Lengths
) -> Block:
    """Return one stock tube with its pieces, saw cuts and leftover."""
    scale = width / tube.stock_length
    top = -BODY - 2.2
    said = f"left over: {lengths.plain(tube.leftover)}"
    shapes: list[Entity] = [
        Text(position=(0.0, -BODY), text=f"Tube {number}", size=BODY, face=Face.STRONG),
        Text(position=(width, -BODY), text=said, size=BODY, anchor="end"),
        *_hatched(scale * (tube.cuts[-1].end + tube.kerf), width, top),
    ]
    for cut in tube.cuts:
        shapes += _piece_picture(cut, scale, top, lengths)
        if cut.end < tube.stock_length - TOUCH:
            saw = max(scale * tube.kerf, 0.4)
            start = min(scale * cut.end, width - saw)
            box = ((start, top - _BAR), (start + saw, top))
            shapes.append(rectangle(*box, layer=Layers.SOLID, fill=0.0))
    shapes.append(rectangle((0.1, top - _BAR), (width - 0.1, top), layer=Layers.CUT))
    return Block(entities=tuple(shapes), height=_BAR - top)


def _piece_picture(
    cut: Cut, scale: float, top: float, lengths: Lengths
) -> Iterator[Entity]:
    """Yield one piece: its key, as much of its name as there is room for, its length."""
    left, right = scale * cut.start, scale * cut.end
    room = right - left - 1.6
    fill = 0.9 if cut.piece.spare else 1.0
    yield rectangle((left, top - _BAR), (right, top), layer=Layers.SOLID, fill=fill)
    middle = (left + right) / 2.0
    key, length = cut.piece.key, lengths.plain(cut.piece.length)
    bare = lengths.number(cut.piece.length)
    if text_width(bare, _LETTERS) > room:
        yield from _upright(f"{key}: {bare}", middle, top, room)
        return
    name = f"{key} {cut.piece.label}"
    fits = room > text_width(f"{key} xxxxx", _LETTERS, Face.STRONG)
    yield Text(
        position=(middle, top - 5.0),
        text=cut_to_width(
            name if fits else key, width=room, size=_LETTERS, face=Face.STRONG
        ),
        size=_LETTERS,
        anchor="middle",
        face=Face.STRONG,
    )
    yield Text(
        position=(middle, top - 9.8),
        text=length if text_width(length, _LETTERS) <= room else bare,
        size=_LETTERS,
        anchor="middle",
    )


def _upright(words: str, middle: float, top: float, room: float) -> Iterator[Text]:
    """Yield the lettering of a piece too narrow to be lettered along, if it fits at all."""
    size = _SLIM if text_width(words, _LETTERS) > _BAR - 1.0 else _LETTERS
    if room >= size - 1.0:
        yield Text(
            position=(middle + size / 2.0, top - _BAR / 2.0),
            text=cut_to_width(words, width=_BAR - 1.0, size=size),
            size=size,
            anchor="middle",
            angle_deg=90.0,
        )


def _hatched(left: float, right: float, top: float) -> Iterator[Line]:
    """Yield the slanting lines through what is left over."""
    start = left - _BAR
    for index in range(math.ceil((right - start) / _HATCH)):
        foot = start + _HATCH * index
        low, high = max(foot, left), min(foot + _BAR, right)
        if high > low:
            yield Line(
                start=(low, top - _BAR + low - foot),
                end=(high, top - _BAR + high - foot),
                layer=Layers.BODY,
            )
