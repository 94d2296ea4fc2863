"""A network as arrays, the places of least squares in it, and their covariance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.survey.network import Network, Observation
from loopsolver.tolerances import HELD_SHARE, SETTLED, UNIT_LENGTH

_STEPS: Final = 60  # Gauss-Newton needs four or five; with a bad start some more
_HALVINGS: Final = 20  # of a step: to a millionth
_DAMPING: Final = 1e-10  # of a weight: keeps what nothing holds where it is


@dataclass(frozen=True, kw_only=True)
class Layout:
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
    def of(cls, network: Network, taken: tuple[Observation, ...]) -> Layout:
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
        design: Array = slopes[:, self.free]
        return design

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


def settled(layout: Layout, places: Array) -> Array:
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


def _downhill(layout: Layout, places: Array, step: Array) -> Array:
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


def inverse(normal: Array) -> tuple[Array, Array]:
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
        full: Array = np.linalg.inv(matrix) / np.outer(scale, scale)
        return 0.5 * (full + full.T), np.zeros((0, len(scale)))
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
    for vector, free in zip(null, np.flatnonzero(left), strict=True):
        vector[held] = -matrix[held, free] / scale[held] * scale[free]
        vector[free] = 1.0
    return 0.5 * (covariance + covariance.T), null
