"""Many small problems at once: the move that makes the greatest of some lengths least.

Each problem has its own values b and shares the rows of all: of ``r = b + A x`` the first
rows come in pairs, each of which counts by its length, and the last ones by themselves,
each with its own limits either way. What is least is the greatest share t of their limits.
It is a second-order cone programme, solved by a barrier method: S. Boyd and
L. Vandenberghe, Convex Optimization (2004), sections 11.3 and 11.6 (from memory). Whatever
the last step leaves out, the move that is returned takes no more than the share returned.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import NO_SHARE

_LEVELS: Final = (30.0, 100.0, 300.0, 1000.0, 3000.0, 3000.0)
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
    pairs : ndarray, (2 pairs, unknowns)
        Divided by their limits.
    singles : ndarray, (singles, unknowns)
    low, high : ndarray, (singles,)
        How far below and above 0 a single row may be, both above 0.
    grows : float
        1 where these grow with the share, so that all is one measure of distance; 0 where
        they hold as they are.
    """

    pairs: Array
    singles: Array
    low: Array
    high: Array
    grows: float

    @cached_property
    def rows(self) -> Array:
        """All rows, pairs first."""
        return np.concatenate([self.pairs, self.singles])

    @cached_property
    def products(self) -> Array:
        """What each weight of the Hessian adds to each of its entries."""
        first, second = self.pairs[0::2], self.pairs[1::2]
        both = np.einsum("ki,kj->kij", first, second)
        every = [
            np.einsum("ki,kj->kij", first, first),
            both + both.transpose(0, 2, 1),
            np.einsum("ki,kj->kij", second, second),
            np.einsum("ki,kj->kij", self.singles, self.singles),
        ]
        unknowns = self.rows.shape[1]
        return np.concatenate(every).reshape(-1, unknowns * unknowns)

    def bounds(self, share: Array) -> tuple[Array, Array]:
        """Return how far below and above 0 the single rows may be at some shares."""
        grown = self.grows * share + (1.0 - self.grows)
        return np.outer(self.low, grown), np.outer(self.high, grown)

    def shares(self, values: Array) -> Array:
        """Return the share of their limits that rows take, by (rows, problems)."""
        pairs = len(self.pairs)
        lengths = np.hypot(values[0:pairs:2], values[1:pairs:2])
        single = values[pairs:]
        ratios = np.maximum(single / self.high[:, None], -single / self.low[:, None])
        return np.concatenate([lengths, ratios])


class Least(NamedTuple):
    """The best move of each problem.

    Attributes
    ----------
    moves : ndarray, (unknowns, problems)
    shares : ndarray, (problems,)
        The greatest share of a limit that is then taken.
    pulls : ndarray, (rows, problems)
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
    values : ndarray, (rows, problems)
    """
    weights = 1.0 / np.concatenate(
        [np.ones(len(limits.pairs)), np.minimum(limits.low, limits.high)]
    )
    start = -np.linalg.pinv(weights[:, None] * limits.rows) @ (
        weights[:, None] * values
    )
    return better(limits, values, start)


def better(limits: Limits, values: Array, moves: Array) -> Least:
    """Return the best moves, from moves that keep every limit that holds as it is."""
    taken = limits.shares(values + limits.rows @ moves)
    singles = len(limits.low)
    counted = taken if limits.grows else taken[:-singles]
    share = _ROOM_AT_FIRST * np.maximum(counted.max(axis=0), NO_SHARE)
    for level in _LEVELS:
        state = _State.of(limits, values, moves, share)
        step, more = state.newton_step(level)
        change = limits.rows @ step
        reach = state.reach(change, more)
        moves, share = moves + reach * step, share + reach * more
    pulls = (state.slopes + state.bent(change, more)) * state.share / _LEVELS[-1]
    return Least(moves, limits.shares(values + limits.rows @ moves).max(axis=0), pulls)


class _State(NamedTuple):
    """Where a barrier method stands: rows, and how far each is from its limit."""

    limits: Limits
    share: Array
    rows: Array
    room: Array  # of each pair: share^2 less its length squared
    below: Array  # of each single row, from its least
    above: Array

    @classmethod
    def of(cls, limits: Limits, values: Array, moves: Array, share: Array) -> _State:
        rows = values + limits.rows @ moves
        pairs = len(limits.pairs)
        room = share**2 - rows[0:pairs:2] ** 2 - rows[1:pairs:2] ** 2
        low, high = limits.bounds(share)
        return cls(limits, share, rows, room, rows[pairs:] + low, high - rows[pairs:])

    @property
    def slopes(self) -> Array:
        """How the barrier grows with each row."""
        pairs = len(self.limits.pairs)
        of_pairs = 2.0 * self.rows[:pairs] / np.repeat(self.room, 2, axis=0)
        return np.concatenate([of_pairs, 1.0 / self.above - 1.0 / self.below])

    def bent(self, rows: Array, more: Array) -> Array:
        """Return by how much the slopes change with a step of rows and share.

        After Newton's step they sum up to nothing along every move, however near the
        centre is: they then weigh the values as the dual programme does.
        """
        pairs = len(self.limits.pairs)
        room, own, low, high = self.room, self.rows[:pairs], *self._growing
        ahead = (own * rows[:pairs]).reshape(pairs // 2, 2, -1).sum(axis=1)
        sharp = 4.0 * (ahead - self.share * more) / room**2
        of_pairs = np.repeat(2.0 / room, 2, axis=0) * rows[:pairs]
        of_pairs += np.repeat(sharp, 2, axis=0) * own
        below, above = self.below**-2, self.above**-2
        of_singles = (below + above) * rows[pairs:] + (
            low * below - high * above
        ) * more
        return np.concatenate([of_pairs, of_singles])

    @property
    def _growing(self) -> tuple[Array, Array]:
        """How the limits of single rows grow with the share."""
        limits = self.limits
        return limits.grows * limits.low[:, None], limits.grows * limits.high[:, None]

    def newton_step(self, level: float) -> tuple[Array, Array]:
        """Return Newton's step for moves and share."""
        limits, share, room = self.limits, self.share, self.room
        pairs = len(limits.pairs)
        first, second = self.rows[0:pairs:2], self.rows[1:pairs:2]
        sharp = 4.0 / room**2
        below, above = 1.0 / self.below, 1.0 / self.above
        low, high = self._growing
        weights = [2.0 / room + sharp * first**2, sharp * first * second]
        weights += [2.0 / room + sharp * second**2, below**2 + above**2]
        unknowns = limits.rows.shape[1]
        hessian = np.empty((len(share), unknowns + 1, unknowns + 1))
        of_moves = np.concatenate(weights).T @ limits.products
        hessian[:, :-1, :-1] = of_moves.reshape(-1, unknowns, unknowns)
        mixed = -np.repeat(sharp, 2, axis=0) * share * self.rows[:pairs]
        mixed = np.concatenate([mixed, low * below**2 - high * above**2])
        hessian[:, -1, :-1] = hessian[:, :-1, -1] = mixed.T @ limits.rows
        hessian[:, -1, -1] = (sharp * share**2 - 2.0 / room).sum(axis=0)
        hessian[:, -1, -1] += ((low * below) ** 2 + (high * above) ** 2).sum(axis=0)
        slope = np.empty((len(share), unknowns + 1))
        slope[:, :-1] = self.slopes.T @ limits.rows
        slope[:, -1] = level / share - (2.0 * share / room).sum(axis=0)
        slope[:, -1] -= (low * below + high * above).sum(axis=0)
        step = -np.linalg.solve(hessian, slope[:, :, None])[:, :, 0].T
        return step[:-1], step[-1]

    def reach(self, rows: Array, more: Array) -> Array:
        """Return what part of a step keeps every limit, at most all of it."""
        pairs = len(self.limits.pairs)
        grown = self.limits.grows * more
        ahead = self.share * more - (self.rows[:pairs] * rows[:pairs]).reshape(
            pairs // 2, 2, -1
        ).sum(axis=1)
        curve = more**2 - rows[0:pairs:2] ** 2 - rows[1:pairs:2] ** 2
        root = np.sqrt(np.maximum(ahead**2 - curve * self.room, 0.0))
        falls = [(root - ahead) / self.room]
        falls += [-(rows[pairs:] + np.outer(self.limits.low, grown)) / self.below]
        falls += [(rows[pairs:] - np.outer(self.limits.high, grown)) / self.above]
        fastest = np.concatenate(falls).max(axis=0)
        part: Array = _NOT_QUITE / np.maximum(fastest, _NOT_QUITE)
        return part
