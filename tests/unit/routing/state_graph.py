"""The least length for every bend count, by Dijkstra over all states of a tube.

A state is a node, the direction in which a leg arrives there, and the bends so far.
Every straight and every arc between states has been measured against every solid by
itself; nothing is shared with the search but the solids and the coordinates.
"""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from loopsolver.routing.problem import TubeEnd
from loopsolver.routing.square.lattice import SquareRun
from tests.unit.routing.touching import (
    FREE,
    UNSURE,
    Array,
    arcs,
    straights,
    worst_verdicts,
)

DIRECTIONS = np.array(
    [[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]], dtype=float
)

Ints = NDArray[np.intp]


class TooCloseError(Exception):
    """Something lies within a hair of its limit."""


@dataclass(frozen=True)
class Legs:
    """Legs between nodes: direction number, nodes and length [mm] of each."""

    direction: Ints
    start: Ints
    end: Ints
    length: Array


def _sure(verdict: NDArray[np.int8]) -> NDArray[np.bool_]:
    if (verdict == UNSURE).any():
        raise TooCloseError
    return verdict == FREE


class StateGraph:
    """A run's states on a lattice."""

    def __init__(
        self, run: SquareRun, coordinates: tuple[Array, Array, Array], *, bends: int
    ) -> None:
        problem = run.problem
        self.run, self.bends = run, bends
        self.points = np.array(list(itertools.product(*coordinates)))
        self.count = len(self.points)
        self.shape = tuple(len(values) for values in coordinates)
        self.radius = problem.bend_radius
        self.reach = problem.tube_radius + problem.clearance
        self.others = [obstacle.solid for obstacle in problem.obstacles]
        self.own = [obstacle.solid for obstacle in problem.own_fittings]
        self.legs = self._legs()
        self.outer_bends, self.inner_bends = self._bends()

    def least_lengths(self) -> list[float]:
        """Least sum of legs for 1, 2, ... bends [mm]; inf where there is no route."""
        first, first_length, out = self._end_legs(self.run.problem.start)
        last, last_length, home = self._end_legs(self.run.problem.goal)
        source = self.bends * self.count * 6
        sinks = source + 1 + np.arange(self.bends)
        rows = [np.full(len(first), source)]
        cols = [self._state(first, out, 0)]
        weights = [first_length]
        last_direction = home ^ 1
        for bends in range(self.bends):
            free = self.outer_bends if bends == 0 else self.inner_bends
            for before in range(6):
                rows_here, cols_here, weights_here = self._turns(before, bends, free)
                rows.append(rows_here)
                cols.append(cols_here)
                weights.append(weights_here)
                may_end = self.outer_bends[last, before, last_direction]
                rows.append(self._state(last[may_end], before, bends))
                cols.append(np.full(may_end.sum(), sinks[bends]))
                weights.append(last_length[may_end])
        size = source + 1 + self.bends
        graph = csr_array(
            (np.concatenate(weights), (np.concatenate(rows), np.concatenate(cols))),
            shape=(size, size),
        )
        lengths = dijkstra(graph, indices=source)
        return [float(lengths[sink]) for sink in sinks]

    def _turns(
        self, before: int, bends: int, free: NDArray[np.bool_]
    ) -> tuple[Ints, Ints, Array]:
        """All legs that may follow on arrivals in one direction after so many bends."""
        empty = np.zeros(0, dtype=np.intp)
        if bends + 1 >= self.bends:
            return empty, empty, np.zeros(0)
        legs = self.legs
        may = free[legs.start, before, legs.direction]
        return (
            self._state(legs.start[may], before, bends),
            self._state(legs.end[may], legs.direction[may], bends + 1),
            legs.length[may],
        )

    def _state(self, node: Ints, direction: Ints | int, bends: int) -> Ints:
        return (bends * self.count + node) * 6 + direction

    def _legs(self) -> Legs:
        """Legs with a free straight, long enough for a bend at either end."""
        least = 2.0 * self.radius + self.run.problem.straight_between_bends
        found = []
        numbers = np.arange(self.count).reshape(self.shape)
        for axis in range(3):
            lines = np.moveaxis(numbers, axis, 0).reshape(self.shape[axis], -1)
            for low, high in itertools.combinations(range(len(lines)), 2):
                length = self._along(lines[high, 0], axis) - self._along(
                    lines[low, 0], axis
                )
                if 1e-8 < abs(length - least) < 1e-5:
                    raise TooCloseError
                if length >= least - 1e-7:
                    found.append(
                        (np.full(lines.shape[1], axis), lines[low], lines[high])
                    )
        if not found:
            none = np.zeros(0, dtype=np.intp)
            return Legs(direction=none, start=none, end=none, length=np.zeros(0))
        axis_of, start, end = (
            np.concatenate(part) for part in zip(*found, strict=True)
        )
        ways = DIRECTIONS[2 * axis_of]
        stretches = straights(
            self.points[start] + self.radius * ways,
            self.points[end] - self.radius * ways,
        )
        free = self._free(stretches, fittings=True)
        axis_of, start, end = axis_of[free], start[free], end[free]
        lengths = np.linalg.norm(self.points[end] - self.points[start], axis=1)
        return Legs(
            direction=np.concatenate([2 * axis_of, 2 * axis_of + 1]),
            start=np.concatenate([start, end]),
            end=np.concatenate([end, start]),
            length=np.concatenate([lengths, lengths]),
        )

    def _along(self, node: int, axis: int) -> float:
        return float(self.points[node, axis])

    def _free(self, stretches, *, fittings: bool) -> NDArray[np.bool_]:
        verdict = worst_verdicts(stretches, self.others, limit=self.reach)
        if fittings:
            own = worst_verdicts(
                stretches, self.own, limit=self.run.problem.tube_radius
            )
            verdict = np.minimum(verdict, own)
        return _sure(verdict)

    def _bends(self) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Free bends by node, direction before, direction after; outer and inner ones.

        A tube's first and last bend stand in front of its own fittings, by the rules,
        and are not measured against them.
        """
        pairs = [(a, b) for a in range(6) for b in range(6) if a // 2 < b // 2]
        node = np.tile(np.arange(self.count), len(pairs))
        away = np.repeat(np.array(pairs), self.count, axis=0)
        stretches = arcs(
            self.points[node],
            DIRECTIONS[away[:, 0]],
            DIRECTIONS[away[:, 1]],
            self.radius,
        )
        result = []
        for fittings in (False, True):
            free = self._free(stretches, fittings=fittings)
            table = np.zeros((self.count, 6, 6), dtype=bool)
            # Arms point away from the node; a leg before comes from where its arm points.
            table[node, away[:, 0] ^ 1, away[:, 1]] = free
            table[node, away[:, 1] ^ 1, away[:, 0]] = free
            result.append(table)
        return result[0], result[1]

    def _end_legs(self, end: TubeEnd) -> tuple[Ints, Array, int]:
        """Nodes at which the leg out of a fitting may end, its length, its direction."""
        seat, along = np.array(end.seat), np.array(end.direction)
        direction = int(np.flatnonzero((along == DIRECTIONS).all(axis=1))[0])
        length = (self.points - seat) @ along
        on_line = np.linalg.norm(self.points - seat - length[:, None] * along, axis=1)
        least = end.straight + self.radius
        if ((on_line < 1e-9) & (np.abs(length - least) > 1e-8)
                & (np.abs(length - least) < 1e-5)).any():  # fmt: skip
            raise TooCloseError
        nodes = np.flatnonzero((on_line < 1e-9) & (length >= least - 1e-7))
        begins = np.tile(seat + end.covered * along, (len(nodes), 1))
        stretches = straights(begins, self.points[nodes] - self.radius * along)
        free = self._free(stretches, fittings=False)
        return nodes[free], length[nodes[free]], direction
