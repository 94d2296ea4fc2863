"""Where all points stand, from all observations at once, and how surely.

Weighted least squares by Gauss and Newton: the sum of ((f(x) - l) / s)^2 is least, with f
the length that the places x give, l the one observed and s its spread. Several values of
one observation count as their mean, whose spread is s / sqrt(n); what they differ among
themselves joins the misfit and its freedom. See P. R. Wolf and C. D. Ghilani, Adjustment
Computations, chapters 11 and 14 (from memory), and JCGM 100:2008 for what is propagated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Flags, Indices, Point, point
from loopsolver.survey.network import Network, Observation
from loopsolver.tolerances import HELD_SHARE, SETTLED, UNIT_LENGTH

_STEPS: Final = 60  # Gauss-Newton needs four or five; with a bad start some more
_HALVINGS: Final = 20  # of a step: to a millionth
_DAMPING: Final = 1e-10  # of a weight: keeps what nothing holds where it is
_NUDGE: Final = 1.0  # [mm] out of a place where a straight distance has no slope


@dataclass(frozen=True, slots=True, kw_only=True)
class Loose:
    """What no observation holds.

    Attributes
    ----------
    point : str
        The station of which one coordinate is taken as it was to begin with.
    axis : int
        Which, 0 to 2.
    moves : tuple of (str, int)
        All coordinates, this one first, that would move with it, by station and axis.
    """

    point: str
    axis: int
    moves: tuple[tuple[str, int], ...]


@dataclass(frozen=True, kw_only=True)
class Adjustment:
    """The adjusted places, with all that tests and forecasts need.

    Attributes
    ----------
    network : Network
    unknowns : tuple of (str, int)
        Station and axis of every coordinate sought.
    places : ndarray, (stations, 3)
        Adjusted places [mm].
    covariance : ndarray, (unknowns, unknowns)
        Of the unknowns, from the stated spreads [mm^2]; nothing for what is loose.
    taken : tuple of Observation
        The observations with values, a row each of what follows.
    design : ndarray, (rows, unknowns)
        How each observation's length changes with each unknown.
    residuals : ndarray, (rows,)
        Adjusted length less the observed mean [mm].
    adrift : ndarray, (loose, unknowns)
        How the unknowns move where a coordinate that nothing holds moves by 1.
    """

    network: Network
    unknowns: tuple[tuple[str, int], ...]
    places: Array = field(repr=False)
    covariance: Array = field(repr=False)
    taken: tuple[Observation, ...] = field(repr=False)
    design: Array = field(repr=False)
    residuals: Array = field(repr=False)
    adrift: Array = field(repr=False)

    @property
    def loose(self) -> tuple[Loose, ...]:
        """What no observation holds; empty where all is held."""
        return tuple(_loose(vector, self.unknowns) for vector in self.adrift)

    @cached_property
    def spreads(self) -> Array:
        """The spread of each row's mean: s / sqrt(n) [mm]."""
        return np.array([one.spread / math.sqrt(len(one.values)) for one in self.taken])

    @cached_property
    def redundancies(self) -> Array:
        """The share of each row that the other rows check, from 0 to 1.

        r = 1 - (A Q A')_ii / s_i^2. Their sum is rows less unknowns held.
        """
        explained = np.einsum("ij,jk,ik->i", self.design, self.covariance, self.design)
        return np.clip(1.0 - explained / self.spreads**2, 0.0, 1.0)

    @cached_property
    def freedom(self) -> int:
        """How many values there are more than are needed, repeats included."""
        values = sum(len(one.values) for one in self.taken)
        return values - len(self.unknowns) + len(self.adrift)

    @cached_property
    def misfit(self) -> float:
        """The sum of ((adjusted - observed) / spread)^2 over all values."""
        between = float(np.sum((self.residuals / self.spreads) ** 2))
        return between + math.fsum(_within(one) for one in self.taken)

    @property
    def scatter(self) -> float:
        """How many times the stated spread the values scatter; 1 where none is to spare."""
        return math.sqrt(self.misfit / self.freedom) if self.freedom else 1.0

    def position(self, point_name: str) -> Point:
        """Return where a point stands [mm]."""
        station, offset = self.network.stand(point_name)
        return point(self.places[station] + offset)

    def position_covariance(self, point_name: str) -> Array:
        """Return the covariance of a point's place, (3, 3) [mm^2].

        Infinite along an axis along which nothing holds it.
        """
        return self._spread_of(self._rows(point_name))

    def relative_covariance(self, start: str, goal: str) -> Array:
        """Return the covariance of goal's place less start's, (3, 3) [mm^2].

        What a tube between them feels. Infinite as for `position_covariance`, though
        not where both are loose alike.
        """
        return self._spread_of(self._rows(goal) - self._rows(start))

    def slope(self, one: Observation) -> Array:
        """Return how an observation's length changes with the unknowns, taken or not."""
        return _Layout.of(self.network, (one,)).design(self.places)[0]

    def length(self, one: Observation) -> float:
        """Return what an observation's length is between the adjusted places [mm]."""
        return float(_Layout.of(self.network, (one,)).lengths(self.places)[0])

    def _rows(self, point_name: str) -> Array:
        """Return how a point's place changes with the unknowns, (3, unknowns)."""
        station = self.network.stations[self.network.stand(point_name)[0]].name
        places = [(station, axis) for axis in range(3)]
        return np.array(
            [[float(one == place) for one in self.unknowns] for place in places]
        ).reshape(3, -1)

    def _spread_of(self, rows: Array) -> Array:
        spread = rows @ self.covariance @ rows.T
        moves = np.abs(rows @ self.adrift.T) > math.sqrt(HELD_SHARE)
        adrift = np.any(moves, axis=1)
        spread[adrift, adrift] = math.inf
        return spread


def adjust(network: Network) -> Adjustment:
    """Return the places that all observations together make most likely.

    What no observation holds stays where its station starts, and is told in `loose`.
    """
    taken = tuple(one for one in network.observations if one.is_taken)
    layout = _Layout.of(network, taken)
    places = _settled(layout, layout.starts)
    normal = layout.normal(places)
    covariance, null = _inverse(normal)
    if null.size and not all(one.along for one in taken):
        moved = layout.moved(places, _NUDGE * np.sum(null, axis=0))
        places = _settled(layout, moved)
        covariance, null = _inverse(layout.normal(places))
    return Adjustment(
        network=network,
        unknowns=layout.unknowns,
        places=places,
        covariance=covariance,
        taken=taken,
        design=layout.design(places),
        residuals=layout.lengths(places) - layout.observed,
        adrift=null,
    )


@dataclass(frozen=True, kw_only=True)
class _Layout:
    """A network as arrays: a row an observation, a column a free coordinate."""

    unknowns: tuple[tuple[str, int], ...]
    starts: Array
    free: Flags
    ends: Indices
    offsets: Array
    along: Array
    straight: Flags
    observed: Array
    spreads: Array

    @classmethod
    def of(cls, network: Network, taken: tuple[Observation, ...]) -> _Layout:
        """Return the arrays of some observations in a network."""
        count = len(taken)
        stands = [(network.stand(one.start), network.stand(one.goal)) for one in taken]
        ends = [(start[0], goal[0]) for start, goal in stands]
        between = [np.subtract(goal[1], start[1]) for start, goal in stands]
        along = [one.along or (0.0, 0.0, 0.0) for one in taken]
        means = [one.length if one.is_taken else 0.0 for one in taken]
        spreads = [one.spread / math.sqrt(len(one.values) or 1) for one in taken]
        free = [[axis in one.free for axis in range(3)] for one in network.stations]
        return cls(
            unknowns=tuple(
                (one.name, axis)
                for one in network.stations
                for axis in range(3)
                if axis in one.free
            ),
            starts=np.array([one.start for one in network.stations], dtype=np.float64),
            free=np.array(free, dtype=np.bool_).reshape(-1, 3),
            ends=np.array(ends, dtype=np.intp).reshape(count, 2),
            offsets=np.array(between, dtype=np.float64).reshape(count, 3),
            along=np.array(along, dtype=np.float64).reshape(count, 3),
            straight=np.array([one.along is None for one in taken], dtype=np.bool_),
            observed=np.array(means, dtype=np.float64),
            spreads=np.array(spreads, dtype=np.float64),
        )

    def _ways(self, places: Array) -> tuple[Array, Array]:
        """Return each row's vector from start to goal, and the direction it is read."""
        ways = places[self.ends[:, 1]] - places[self.ends[:, 0]] + self.offsets
        reach = np.linalg.norm(ways, axis=1, keepdims=True)
        outward = ways / np.maximum(reach, UNIT_LENGTH)
        return ways, np.where(self.straight[:, None], outward, self.along)

    def lengths(self, places: Array) -> Array:
        """Return what each observation would read [mm]."""
        ways, directions = self._ways(places)
        lengths: Array = np.sum(ways * directions, axis=1)
        return lengths

    def design(self, places: Array) -> Array:
        """Return the slopes of all lengths, (rows, unknowns)."""
        _, directions = self._ways(places)
        rows = np.arange(len(self.ends))
        slopes = np.zeros((len(rows), len(self.free), 3))
        slopes[rows, self.ends[:, 1]] += directions
        slopes[rows, self.ends[:, 0]] -= directions
        return slopes[:, self.free]

    def normal(self, places: Array) -> Array:
        """Return the weights of the unknowns, A' P A [1/mm^2]."""
        weighted = self.design(places) / self.spreads[:, None]
        normal: Array = weighted.T @ weighted
        return normal

    def misfit(self, places: Array) -> float:
        """Return the sum of squares that is made least."""
        return float(
            np.sum(((self.lengths(places) - self.observed) / self.spreads) ** 2)
        )

    def moved(self, places: Array, step: Array) -> Array:
        """Return places with the unknowns moved."""
        new = places.copy()
        new[self.free] += step
        return new


def _settled(layout: _Layout, places: Array) -> Array:
    """Return the places from which no Gauss-Newton step leads on."""
    for _ in range(_STEPS):
        weighted = layout.design(places) / layout.spreads[:, None]
        short = (layout.observed - layout.lengths(places)) / layout.spreads
        normal = weighted.T @ weighted
        weights = np.diag(normal)
        damping = np.diag(np.where(weights > 0.0, _DAMPING * weights, 1.0))
        step = np.linalg.solve(normal + damping, weighted.T @ short)
        places = _downhill(layout, places, step)
        if not np.any(np.abs(step) > SETTLED):
            break
    return places


def _downhill(layout: _Layout, places: Array, step: Array) -> Array:
    """Return the places after a step, halved until the misfit does not grow."""
    moved = layout.moved(places, step)
    if not np.any(layout.straight):  # all lengths are linear: the step is the answer
        return moved
    before = layout.misfit(places)
    for _ in range(_HALVINGS):
        if layout.misfit(moved) <= before:
            return moved
        step = 0.5 * step
        moved = layout.moved(places, step)
    return moved


def _inverse(normal: Array) -> tuple[Array, Array]:
    """Return the inverse of the held part of a normal matrix, and what is not held.

    The second has a row for every coordinate that nothing holds: how all unknowns move
    where that one moves by 1 and no observation notices.

    Notes
    -----
    Scaled to a diagonal of 1, the matrix is swept on the greatest diagonal left until
    that is rounding alone (J. H. Goodnight, A tutorial on the SWEEP operator, 1979,
    from memory).
    """
    scale = np.sqrt(np.diag(normal))
    scale[scale == 0.0] = 1.0
    matrix = normal / np.outer(scale, scale)
    try:
        pivots = np.diag(np.linalg.cholesky(matrix))
    except np.linalg.LinAlgError:
        pivots = np.zeros(1)
    if np.all(pivots**2 > HELD_SHARE):
        inverse = np.linalg.inv(matrix) / np.outer(scale, scale)
        return 0.5 * (inverse + inverse.T), np.zeros((0, len(scale)))
    return _swept(matrix, scale)


def _swept(matrix: Array, scale: Array) -> tuple[Array, Array]:
    matrix = matrix.copy()
    left = np.ones(len(scale), dtype=np.bool_)
    while np.any(left):
        number = int(np.argmax(np.where(left, np.diag(matrix), -1.0)))
        pivot = matrix[number, number]
        if pivot <= HELD_SHARE:
            break
        row = matrix[number] / pivot
        column = matrix[:, number].copy()
        matrix -= np.outer(column, row)
        matrix[number], matrix[:, number] = row, -column / pivot
        matrix[number, number] = 1.0 / pivot
        left[number] = False
    held = ~left
    covariance = np.where(np.outer(held, held), matrix, 0.0) / np.outer(scale, scale)
    null = np.zeros((int(np.sum(left)), len(scale)))
    for vector, number in zip(null, np.flatnonzero(left), strict=True):
        vector[held] = -matrix[held, number] / scale[held] * scale[number]
        vector[number] = 1.0
    return 0.5 * (covariance + covariance.T), null


def _loose(vector: Array, unknowns: tuple[tuple[str, int], ...]) -> Loose:
    own = unknowns[int(np.flatnonzero(vector == 1.0)[-1])]
    moving = np.flatnonzero(np.abs(vector) > math.sqrt(HELD_SHARE))
    others = (unknowns[number] for number in moving if unknowns[number] != own)
    return Loose(point=own[0], axis=own[1], moves=(own, *others))


def _within(one: Observation) -> float:
    """Return the squares that repeated values differ by from their own mean."""
    mean = one.length + one.zero
    return math.fsum(((value - mean) / one.spread) ** 2 for value in one.values)
