"""The summits of a loop's inside in one direction, and how air goes from one to another.

Air rises along the ceiling to a summit. Once a summit holds air down to its sill, more
of it goes over the sill to the summit on the other side; where that is full to the same
sill, both are one and hold air down to the next sill. Over the sill to an opening it is
gone. A tree of summits keeps which sill joins which (a merge tree), and air is poured
into it as water into the hollows of a landscape turned upside down.

References
----------
R. Barnes, K. L. Callaghan, A. D. Wickert, "Computing water flow through complex
landscapes, part 3: Fill-Spill-Merge", Earth Surface Dynamics 9 (2021), 105-121.
H. Carr, J. Snoeyink, U. Axen, "Computing contour trees in all dimensions",
Computational Geometry 24 (2003), 75-94: section 4, the join tree.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from loopsolver.geometry.solids import highest
from loopsolver.geometry.vectors import Array, Indices
from loopsolver.hydraulics.insides import OpenPort, Slices
from loopsolver.hydraulics.levels import Upright, ceiling, ceilings

OUT: Final = -1
"""In place of a summit: the opening, and the air beyond it."""

_LEVELS: Final = 48  # levels between sill and summit at which volumes are tabled


@dataclass(slots=True, kw_only=True, eq=False)
class Knot:
    """A summit, or summits that are one above a sill, while the tree is built.

    Attributes
    ----------
    top : float
        Height of its highest point [mm].
    children : tuple of int
        The two knots that it was made of; none of a summit.
    parent : int or None
        The knot that it becomes part of at its sill; `OUT`; None: it never does.
    sill : float
        [mm].
    over : int
        The summit on the other side of the sill, or `OUT`.
    """

    top: float
    children: tuple[int, ...] = ()
    parent: int | None = None
    sill: float = -math.inf
    over: int = OUT


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Summits:
    """A loop's inside in one direction: its summits, and their tree.

    Attributes
    ----------
    stand : Upright
    cut : Slices
    out : OpenPort or None
        Where air leaves; None: nowhere.
    knots : tuple of Knot
        A summit stands for itself, and is its own leaf.
    chamber_leaf : int array (m,)
        The summit to which air in a chamber rises.
    slice_leaf : int array (n,)
        The same for each slice of a bore.
    """

    stand: Upright
    cut: Slices
    out: OpenPort | None
    knots: tuple[Knot, ...]
    chamber_leaf: Indices
    slice_leaf: Indices
    _members: dict[int, tuple[Indices, Indices]] = field(default_factory=dict)
    _capacities: dict[int, float] = field(default_factory=dict)
    _tables: dict[int, tuple[Array, Array]] = field(default_factory=dict)

    def leaves(self, knot: int) -> tuple[int, ...]:
        """Return the summits that a knot holds."""
        found, open_knots = [], [knot]
        while open_knots:
            one = open_knots.pop()
            children = self.knots[one].children
            open_knots += children
            if not children:
                found.append(one)
        return tuple(found)

    def members(self, knot: int) -> tuple[Indices, Indices]:
        """Return places of the chambers and slices whose air rises into a knot."""
        if knot not in self._members:
            leaves = self.leaves(knot)
            self._members[knot] = (
                np.flatnonzero(np.isin(self.chamber_leaf, leaves)),
                np.flatnonzero(np.isin(self.slice_leaf, leaves)),
            )
        return self._members[knot]

    def above(self, knot: int, level: float) -> tuple[Array, Array]:
        """Return what of each member, chambers and slices, lies above a level [mL]."""
        chambers, cuts = self.members(knot)
        at = np.array([level])
        return (
            np.array([self.stand.chamber_above(one, at)[0] for one in chambers]),
            self.stand.slices_above(level, cuts),
        )

    def table(self, knot: int) -> tuple[Array, Array]:
        """Return levels from the summit down to the sill, and what lies above each [mL]."""
        if knot not in self._tables:
            chambers, cuts = self.members(knot)
            bottom = self.knots[knot].sill
            if math.isinf(bottom):
                bottom = -_highest(self.stand, turned=True)
            levels = np.linspace(self.knots[knot].top, bottom, _LEVELS)
            held = np.zeros(_LEVELS)
            for one in chambers:
                held += self.stand.chamber_above(one, levels)
            if len(cuts):
                held += [
                    float(self.stand.slices_above(at, cuts).sum()) for at in levels
                ]
            self._tables[knot] = levels, np.maximum.accumulate(held)
        return self._tables[knot]

    def capacity(self, knot: int) -> float:
        """Return the air that a knot holds down to its sill [mL]."""
        if knot not in self._capacities:
            of = self.knots[knot]
            self._capacities[knot] = (
                math.inf
                if of.parent is None
                else math.fsum(float(part.sum()) for part in self.above(knot, of.sill))
            )
        return self._capacities[knot]

    @property
    def full(self) -> tuple[int, ...]:
        """The knots that hold air for good where all is filled up: on the way out."""
        return tuple(
            place for place, knot in enumerate(self.knots) if knot.parent in (OUT, None)
        )


def _highest(stand: Upright, *, turned: bool = False) -> float:
    """Return the greatest height of all, or with `turned` the depth of the lowest [mm]."""
    sign = -1.0 if turned else 1.0
    way = (sign * stand.up[0], sign * stand.up[1], sign * stand.up[2])
    solids = (one for chamber in stand.inside.chambers for one in chamber.solids)
    tops = [highest(one, way) for one in solids]
    slices = sign * stand.heights + stand.rise
    return max([*tops, *slices.tolist()], default=0.0) + stand.inside.radius


# ----------------------------------------------------------------------- the tree


@dataclass(frozen=True, slots=True, kw_only=True)
class _SummitGraph:
    """Places joined to each other, and their heights [mm]; chambers first."""

    heights: list[float]
    joined: list[list[int]]
    mouth: int | None


def summits(stand: Upright, cut: Slices, out: OpenPort | None) -> Summits:
    """Return the summits of a loop's inside in one direction.

    Parameters
    ----------
    stand : Upright
    cut : Slices
        As for `stand`.
    out : OpenPort or None
        Where air leaves; None: nowhere.
    """
    count = len(stand.inside.chambers)
    heights = [stand.chamber_top(place) for place in range(count)]
    graph = _SummitGraph(heights=heights, joined=[[] for _ in heights], mouth=None)
    marks = _lay_bores(graph, stand)
    if out is not None:
        at = ceiling(out.position, out.direction, stand.inside.radius, stand.up)
        graph = _SummitGraph(
            heights=[*graph.heights, at],
            joined=[*graph.joined, [out.chamber]],
            mouth=len(graph.heights),
        )
        graph.joined[out.chamber].append(len(graph.heights) - 1)
    knots, leaf = _tree(graph)
    higher = _higher_marks(graph.heights, marks, cut)
    return Summits(
        stand=stand,
        cut=cut,
        out=out,
        knots=knots,
        chamber_leaf=np.array(leaf[:count], dtype=int),
        slice_leaf=np.array(leaf, dtype=int)[higher],
    )


def _higher_marks(
    heights: Sequence[float], marks: Sequence[list[tuple[float, int]]], cut: Slices
) -> Indices:
    """Return the higher of the two marks between which each slice lies (n,)."""
    higher = np.zeros(len(cut.at), dtype=int)
    tall = np.array(heights)
    for bore, laid in enumerate(marks):
        which = np.flatnonzero(cut.bore == bore)
        along = cut.piece[which] + cut.at[which]
        after = np.searchsorted([at for at, _ in laid], along)
        place = np.array([mark for _, mark in laid], dtype=int)
        after = np.clip(after, 1, len(laid) - 1)
        lower, upper = place[after - 1], place[after]
        higher[which] = np.where(tall[upper] > tall[lower], upper, lower)
    return higher


def _lay_bores(graph: _SummitGraph, stand: Upright) -> list[list[tuple[float, int]]]:
    """Add every bore's ends and turning points; return them by their place along it."""
    marks = []
    for bore in stand.inside.bores:
        laid: list[tuple[float, int]] = []
        before = bore.ends[0]
        for number, piece in enumerate(bore.pieces):
            for share, height in ceilings(piece, stand.inside.radius, stand.up):
                graph.heights.append(height)
                graph.joined.append([])
                here = len(graph.heights) - 1
                _join(graph, before, here)
                laid.append((number + share, here))
                before = here
        _join(graph, before, bore.ends[1])
        marks.append(laid)
    return marks


def _join(graph: _SummitGraph, one: int, other: int) -> None:
    graph.joined[one].append(other)
    graph.joined[other].append(one)


def _tree(graph: _SummitGraph) -> tuple[tuple[Knot, ...], list[int]]:
    """Return the knots, and the summit of every place.

    Places are taken from the highest down; each joins what its higher neighbours belong
    to, and where these are several, it is the sill between them.
    """
    heights, knots = graph.heights, list[Knot]()
    leaf = [OUT] * len(heights)
    rank = [(-height, place) for place, height in enumerate(heights)]
    for place in sorted(range(len(heights)), key=rank.__getitem__):
        near = sorted(
            (one for one in graph.joined[place] if rank[one] < rank[place]),
            key=rank.__getitem__,
        )
        if not near:
            leaf[place] = len(knots)
            knots.append(Knot(top=heights[place]))
        else:
            leaf[place] = leaf[near[0]]
        if place == graph.mouth:
            _let_out(knots[_root(knots, leaf[place])], heights[place], OUT)
        for other in near[1:]:
            _meet(knots, leaf[near[0]], leaf[other], heights[place])
    return tuple(knots), leaf


def _root(knots: Sequence[Knot], knot: int) -> int:
    """Return the knot that another one has become part of."""
    while (parent := knots[knot].parent) is not None and parent != OUT:
        knot = parent
    return knot


def _meet(knots: list[Knot], one: int, other: int, sill: float) -> None:
    """Note that two summits meet at a sill."""
    first, second = _root(knots, one), _root(knots, other)
    if first == second:
        return
    is_out = [knots[knot].parent == OUT for knot in (first, second)]
    if all(is_out):
        return
    if any(is_out):
        knot, over = (second, one) if is_out[0] else (first, other)
        _let_out(knots[knot], sill, over)
        return
    for knot, over in ((first, other), (second, one)):
        knots[knot].parent, knots[knot].sill = len(knots), sill
        knots[knot].over = over
    top = max(knots[first].top, knots[second].top)
    knots.append(Knot(children=(first, second), top=top))


def _let_out(knot: Knot, sill: float, over: int) -> None:
    """Note that what a knot cannot hold goes over a sill, and in the end out."""
    knot.parent, knot.sill, knot.over = OUT, sill, over
