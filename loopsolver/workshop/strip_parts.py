"""A wrap strip in parts that fit across the paper, to be joined end to end."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from loopsolver.drafting.drawing import (
    Circle,
    Drawing,
    Entity,
    Line,
    Polygon,
    Text,
    Viewport,
)
from loopsolver.drafting.extent import box
from loopsolver.drafting.lettering import text_width
from loopsolver.drafting.paging import Extract, Size, room
from loopsolver.drafting.symbols import cross
from loopsolver.drafting.tiling import OVERLAP, uncut
from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import MICROMETRE, WHOLE
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.wrap import FLAP

_INSET: Final = OVERLAP / 2.0  # parts are joined in the middle of what both show [mm]
_SMALL: Final = 1.9  # height of capitals [mm]
_ARM: Final = 2.2  # half the width of the cross on a joint [mm]


def strip_extracts(strip: Drawing, size: Size) -> tuple[Extract, ...]:
    """Return the strip in as few parts as that paper needs.

    Neighbours overlap by `tiling.OVERLAP`, and are joined where no lettering is cut if
    there is such a place.
    """
    low, high = room(size)
    places = _joints(strip, wide=high[0] - low[0])
    lefts = (strip.low[0], *(x - _INSET for x in places))
    rights = (*(x + _INSET for x in places), strip.high[0])
    viewports = uncut(
        [
            Viewport(
                drawing=strip,
                low=(left, strip.low[1]),
                high=(right, strip.high[1]),
                at=(0.0, 0.0),
            )
            for left, right in zip(lefts, rights, strict=True)
        ]
    )
    return tuple(
        (viewport, tuple(_marks(number, len(viewports), viewport)))
        for number, viewport in enumerate(viewports, start=1)
    )


def _joints(strip: Drawing, *, wide: float) -> tuple[float, ...]:
    """Return where parts no wider than `wide` are joined [mm along the strip].

    In one part more than there need be, if no joint then strikes lettering.
    """
    pitch = wide - OVERLAP
    count = max(1, math.ceil((strip.width - OVERLAP) / pitch - WHOLE))
    lettered = np.array(
        [
            box(one)[0:3:2]
            for one in strip.entities
            if isinstance(one, Text | Circle)
            or (isinstance(one, Polygon) and one.layer is Layers.WINDOW)
        ]
    ).reshape(-1, 2)
    tried = [
        _clearest(strip, lettered, count=parts, pitch=pitch)
        for parts in (count, count + 1)
    ]
    return max(
        tried,
        key=lambda joints: round(
            _clear(lettered, joints).min(initial=_ARM), MICROMETRE
        ),
    )


def _clearest(
    strip: Drawing, lettered: Array, *, count: int, pitch: float
) -> tuple[float, ...]:
    """Return the joints between so many parts, each as far on as it is clear.

    Parameters
    ----------
    lettered : (n, 2) array
        From where to where lettering reaches [mm].
    """
    joints: list[float] = []
    for index in range(1, count):
        before = joints[-1] if joints else strip.low[0] + _INSET
        least = strip.high[0] - _INSET - (count - index) * pitch
        furthest = before + pitch
        least = max(least, before + 1.0)
        tried = np.append(np.arange(furthest, least, -0.5), least)
        joints.append(float(tried[np.argmax(_clear(lettered, tried))]))
    return tuple(joints)


def _clear(lettered: Array, joints: ArrayLike) -> Array:
    """Return how far from lettering each joint is, no more than will do [mm]."""
    places = np.asarray(joints, dtype=np.float64)
    away = np.maximum(lettered[:, :1] - places, places - lettered[:, 1:])
    clear: Array = away.min(axis=0, initial=_ARM)
    return clear


def _marks(number: int, count: int, part: Viewport) -> Iterator[Entity]:
    """Yield the marks on one part: its name, and its joints."""
    left, height = part.low[0], part.drawing.height
    width = part.high[0] - left
    windows = (
        box(one)
        for one in part.drawing.entities
        if isinstance(one, Polygon) and one.layer is Layers.WINDOW
    )
    flap = part.high[1] - FLAP
    taken = [(low - left, high - left) for low, _, high, top in windows if top > flap]
    yield from _part_name(number, count, width, height, taken)
    if number > 1:
        yield from _joint(_INSET, height, f"{number - 1} | {number}")
    if number < count:
        yield from _joint(width - _INSET, height, f"{number} | {number + 1}")


def _part_name(
    number: int,
    count: int,
    width: float,
    height: float,
    taken: Sequence[tuple[float, float]],
) -> Iterator[Text]:
    """Yield which part of the strip this is and what its flap is for, on the flap.

    Nowhere where something is cut out, `taken`.
    """
    part = f"part {number} of {count}; " if count > 1 else ""
    for says in (f"{part}flap, goes under the other edge", part.rstrip("; ")):
        wide = text_width(says, _SMALL)
        for x in np.arange(OVERLAP + 12.0, width - 6.0 - wide, 2.0):
            if says and all(
                high + 1.0 < x or x + wide + 1.0 < low for low, high in taken
            ):
                at = (float(x), height - FLAP / 2.0 - 1.9)
                yield Text(position=at, text=says, size=_SMALL)
                return


def _joint(x: float, height: float, says: str) -> Iterator[Entity]:
    """Yield where two parts are joined: a dotted line with two crosses, and its name."""
    yield Line(start=(x, 0.0), end=(x, height), layer=Layers.JOINT)
    at = (x + 2.6, height - FLAP / 2.0 - 1.4)
    yield Text(position=at, text=says, size=1.8)
    for y in (0.35 * height, height - FLAP / 2.0 - 1.0):
        yield Circle(centre=(x, y), radius=1.2, layer=Layers.PAGE_MARK)
        yield from cross((x, y), _ARM, Layers.PAGE_MARK)
