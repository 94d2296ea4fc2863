"""Many small problems at once: the move that makes the greatest of some lengths least.

Each problem has values b and rows A, its own or those of all: of ``r = b + A x`` the first
come in pairs, each of which counts by its length, and the last ones by themselves, each
with its own limits either way. What is least is the greatest share t of their limits. It
is a second-order cone programme, solved by a barrier method: S. Boyd and L. Vandenberghe,
Convex Optimization (2004), sections 11.3 and 11.6 (from memory). Whatever the last step
leaves out, the move that is returned takes no more than the share returned.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple, cast

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import NO_SHARE

_LEVELS: Final = (40.0, 200.0, 1000.0, 3000.0)
"""Weights of the share against the barrier, a Newton step each.

At a centre the share is too great by the number of barriers over the weight: 14 / 3000.
"""
_NOT_QUITE: Final = 0.9  # of the way to where a limit would be met
_ROOM_AT_FIRST: Final = 1.3  # of the share with which the first move is taken


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What rows may come to: shares of one for the pairs, their own for single rows.

    Attributes
    ----------
    rows : ndarray, (rows, unknowns), or with a problem each before these
        Pairs first, divided by their limits; as many single ones as `low` has.
    low, high : ndarray, (singles,)
        How far below and above 0 a single row may be, both above 0.
    grows : float
        1 where these grow with the share, so that all is one measure of distance; 0 where
        they hold as they are.
    """

    rows: Array
    low: Array
    high: Array
    grows: float = 1.0

    @property
    def paired(self) -> int:
        """How many rows come in pairs."""
        return int(self.rows.shape[-2]) - len(self.low)

    @cached_property
    def products(self) -> Array:
        """What each weight of the Hessian adds to each of its entries."""
        pairs, singles = (
            self.rows[..., : self.paired, :],
            self.rows[..., self.paired :, :],
        )
        first, second = pairs[..., 0::2, :], pairs[..., 1::2, :]
        mixed = _products(first, second) + _products(second, first)
        own = (_products(one, one) for one in (first, second, singles))
        of_first, of_second, of_singles = own
        return np.concatenate([of_first, mixed, of_second, of_singles], axis=-2)

    def bounds(self, share: Array) -> tuple[Array, Array]:
        """Return how far below and above 0 the single rows may be at some shares."""
        grown = self.grows * share + (1.0 - self.grows)
        return np.outer(grown, self.low), np.outer(grown, self.high)

    def values(self, moves: Array) -> Array:
        """Return what rows come to by moves, (problems, rows)."""
        return _times(moves, self.rows.swapaxes(-1, -2))

    def shares(self, values: Array) -> Array:
        """Return the share of its limit that each pair and single row takes."""
        lengths = np.hypot(
            values[:, 0 : self.paired : 2], values[:, 1 : self.paired : 2]
        )
        single = values[:, self.paired :]
        ratios = np.maximum(single / self.high, -single / self.low)
        return np.concatenate([lengths, ratios], axis=1)


class Least(NamedTuple):
    """The best move of each problem.

    Attributes
    ----------
    moves : ndarray, (problems, unknowns)
    shares : ndarray, (problems,)
        The greatest share of a limit that is then taken.
    pulls : ndarray, (problems, rows)
        How the share grows with each value.
    """

    moves: Array
    shares: Array
    pulls: Array


def least_share(limits: Limits, values: Array) -> Least:
    """Return the moves that take the least share of limits that grow with it.

    Parameters
    ----------
    limits : Limits
    values : ndarray, (problems, rows)
    """
    weights = 1.0 / np.concatenate(
        [np.ones(limits.paired), np.minimum(limits.low, limits.high)]
    )
    weighed = cast("Array", np.linalg.pinv(weights[:, None] * limits.rows))
    start = -_times(weights * values, weighed.swapaxes(-1, -2))
    return better(limits, values, start)


def better(limits: Limits, values: Array, moves: Array) -> Least:
    """Return the best moves, from moves that keep every limit that holds as it is."""
    taken = limits.shares(values + limits.values(moves))
    counted = taken if limits.grows else taken[:, : limits.paired // 2]
    share = _ROOM_AT_FIRST * np.maximum(counted.max(axis=1), NO_SHARE)
    for level in _LEVELS:
        state = _State.of(limits, values, moves, share)
        step, more = state.newton_step(level)
        change = limits.values(step)
        reach = state.reach(change, more)
        moves, share = moves + reach[:, None] * step, share + reach * more
    pulls = (
        (state.slopes + state.bent(change, more)) * state.share[:, None] / _LEVELS[-1]
    )
    least = limits.shares(values + limits.values(moves)).max(axis=1)
    return Least(moves, least, pulls)


class _State(NamedTuple):
    """Where a barrier method stands: rows, and how far each is from its limit."""

    limits: Limits
    share: Array
    first: Array  # of each pair, (problems, pairs)
    second: Array
    room: Array  # of each pair: share^2 less its length squared
    below: Array  # one over how far each single row is from its least
    above: Array

    @classmethod
    def of(cls, limits: Limits, values: Array, moves: Array, share: Array) -> _State:
        first, second, single = _parted(limits, values + limits.values(moves))
        room = (share**2)[:, None] - first**2 - second**2
        low, high = limits.bounds(share)
        below, above = 1.0 / (single + low), 1.0 / (high - single)
        return cls(limits, share, first, second, room, below, above)

    @property
    def slopes(self) -> Array:
        """How the barrier grows with each row."""
        twice = 2.0 / self.room
        return _joined(twice * self.first, twice * self.second, self.above - self.below)

    def bent(self, rows: Array, more: Array) -> Array:
        """Return by how much the slopes change with a step of rows and share.

        After Newton's step they sum up to nothing along every move, however near the
        centre is: they then weigh the values as the dual programme does.
        """
        first, second, single = _parted(self.limits, rows)
        ahead = self.first * first + self.second * second - (self.share * more)[:, None]
        twice, sharp = 2.0 / self.room, 4.0 * ahead / self.room**2
        return _joined(
            twice * first + sharp * self.first,
            twice * second + sharp * self.second,
            (self.below**2 + self.above**2) * single + self._growing * more[:, None],
        )

    @property
    def _growing(self) -> Array:
        """How the slopes of single rows change as their limits grow with the share."""
        limits = self.limits
        return limits.grows * (limits.low * self.below**2 - limits.high * self.above**2)

    def newton_step(self, level: float) -> tuple[Array, Array]:
        """Return Newton's step for moves and share."""
        limits, share, first, second = self.limits, self.share, self.first, self.second
        twice = 2.0 / self.room
        sharp, grown = twice**2, share[:, None] * twice
        low, high = limits.low * self.below, limits.high * self.above
        weights = [twice + sharp * first**2, sharp * first * second]
        weights += [twice + sharp * second**2, self.below**2 + self.above**2]
        of_moves = _times(np.concatenate(weights, axis=1), limits.products)
        lean = -twice * grown
        mixed = _joined(lean * first, lean * second, self._growing)
        unknowns = limits.rows.shape[-1]
        hessian = np.empty((len(share), unknowns + 1, unknowns + 1))
        hessian[:, :-1, :-1] = of_moves.reshape(-1, unknowns, unknowns)
        hessian[:, -1, :-1] = hessian[:, :-1, -1] = _times(mixed, limits.rows)
        hessian[:, -1, -1] = _summed(grown**2 - twice)
        hessian[:, -1, -1] += limits.grows * _summed(low**2 + high**2)
        slope = np.empty((len(share), unknowns + 1))
        slope[:, :-1] = _times(self.slopes, limits.rows)
        slope[:, -1] = level / share - _summed(grown)
        slope[:, -1] -= limits.grows * _summed(low + high)
        step = -np.linalg.solve(hessian, slope[:, :, None])[:, :, 0]
        return step[:, :-1], step[:, -1]

    def reach(self, rows: Array, more: Array) -> Array:
        """Return what part of a step keeps every limit, at most all of it."""
        first, second, single = _parted(self.limits, rows)
        ahead = (self.share * more)[:, None] - self.first * first - self.second * second
        curve = (more**2)[:, None] - first**2 - second**2
        root = np.sqrt(np.maximum(ahead**2 - curve * self.room, 0.0))
        grown = self.limits.grows * more[:, None]
        falls = [
            (root - ahead) / self.room,
            -(single + grown * self.limits.low) * self.below,
            (single - grown * self.limits.high) * self.above,
        ]
        fastest = np.concatenate(falls, axis=1).max(axis=1)
        part: Array = _NOT_QUITE / np.maximum(fastest, _NOT_QUITE)
        return part


def _times(vectors: Array, matrices: Array) -> Array:
    """Return vectors, a row each, times the matrix of all or each its own."""
    if matrices.ndim == 2:
        return vectors @ matrices
    product: Array = (vectors[:, None, :] @ matrices)[:, 0]
    return product


def _products(first: Array, second: Array) -> Array:
    """Return every row times every row of its own place, laid out in a line."""
    every = first[..., :, None] * second[..., None, :]
    return every.reshape(*every.shape[:-2], -1)


def _parted(limits: Limits, rows: Array) -> tuple[Array, Array, Array]:
    """Return the first and the second of all pairs, and single rows, (problems, each)."""
    paired = limits.paired
    return rows[:, 0:paired:2], rows[:, 1:paired:2], rows[:, paired:]


def _joined(first: Array, second: Array, single: Array) -> Array:
    """Return rows in order, of the first and the second of all pairs, and single ones."""
    paired = 2 * first.shape[1]
    rows = np.empty((len(first), paired + single.shape[1]))
    rows[:, 0:paired:2], rows[:, 1:paired:2] = first, second
    rows[:, paired:] = single
    return rows


def _summed(rows: Array) -> Array:
    """Return the sums of rows: as a product, which is quicker for short ones."""
    sums: Array = rows @ np.ones(rows.shape[1])
    return sums
