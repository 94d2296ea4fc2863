"""A part from the shelf: its bodies, ports, points and zones, and how well each is known."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from loopsolver.geometry.vectors import Point, point
from loopsolver.shelf.catalogue import Bound, PartKind, PartSize
from loopsolver.shelf.layouts import LAYOUTS, Layout

READING_SPREAD = 0.5
"""How far a length that was read off a rule usually lies off [mm]: common practice, no
source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOrder:
    """What was asked of the shelf.

    Attributes
    ----------
    kind : PartKind
    size : PartSize
    counts : mapping of int
        By name; all that the kind has.
    overruled : mapping of float
        Dimensions that were measured, by name [mm].
    with_zones : bool
        Whether the zones that a standard case leaves free are wanted, too.
    """

    kind: PartKind
    size: PartSize
    counts: Mapping[str, int] = field(default_factory=dict)
    overruled: Mapping[str, float] = field(default_factory=dict)
    with_zones: bool = False

    @property
    def sizes(self) -> dict[str, float]:
        """Every dimension by name, as measured or else as the shelf has it [mm]."""
        shelf = {name: each.value for name, each in self.size.dimensions.items()}
        return {**shelf, **self.overruled}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPart:
    """A part laid out, with the spread of its ports and points along x, y, z [mm]."""

    layout: Layout
    spreads: Mapping[str, Point]


def broken_bounds(order: PartOrder) -> tuple[Bound, ...]:
    """Return the bounds between its own dimensions that a part does not keep."""
    of = order.sizes
    return tuple(
        bound
        for bound in order.kind.bounds
        if (of[bound.name] < of[bound.other]) == (bound.side == "least")
        and of[bound.name] != of[bound.other]
    )


def part_of(order: PartOrder) -> ShelfPart:
    """Return the part that was asked for.

    Notes
    -----
    The spread of a point is that of the dimensions it follows from, taken as independent
    of each other: the root of the sum of squares of what each one's own spread does to it
    (JCGM 100:2008, equation 10). Points are linear in the dimensions, so that this is
    exact.
    """
    of = order.sizes
    layout = _laid_out(order, of)
    squares = {name: [0.0, 0.0, 0.0] for name in _named(layout)}
    for name, dimension in order.size.dimensions.items():
        measured = name in order.overruled
        spread = READING_SPREAD if measured else dimension.origin.spread
        moved = _named(_laid_out(order, {**of, name: of[name] + spread}))
        for called, at in _named(layout).items():
            for axis in range(3):
                squares[called][axis] += (moved[called][axis] - at[axis]) ** 2
    for spot in order.size.spots:
        for axis, terms in enumerate(spot.at):
            if any(isinstance(term, float) and term != 0.0 for term in terms):
                squares[spot.name][axis] += spot.origin.spread**2
    return ShelfPart(
        layout=layout if order.with_zones else replace(layout, zones={}),
        spreads={name: point(map(math.sqrt, each)) for name, each in squares.items()},
    )


def _laid_out(order: PartOrder, of: Mapping[str, float]) -> Layout:
    layout = LAYOUTS[order.kind.name](of, order.counts)
    spots = {
        spot.name: point(
            sum(of[term] if isinstance(term, str) else term for term in terms)
            for terms in spot.at
        )
        for spot in order.size.spots
    }
    return replace(layout, points={**layout.points, **spots})


def _named(layout: Layout) -> dict[str, Point]:
    ports = {name: port.position for name, port in layout.ports.items()}
    return {**layout.points, **ports}
