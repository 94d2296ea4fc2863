"""What the sweeps ask of a lattice: how far a leg may go, which bends are blocked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from loopsolver.clearance.arcs import Arm, NodeWindow, blocked_bends
from loopsolver.clearance.ball_rows import BallRow, with_rows
from loopsolver.clearance.shadows import (
    Coordinates,
    Shadow,
    bounds_of,
    cast_shadows,
    cross_axes,
)
from loopsolver.geometry.solids import Solid
from loopsolver.geometry.vectors import Array, Flags
from loopsolver.routing.square.lattice import SquareRun, lattice_coordinates

Range = tuple[int, int]
Region = tuple[Range, Range, Range]
"""Index ranges along x, y and z: a box of nodes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """The lattice of one run with the shadows of all solids on it.

    Attributes
    ----------
    run : SquareRun
    coordinates : Coordinates
    foreign : per axis, the shadows on the lines along it, own fittings left out
    shadows : the same, own fittings taken in
    solids : with each, what the centre line must keep from it [mm]; own fittings last
    foreign_solids : how many of them are not the run's own fittings
    grown : array (n, 2, 3) [mm]
        Bounds of the solids grown by that.
    tolls : per axis, an array (nodes along it, lines across) [mm], or None
        What the space up to each node costs beside its length; none where it is empty.
    known : _Known or None
        What is reckoned once for the whole lattice, where it is searched many times.
    """

    run: SquareRun
    coordinates: Coordinates
    foreign: tuple[tuple[Shadow, ...], ...]
    shadows: tuple[tuple[Shadow, ...], ...]
    solids: tuple[tuple[Solid | BallRow, float], ...]
    foreign_solids: int
    grown: Array
    tolls: tuple[Array, Array, Array] | None = None
    known: _Known | None = None

    def position(self, node: tuple[int, int, int]) -> Array:
        """Return the position of a node, (3,) [mm]."""
        return np.array([self.coordinates[a][node[a]] for a in range(3)])

    def node_at(self, position: Sequence[float]) -> tuple[int, int, int]:
        """Return the node nearest to a position."""
        i, j, k = (
            int(np.argmin(np.abs(values - at)))
            for values, at in zip(self.coordinates, position, strict=True)
        )
        return i, j, k

    def travel(self, arm: Arm) -> Array:
        """Return the coordinates along an arm's axis, growing in its direction [mm]."""
        values = self.coordinates[arm.axis]
        return values if arm.sign > 0 else -values[::-1]

    def fares(self, arm: Arm, lines: tuple[Range, Range]) -> Array:
        """Return what a leg costs from one node to another by what it costs to each [mm].

        In travel order along the arm; (nodes along the axis, rows, columns), or one line
        for all of them where space costs nothing: then it is their travel coordinates.
        """
        travel = self.travel(arm)[:, None, None]
        if self.tolls is None:
            return travel
        (rows, row_end), (cols, col_end) = lines
        tolls = self.tolls[arm.axis][:, rows:row_end, cols:col_end]
        return travel + (tolls if arm.sign > 0 else -tolls[::-1])


def lattice_field(run: SquareRun) -> Field:
    """Return the field of a run on its own lattice.

    The last ones are kept: the same lattice is asked with other bends and turns.
    """
    problem = replace(
        run.problem,
        max_bends=0,
        candidates=0,
        turn_step_deg=90.0,
        bend_angles_deg=(90.0,),
    )
    return replace(_lattice_field(replace(run, problem=problem)), run=run)


@lru_cache(maxsize=2)
def _lattice_field(run: SquareRun) -> Field:
    return make_field(run, lattice_coordinates(run))


def make_field(run: SquareRun, coordinates: Coordinates) -> Field:
    """Return the field of a run: its lattice, and every solid's shadow on it.

    A tube may pass near its own fittings, but not through them.
    """
    own_reach = run.problem.tube_radius
    others = with_rows(obstacle.solid for obstacle in run.problem.obstacles)
    own = tuple(obstacle.solid for obstacle in run.problem.own_fittings)
    foreign = tuple(
        cast_shadows(others, coordinates, axis=axis, reach=run.reach)
        for axis in range(3)
    )
    shadows = tuple(
        there + cast_shadows(own, coordinates, axis=axis, reach=own_reach)
        for axis, there in enumerate(foreign)
    )
    solids = (*((s, run.reach) for s in others), *((s, own_reach) for s in own))
    grown = np.array(
        [bounds_of(solid) + np.array([[-reach], [reach]]) for solid, reach in solids]
    ).reshape(-1, 2, 3)
    return Field(
        run=run,
        coordinates=coordinates,
        foreign=foreign,
        shadows=shadows,
        solids=solids,
        foreign_solids=len(others),
        grown=grown,
    )


def shadows_on(
    shadows: Sequence[Shadow], arm: Arm, lines: tuple[Range, Range]
) -> Iterator[tuple[tuple[slice, slice], Array, Array]]:
    """Yield each shadow's part on a box of lines, in the arm's direction of travel.

    Yields
    ------
    (place, low, high)
        `place` indexes an array over `lines`; low and high are travel coordinates [mm].
    """
    (row, row_end), (col, col_end) = lines
    for shadow in shadows:
        (top, left), (rows, cols) = shadow.first, shadow.low.shape
        first, last = max(top, row), min(top + rows, row_end)
        start, end = max(left, col), min(left + cols, col_end)
        if first >= last or start >= end:
            continue
        part = slice(first - top, last - top), slice(start - left, end - left)
        low, high = shadow.low[part], shadow.high[part]
        if arm.sign < 0:
            low, high = -high, -low
        yield (slice(first - row, last - row), slice(start - col, end - col)), low, high


def free_until(
    shadows: Sequence[Shadow], arm: Arm, lines: tuple[Range, Range], *, beyond: float
) -> Array:
    """Return how far along each line the tube is free, in travel coordinates [mm].

    The next vertex may lie one tangent length further.

    Parameters
    ----------
    shadows : those on the lines along the arm's axis
    beyond : float [mm]
        Travel coordinate from which on the tube must be free, on every line.
    """
    free = np.full([end - begin for begin, end in lines], np.inf)
    for place, low, high in shadows_on(shadows, arm, lines):
        here = free[place]
        np.minimum(here, low, out=here, where=high > beyond)
    return free


class _Known:
    """What shadows and bends there are on a whole lattice, as soon as it is asked."""

    def __init__(self, field: Field) -> None:
        self._field = field
        self._starts: dict[Arm, NDArray[np.int16]] = {}
        self._bends: dict[tuple[frozenset[Arm], int], Flags | None] = {}
        x, y, z = ((0, len(values)) for values in field.coordinates)
        self._all: Region = (x, y, z)

    def starts(self, arm: Arm) -> NDArray[np.int16]:
        """Return `first_starts` of all lines along an arm."""
        if arm not in self._starts:
            lines = lines_of(self._all, arm.axis)
            self._starts[arm] = first_starts(self._field, arm, lines)
        return self._starts[arm]

    def bends(self, arms: tuple[Arm, Arm], *, among: int) -> Flags | None:
        """Return `bends_blocked` of all nodes."""
        key = (frozenset(arms), among)
        if key not in self._bends:
            found = bends_blocked(self._field, arms, self._all, among=among)
            self._bends[key] = found
        return self._bends[key]


def known_throughout(field: Field) -> Field:
    """Return a field that is to be searched many times."""
    return replace(field, known=_Known(field))


def first_starts(
    field: Field, arm: Arm, lines: tuple[Range, Range]
) -> NDArray[np.int16]:
    """Return for each node the first node behind it from which a leg may come.

    All in travel order along the arm; (nodes along the axis, rows, columns). Only nodes
    at least one least leg behind count; those come after every shadow that ends behind
    them (see `sweep`).
    """
    if field.known is not None:
        place = (slice(None), *(slice(*line) for line in lines))
        return field.known.starts(arm)[place]
    travel = field.travel(arm)
    tangent = field.run.tangent
    shape = [end - begin for begin, end in lines]
    starts = np.zeros((len(travel), *shape), dtype=np.int16)
    for place, low, high in shadows_on(field.shadows[arm.axis], arm, lines):
        seen_from = np.searchsorted(travel, low + tangent, side="right")
        begins_at = np.searchsorted(travel, high - tangent, side="left")
        rows, cols = np.nonzero((seen_from < len(travel)) & (low < high))
        seen, begins = seen_from[rows, cols], begins_at[rows, cols]
        rows, cols = rows + place[0].start, cols + place[1].start
        starts[seen, rows, cols] = np.maximum(starts[seen, rows, cols], begins)
    np.maximum.accumulate(starts, axis=0, out=starts)
    return starts


def bends_blocked(
    field: Field, arms: tuple[Arm, Arm], region: Region, *, among: int
) -> Flags | None:
    """Return which nodes of a region cannot carry a bend of these arms; None if all can.

    Parameters
    ----------
    among : int
        How many of the field's solids count, from the first on.
    """
    if field.known is not None:
        every = field.known.bends(arms, among=among)
        place = tuple(slice(*ends) for ends in region)
        return None if every is None else every[place]
    coordinates = region_coordinates(field, region)
    blocked: Flags | None = None
    for number in near_solids(field, arms, region, among=among):
        found = bends_blocked_by(field, number, arms, coordinates)
        if found is None:
            continue
        if blocked is None:
            blocked = np.zeros([end - begin for begin, end in region], dtype=np.bool_)
        blocked[found[0]] |= found[1]
    return blocked


def bends_blocked_by(
    field: Field, number: int, arms: tuple[Arm, Arm], coordinates: Coordinates
) -> tuple[NodeWindow, Flags] | None:
    """Return which nodes one solid blocks for a bend; see `blocked_bends`."""
    solid, reach = field.solids[number]
    return blocked_bends(
        solid, coordinates, arms=arms, radius=field.run.problem.bend_radius, reach=reach
    )


def near_solids(
    field: Field, arms: tuple[Arm, Arm], region: Region, *, among: int
) -> list[int]:
    """Return the numbers of the solids that bends in a region may come near to."""
    low = np.array([field.coordinates[a][region[a][0]] for a in range(3)])
    high = np.array([field.coordinates[a][region[a][1] - 1] for a in range(3)])
    for arm in arms:
        if arm.sign > 0:
            high[arm.axis] += field.run.tangent
        else:
            low[arm.axis] -= field.run.tangent
    grown = field.grown[:among]
    near = (grown[:, 0] <= high) & (grown[:, 1] >= low)
    return np.flatnonzero(near.all(axis=1)).tolist()


def region_coordinates(field: Field, region: Region) -> Coordinates:
    """Return the coordinates of a region's nodes."""
    x, y, z = (c[slice(*r)] for c, r in zip(field.coordinates, region, strict=True))
    return x, y, z


def lines_of(region: Region, axis: int) -> tuple[Range, Range]:
    """Return the lines along an axis that a region holds."""
    first, second = cross_axes(axis)
    return region[first], region[second]
