"""Where along the lines of a lattice a tube would come too near to a mesh.

A mesh is not convex: it may cover several stretches of a line. So the distance is taken
at stations along the lines. Ends of stretches are sought between stations, and so is
what might be covered between two free ones.

The distance is that to a simpler thing: samples of the mesh, and the box round it. Its
error is added to the reach: a search keeps further off by up to what
`mesh_shape.sought_further` says. Routes are judged against all triangles.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from loopsolver.geometry.mesh_grid import mesh_grid
from loopsolver.geometry.mesh_shape import bounds_below, signed_distances
from loopsolver.geometry.solids import Mesh, bounds
from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.tolerances import GRAZED, TOUCH

STATION: Final = 4.0
"""Distance between stations [mm], or half the reach where that is less."""

_ROOT_STEPS: Final = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lines:
    """Parallel lines over a mesh, n of them.

    Attributes
    ----------
    mesh : Mesh
    axis : int
        Along which they run.
    across : array (n, 3) [mm]
        A point of each; its coordinate along `axis` is not looked at.
    reach : float [mm]
        What comes nearer is covered.
    """

    mesh: Mesh
    axis: int
    across: Array
    reach: float

    def distances(self, line: Indices, at: Array, *, beyond: float) -> Array:
        """Return what the distances at places of lines are surely not below, (k,) [mm].

        What is no nearer than the reach and `beyond` is told as that; of places that are
        inside nothing is told of the sign.
        """
        points = self.across[line]
        points[:, self.axis] = at
        own, shape = self.mesh.own(points), self.mesh.shape
        distance = np.full(len(own), self.reach + beyond)
        rows = np.flatnonzero(mesh_grid(shape).bounds(own)[0] < self.reach + beyond)
        distance[rows] = bounds_below(shape, own[rows], most=self.reach + beyond)
        return distance


@dataclass(slots=True, kw_only=True, eq=False)
class _LinesSeen:
    """What was found of the lines along an axis past a mesh: each is looked at once.

    Runs of one case have lattices that are much alike.

    Attributes
    ----------
    places : dict of (float, float) to int
        The number of each line, by its two other coordinates.
    low, high : arrays (n, k) [mm]
        Its stretches; low = inf, high = -inf where there are fewer.
    """

    places: dict[tuple[float, float], int]
    low: Array
    high: Array


@lru_cache(maxsize=96)
def _known(_mesh: Mesh, _axis: int, _reach: float) -> _LinesSeen:
    none = np.zeros((0, 1))
    return _LinesSeen(places={}, low=none, high=none)


def stretches(
    mesh: Mesh, *, axis: int, u: Array, v: Array, reach: float
) -> tuple[Array, Array]:
    """Return the stretches of lines within reach of a mesh, or inside it.

    Parameters
    ----------
    mesh : Mesh
    axis : int
        Along which the lines run.
    u, v : arrays (n,) [mm]
        Their coordinates along the other axes, in ascending order of these.
    reach : float [mm]

    Returns
    -------
    low, high : arrays (n, k) [mm]
        See `covered_stretches`; low = inf, high = -inf where there are fewer.
    """
    known = _known(mesh, axis, reach)
    keys = list(zip(u.tolist(), v.tolist(), strict=True))
    new = [key for key in dict.fromkeys(keys) if key not in known.places]
    if new:
        across = np.insert(np.array(new), axis, 0.0, axis=1)
        _learn(known, Lines(mesh=mesh, axis=axis, across=across, reach=reach))
        first = len(known.places)
        known.places.update({key: first + place for place, key in enumerate(new)})
    rows = [known.places[key] for key in keys]
    return known.low[rows], known.high[rows]


def _learn(known: _LinesSeen, lines: Lines) -> None:
    """Add what is found of new lines to what is known."""
    line, number, start, end = covered_stretches(lines)
    before, count = known.low.shape
    most = max(count, int(number.max(initial=-1)) + 1)
    whole = (before + len(lines.across), most)
    low, high = np.full(whole, np.inf), np.full(whole, -np.inf)
    low[:before, :count], high[:before, :count] = known.low, known.high
    low[before + line, number], high[before + line, number] = start, end
    known.low, known.high = low, high


def covered_stretches(lines: Lines) -> tuple[Indices, Indices, Array, Array]:
    """Return the stretches of lines within reach of a mesh, or inside it.

    Returns
    -------
    line, number : int arrays (k,)
        Which line a stretch is on, and the number of the stretch on it, from 0 on.
    low, high : arrays (k,) [mm]
        Never too short, and too long at either end by no more than the distance is
        bounded. What is free between two stations that are
        both covered counts as covered: no tube turns in so little room.
    """
    passing = _passing(lines)
    lines = replace(lines, across=lines.across[passing])
    low, high = bounds(lines.mesh)[:, lines.axis] + [-lines.reach, lines.reach]
    spacing = min(STATION, lines.reach / 2.0)
    count = int(np.ceil((high - low) / spacing)) + 3
    stations = np.linspace(low - spacing / 2.0, high + spacing / 2.0, count)
    spacing = float(stations[1] - stations[0])
    line, number = np.indices((len(lines.across), count)).reshape(2, -1)
    distance, is_covered = _at_stations(lines, line, stations[number], spacing)
    distance, is_covered = distance.reshape(-1, count), is_covered.reshape(-1, count)
    line, place = _dips(lines, distance, is_covered, stations)
    free, covered, row = _brackets(is_covered, stations, line, place)
    ends = _roots(lines, row, free, covered)
    order = np.lexsort((ends, row))
    row, ends = row[order], ends[order]
    row, low_ends, high_ends = row[::2], ends[::2], ends[1::2]
    first = np.searchsorted(row, row)
    return passing[row], np.arange(len(row)) - first, low_ends, high_ends


def _passing(lines: Lines) -> Indices:
    """Return the lines that pass the box round the mesh within reach."""
    low, high = np.delete(bounds(lines.mesh), lines.axis, axis=1)
    across = np.delete(lines.across, lines.axis, axis=1)
    beyond = np.maximum(np.maximum(low - across, across - high), 0.0)
    found: Indices = np.flatnonzero(np.hypot(*beyond.T) < lines.reach - TOUCH)
    return found


def _at_stations(
    lines: Lines, line: Indices, at: Array, spacing: float
) -> tuple[Array, Flags]:
    """Return distances that are no larger than they are, and which places are covered.

    What the grid of the mesh leaves open is measured.
    """
    shape, grid = lines.mesh.shape, mesh_grid(lines.mesh.shape)
    limit = lines.reach - TOUCH
    points = lines.across[line]
    points[:, lines.axis] = at
    own = lines.mesh.own(points)
    low, high = grid.bounds(own)
    rows = np.flatnonzero((low < limit) & (high >= limit))
    most = lines.reach + _below(spacing / 2.0, lines)
    low[rows] = bounds_below(shape, own[rows], most=most)
    is_covered = (high < limit) | (low < limit)
    if not shape.has_inside:
        return low, is_covered
    is_in = ((own > shape.box[0]) & (own < shape.box[1])).all(axis=1)
    free = np.flatnonzero(~is_covered & is_in)
    off = low[free] > 2.0 * grid.step
    is_covered[free[off]] = grid.is_inside(own[free[off]])
    is_covered[free[~off]] = signed_distances(shape, own[free[~off]]) < 0.0
    return low, is_covered


def _dips(
    lines: Lines, distance: Array, is_covered: Flags, stations: Array
) -> tuple[Indices, Array]:
    """Return lines and covered places between two stations that are both free.

    Notes
    -----
    See `arcs`: where the distance is least between two places its slope is 0, and it bends
    by no more than 1 / distance. So the nearer end of a stretch is no more than half of
    that, times the square of half its length, above the least.
    """
    spacing = float(stations[1] - stations[0])
    nearer = np.minimum(distance[:, :-1], distance[:, 1:])
    free = ~is_covered[:, :-1] & ~is_covered[:, 1:]
    line, number = np.nonzero(
        free & (nearer < lines.reach + _below(spacing / 2.0, lines))
    )
    low, half = stations[number], spacing / 2.0
    found_lines, found_places = [line[:0]], [low[:0]]
    while len(line):
        below = _below(half, lines)
        here = lines.distances(line, low + half, beyond=below + TOUCH)
        dips = here < lines.reach - TOUCH
        found_lines.append(line[dips])
        found_places.append((low + half)[dips])
        if below < GRAZED:
            break
        kept = np.flatnonzero(~dips & (here < lines.reach + below))
        line, low = np.tile(line[kept], 2), low[kept]
        low, half = np.concatenate([low, low + half]), half / 2.0
    return np.concatenate(found_lines), np.concatenate(found_places)


def _below(step: float, lines: Lines) -> float:
    """Return how far a distance may fall within a step of a place where it is known."""
    return min(step, 0.5 * step**2 / max(lines.reach - step, TOUCH))


def _brackets(
    is_covered: Flags, stations: Array, line: Indices, place: Array
) -> tuple[Array, Array, Indices]:
    """Return places that are free, places that are covered beyond an end, and lines."""
    rows, columns = np.indices(is_covered.shape).reshape(2, -1)
    rows = np.concatenate([rows, line])
    at = np.concatenate([stations[columns], place])
    covered = np.concatenate([is_covered.ravel(), np.ones(len(line), dtype=np.bool_)])
    order = np.lexsort((at, rows))
    rows, at, covered = rows[order], at[order], covered[order]
    change = np.flatnonzero((covered[1:] != covered[:-1]) & (rows[1:] == rows[:-1]))
    here, there = at[change], at[change + 1]
    starts = covered[change + 1]
    return np.where(starts, here, there), np.where(starts, there, here), rows[change]


def _roots(lines: Lines, row: Indices, free: Array, covered: Array) -> Array:
    """Return the ends of stretches between free and covered places, on the free side.

    References
    ----------
    The Illinois variant of the rule of false position: M. Dowell and P. Jarratt, BIT 11
    (1971). From memory. Every third step halves.
    """
    free, covered = free.copy(), covered.copy()
    most = float(np.abs(free - covered).max(initial=0.0))
    above = lines.distances(row, free, beyond=most) - lines.reach
    under = lines.distances(row, covered, beyond=most) - lines.reach
    every = np.arange(len(row))
    for step in range(_ROOT_STEPS):
        open_ones = np.abs(free[every] - covered[every]) > TOUCH / 2.0
        every = every[open_ones]
        if not len(every):
            break
        share = above[every] / np.maximum(above[every] - under[every], TOUCH)
        share = np.clip(share, 0.02, 0.98) if step % 3 < 2 else np.full(len(every), 0.5)
        at = free[every] + share * (covered[every] - free[every])
        found = lines.distances(row[every], at, beyond=most) - lines.reach
        is_free = found >= -TOUCH
        free[every] = np.where(is_free, at, free[every])
        is_met = is_free & (found < TOUCH)
        covered[every] = np.where(is_free & ~is_met, covered[every], at)
        above[every] = np.where(is_free, found, above[every])
        under[every] = np.where(is_free, under[every], found)
    return free
