"""A network as arrays, the places of least squares in it, and their covariance."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.survey.network import Network, Observation
from loopsolver.tolerances import DAMPED, HELD_SHARE, SETTLED, UNIT_LENGTH

_STEPS: Final = 60  # Gauss-Newton needs four or five; with a bad start some more
_HALVINGS: Final = 20  # of a step: to a millionth


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Some observations of a network as arrays: a row each, a column a free coordinate.

    Attributes
    ----------
    unknowns : tuple of (str, int)
        Station and axis of each column.
    starts : ndarray, (stations, 3)
        Where stations start [mm].
    columns : ndarray, (rows, 6)
        Those of an observation's start and then of its goal, along x, y and z; one more
        than there are where a coordinate is known.
    """

    unknowns: tuple[tuple[str, int], ...]
    starts: Array
    columns: Indices
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
        count, stations = len(taken), network.stations
        stands = [(network.stand(one.start), network.stand(one.goal)) for one in taken]
        between = [np.subtract(goal[1], start[1]) for start, goal in stands]
        along = [one.along or (0.0, 0.0, 0.0) for one in taken]
        means = [one.length if one.is_taken else 0.0 for one in taken]
        spreads = [one.spread / math.sqrt(len(one.values) or 1) for one in taken]
        ends = np.array([[one[0] for one in pair] for pair in stands], dtype=np.intp)
        ends = ends.reshape(count, 2)
        free = np.zeros((len(stations), 3), dtype=np.bool_)
        for number, station in enumerate(stations):
            free[number, list(station.free)] = True
        numbers = np.full(free.shape, np.sum(free), dtype=np.intp)
        numbers[free] = np.arange(np.sum(free))
        return cls(
            unknowns=tuple(
                (stations[row].name, int(axis)) for row, axis in np.argwhere(free)
            ),
            starts=np.array([one.start for one in stations], dtype=np.float64),
            columns=numbers[ends].reshape(count, 6),
            free=free,
            ends=ends,
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

    def slopes(self, places: Array) -> Array:
        """Return how each length changes with the coordinates of `columns`, (rows, 6)."""
        _, directions = self._ways(places)
        return np.hstack([-directions, directions])

    def design(self, places: Array) -> Array:
        """Return how each length changes with each unknown, (rows, unknowns)."""
        design = np.zeros((len(self.ends), len(self.unknowns) + 1))
        rows = np.arange(len(self.ends))[:, None]
        np.add.at(design, (rows, self.columns), self.slopes(places))
        return design[:, :-1]

    def normal(self, places: Array) -> Array:
        """Return the weights of the unknowns, A' P A [1/mm^2]."""
        weighted = self.slopes(places) / self.spreads[:, None]
        normal = np.zeros((len(self.unknowns) + 1,) * 2)
        pairs = (self.columns[:, :, None], self.columns[:, None, :])
        np.add.at(normal, pairs, weighted[:, :, None] * weighted[:, None, :])
        return normal[:-1, :-1]

    def pull(self, places: Array) -> Array:
        """Return how the observations pull at the unknowns, A' P (l - f) [1/mm]."""
        short = (self.observed - self.lengths(places)) / self.spreads**2
        pull = np.zeros(len(self.unknowns) + 1)
        np.add.at(pull, self.columns, self.slopes(places) * short[:, None])
        return pull[:-1]

    def variances(self, places: Array, covariance: Array) -> Array:
        """Return the variance of each length, given that of the unknowns [mm^2]."""
        padded = np.pad(covariance, (0, 1))
        slopes = self.slopes(places)
        among = padded[self.columns[:, :, None], self.columns[:, None, :]]
        variances: Array = np.einsum("ra,rab,rb->r", slopes, among, slopes)
        return variances

    def misfit(self, places: Array) -> float:
        """Return the sum of squares that is made least."""
        short = (self.lengths(places) - self.observed) / self.spreads
        return float(np.sum(short**2))

    def moved(self, places: Array, step: Array) -> Array:
        """Return places with the unknowns moved."""
        new = places.copy()
        new[self.free] += step
        return new


def settled(layout: Layout, places: Array) -> Array:
    """Return the places from which no Gauss-Newton step leads on."""
    for _ in range(_STEPS):
        normal = layout.normal(places)
        weights = np.diag(normal)
        damping = np.diag(np.where(weights > 0.0, DAMPED * weights, 1.0))
        pull, step = layout.pull(places), np.zeros(len(weights))
        for block in _blocks(normal):
            among = (normal + damping)[block[:, :, None], block[:, None, :]]
            step[block] = np.linalg.solve(among, pull[block][:, :, None])[:, :, 0]
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


def _blocks(normal: Array) -> Iterator[Indices]:
    """Yield the unknowns that observations join, (blocks, size), of one size together.

    What no observation joins is solved each for itself: most coordinates are written
    once and by themselves, and small systems take a fraction of the time of a large one.
    """
    joined = normal != 0.0
    np.fill_diagonal(joined, val=True)
    labels = np.arange(len(normal))
    while True:
        lowest = np.min(
            np.where(joined, labels, len(normal)), axis=1, initial=len(normal)
        )
        if np.array_equal(lowest, labels):
            break
        labels = lowest
    order = np.argsort(labels, kind="stable")
    _, counts = np.unique(labels, return_counts=True)
    firsts = np.cumsum(counts) - counts
    for size in np.unique(counts):
        yield order[firsts[counts == size][:, None] + np.arange(size)]


def inverse(normal: Array) -> tuple[Array, Array]:
    """Return the inverse of the held part of a normal matrix, and what is not held.

    The second has a row for every coordinate that nothing holds: how all unknowns move
    where that one moves by 1 and no observation notices.

    Notes
    -----
    Scaled to a diagonal of 1, the matrix is inverted block by block. Where that fails it
    is swept on the greatest diagonal left until that is rounding alone (J. H. Goodnight,
    A tutorial on the SWEEP operator, 1979, from memory).
    """
    scale = np.sqrt(np.diag(normal))
    scale[scale == 0.0] = 1.0
    matrix = normal / np.outer(scale, scale)
    full = np.zeros_like(matrix)
    for block in _blocks(matrix):
        among = matrix[block[:, :, None], block[:, None, :]]
        if not _is_held(among):
            return _swept(matrix, scale)
        full[block[:, :, None], block[:, None, :]] = np.linalg.inv(among)
    full /= np.outer(scale, scale)
    return 0.5 * (full + full.T), np.zeros((0, len(scale)))


def _is_held(blocks: Array) -> bool:
    """Whether no pivot of any block is rounding alone; their diagonals are 1."""
    try:
        pivots = np.diagonal(np.linalg.cholesky(blocks), axis1=1, axis2=2)
    except np.linalg.LinAlgError:
        return False
    return bool(np.all(pivots**2 > HELD_SHARE))


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
