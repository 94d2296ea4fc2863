"""Where along the lines of a lattice a tube would come too near to a mesh.

A mesh is not convex: it may cover several stretches of a line. So the distance is taken
at stations along the lines. Ends of stretches are sought between stations, and so is
what might be covered between two free ones.

The distance is that to a simpler thing: samples of the mesh, and the box round it. Its
error is added to the reach: a search keeps further off by up to what
`mesh_shape.sought_further` says. Routes are judged against all triangles.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.geometry.mesh_grid import covered_nodes, mesh_grid
from loopsolver.geometry.mesh_shape import beyond_box, bounds_below
from loopsolver.geometry.solids import Mesh, bounds
from loopsolver.geometry.triangles import dots
from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.tolerances import GRAZED, TOUCH

STATION: Final = 4.0
"""Distance between stations [mm], or half the reach where that is less."""


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

    def places(self, line: Indices, at: Array | float) -> Array:
        """Return places of lines, (k, 3) [mm], in the coordinates of the mesh."""
        points = self.across[line]
        points[:, self.axis] = at
        return self.mesh.own(points)

    def distances(self, line: Indices, at: Array, *, beyond: float) -> Array:
        """Return what the distances at places of lines are surely not below, (k,) [mm].

        What is no nearer than the reach and `beyond` is told as that; of places that are
        inside nothing is told of the sign.
        """
        own, shape = self.places(line, at), self.mesh.shape
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
    places : complex array (n,) [mm]
        The lines, sorted: the two other coordinates of each as one number.
    low, high : arrays (n, k) [mm]
        Its stretches; low = inf, high = -inf where there are fewer.
    """

    places: NDArray[np.complex128]
    low: Array
    high: Array


@lru_cache(maxsize=96)
def _known(_mesh: Mesh, _axis: int, _reach: float) -> _LinesSeen:
    none = np.zeros((0, 1))
    return _LinesSeen(places=np.zeros(0, dtype=complex), low=none, high=none)


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
    asked = u + 1j * v
    rows = np.searchsorted(known.places, asked)
    found = rows < len(known.places)
    found[found] = known.places[rows[found]] == asked[found]
    if not found.all():
        new = np.unique(asked[~found])
        across = np.insert(np.stack([new.real, new.imag], axis=1), axis, 0.0, axis=1)
        _learn(known, new, Lines(mesh=mesh, axis=axis, across=across, reach=reach))
        rows = np.searchsorted(known.places, asked)
    return known.low[rows], known.high[rows]


def _learn(known: _LinesSeen, new: NDArray[np.complex128], lines: Lines) -> None:
    """Add what is found of new lines to what is known."""
    line, number, start, end = covered_stretches(lines)
    before, count = known.low.shape
    most = max(count, int(number.max(initial=-1)) + 1)
    low, high = np.full((2, before + len(new), most), np.inf)
    high *= -1.0
    low[:before, :count], high[:before, :count] = known.low, known.high
    low[before + line, number], high[before + line, number] = start, end
    places = np.concatenate([known.places, new])
    order = np.argsort(places)
    known.places, known.low, known.high = places[order], low[order], high[order]


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
    distance, is_covered = _at_stations(lines, stations)
    line, place = _dips(lines, distance, is_covered, stations)
    free, covered, row = _brackets(is_covered, stations, line, place)
    ends = _ends(lines, row, covered, free)
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


def _at_stations(lines: Lines, stations: Array) -> tuple[Array, Flags]:
    """Return distances that are no larger than they are, and which places are covered.

    Both are (n, stations); of what is covered no distance is told. What neither the grid
    of the mesh nor the box round it decides is measured.
    """
    shape, grid = lines.mesh.shape, mesh_grid(lines.mesh.shape)
    limit, count = lines.reach - TOUCH, len(stations)
    is_covered = _surely_covered(lines, stations).ravel()
    distance = np.zeros(len(is_covered))
    is_open = np.flatnonzero(~is_covered)
    own = lines.places(is_open // count, stations[is_open % count])
    distance[is_open] = low = beyond_box(shape, own)
    near = np.flatnonzero(low < limit)
    is_open, own = is_open[near], own[near]
    low, high = grid.bounds(own)
    rows = np.flatnonzero((low < limit) & (high >= limit))
    spacing = float(stations[1] - stations[0])
    most = lines.reach + _below(spacing / 2.0, lines)
    low[rows] = bounds_below(shape, own[rows], most=most)
    covered = (high < limit) | (low < limit)
    free = np.flatnonzero(~covered)
    covered[free] = grid.insides(own[free])
    distance[is_open], is_covered[is_open] = low, covered
    return distance.reshape(-1, count), is_covered.reshape(-1, count)


def _surely_covered(lines: Lines, stations: Array) -> Flags:
    """Return which places are covered by what is known of the nearest node of the grid."""
    mesh, grid = lines.mesh, mesh_grid(lines.mesh.shape)
    first = lines.places(np.arange(len(lines.across)), stations[0]) - grid.low
    along = mesh.frame.rotation[lines.axis] * (stations - stations[0])[:, None]
    flat = np.zeros((len(first), len(stations)), dtype=np.intp)
    is_in = np.ones(flat.shape, dtype=np.bool_)
    for axis, nodes in enumerate(grid.squares.shape):
        at = (first[:, None, axis] + along[:, axis]) / grid.step
        node = np.rint(at).astype(np.intp)
        is_in &= (node >= 0) & (node < nodes)
        flat *= nodes
        flat += node
    flat[~is_in] = 0
    found: Flags = covered_nodes(mesh.shape, lines.reach - TOUCH)[flat] & is_in
    return found


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


def _ends(lines: Lines, row: Indices, covered: Array, free: Array) -> Array:
    """Return the ends of stretches between covered and free places.

    What covers a place lies within reach of the box round the mesh and of a sample.
    """
    shape = lines.mesh.shape
    low, high = shape.box

    def of_box(own: Array) -> Array:
        return np.clip(own, low, high)

    def of_samples(own: Array) -> Array:
        places: Array = shape.tree.data[shape.tree.query(own)[1]]
        return places

    ends = _out_of_balls(lines, row, (covered, free), of_box, lines.reach)
    reach = float(shape.reach_of(lines.reach))
    return _out_of_balls(lines, row, (covered, ends), of_samples, reach)


def _out_of_balls(
    lines: Lines,
    row: Indices,
    stretch: tuple[Array, Array],
    nearest: Callable[[Array], Array],
    reach: float,
) -> Array:
    """Return where lines leave what is within reach of a thing, (k,) [mm].

    A place that is covered lies in a ball about the nearest place of the thing, and so
    does the line up to where it leaves this ball: there it is looked at again.

    Parameters
    ----------
    row : int array (k,)
        The lines.
    stretch : two arrays (k,) [mm]
        Covered places, and places up to which it is looked.
    nearest : callable
        Gives the nearest places of the thing to points, both as the mesh sees them.
    reach : float [mm]
    """
    start, last = stretch
    at, every = start.copy(), np.arange(len(row))
    sign = np.sign(last - start)
    while len(every):
        own = lines.places(row[every], at[every])
        off = own - nearest(own)
        square = dots(off, off)
        kept = np.flatnonzero(square < (reach - TOUCH / 2.0) ** 2)
        every, square = every[kept], square[kept]
        along = off[kept] @ lines.mesh.frame.rotation[lines.axis]
        root = np.sqrt(reach**2 - square + along**2)
        at[every] += sign[every] * root - along
        over = (last[every] - at[every]) * sign[every] <= 0.0
        at[every[over]] = last[every[over]]
        every = every[~over]
    return at
