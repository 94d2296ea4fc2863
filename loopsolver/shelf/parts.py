"""A part from the shelf: bodies, ports, points, zones, and how well each is known."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from loopsolver.geometry.vectors import Point, point
from loopsolver.shelf.catalogue import DimensionBound, PartKind, PartSize
from loopsolver.shelf.layouts import LAYOUTS, PartLayout

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
    """A part laid out.

    Attributes
    ----------
    layout : PartLayout
    spreads : mapping of Point
        How far each port and point usually lies off along x, y and z, by name [mm].
    unmeasured : mapping of tuples of str
        By port or point, the dimensions it follows from that no standard holds and
        nobody has measured.
    """

    layout: PartLayout
    spreads: Mapping[str, Point]
    unmeasured: Mapping[str, tuple[str, ...]]


def broken_bounds(order: PartOrder) -> tuple[DimensionBound, ...]:
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
    places = _named(layout)
    squares = {name: [0.0, 0.0, 0.0] for name in places}
    unmeasured: dict[str, list[str]] = {name: [] for name in places}
    for name, dimension in order.size.dimensions.items():
        measured = name in order.overruled
        spread = READING_SPREAD if measured else dimension.origin.spread
        moved = _named(_laid_out(order, {**of, name: of[name] + spread}))
        for called, at in places.items():
            for axis in range(3):
                squares[called][axis] += (moved[called][axis] - at[axis]) ** 2
            if dimension.origin.measure and not measured and moved[called] != at:
                unmeasured[called].append(name)
    for spot in order.size.spots:
        for axis, terms in enumerate(spot.at):
            if any(isinstance(term, float) and term != 0.0 for term in terms):
                squares[spot.name][axis] += spot.origin.spread**2
    return ShelfPart(
        layout=layout if order.with_zones else replace(layout, zones={}),
        spreads={name: point(map(math.sqrt, each)) for name, each in squares.items()},
        unmeasured={name: tuple(each) for name, each in unmeasured.items()},
    )


def _laid_out(order: PartOrder, of: Mapping[str, float]) -> PartLayout:
    layout = LAYOUTS[order.kind.name](of, order.counts)
    spots = {
        spot.name: point(
            sum(of[term] if isinstance(term, str) else term for term in terms)
            for terms in spot.at
        )
        for spot in order.size.spots
    }
    return replace(layout, points={**layout.points, **spots})


def _named(layout: PartLayout) -> dict[str, Point]:
    ports = {name: port.position for name, port in layout.ports.items()}
    return {**layout.points, **ports}
