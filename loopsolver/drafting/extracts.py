"""Parts of drawings that go on a page as a whole, several on one page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.drafting.drawing import Drawing, Entity, Place, Viewport, moved
from loopsolver.drafting.paging import Foot, Leaf, Size, room
from loopsolver.tolerances import ROUNDING

_BETWEEN: Final = 4.0  # [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Extract:
    """Something that goes on a page as a whole: part of a drawing, and marks on it.

    Attributes
    ----------
    viewport : Viewport
        Its lower left corner at (0, 0).
    marks : tuple of Entity
        Drawn over it, in the same place.
    """

    viewport: Viewport
    marks: tuple[Entity, ...] = ()

    @property
    def size(self) -> Size:
        """Width and height [mm]."""
        low, high = self.viewport.low, self.viewport.high
        return (high[0] - low[0], high[1] - low[1])


def whole_drawing(drawing: Drawing) -> Extract:
    """Return a whole drawing as one extract."""
    return Extract(
        viewport=Viewport(
            drawing=drawing, low=drawing.low, high=drawing.high, at=(0.0, 0.0)
        )
    )


def pages_of_extracts(
    extracts: Sequence[Extract], *, size: Size, foot: Foot
) -> tuple[Leaf, ...]:
    """Return pages with extracts one under the other, from the top, in their order."""
    low, high = room(size)
    pages: list[list[tuple[Extract, Place]]] = []
    top = -math.inf
    for extract in extracts:
        bottom = top - extract.size[1]
        if not pages or bottom < low[1] - ROUNDING:
            pages.append([])
            bottom = high[1] - extract.size[1]
        pages[-1].append((extract, (low[0], bottom)))
        top = bottom - _BETWEEN
    return tuple(
        Leaf(
            size=size,
            foot=foot,
            viewports=tuple(replace(extract.viewport, at=at) for extract, at in page),
            entities=tuple(
                entity for extract, at in page for entity in moved(extract.marks, at)
            ),
        )
        for page in pages
    )
