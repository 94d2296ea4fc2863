"""The least number of stock tubes that a set of pieces can be cut from, exactly.

Whole numbers only: lengths come in as counts of one small unit, so that "does it fit"
has no rounding in it. The saw's width is no business of this module; whoever calls adds
it to every piece and to the stock.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from loopsolver.errors import LoopsolverError
from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import BOUND_SLACK

Pattern = tuple[int, ...]
"""How many pieces of each length are cut from one stock tube, longest length first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """What is to be cut.

    Attributes
    ----------
    stock : int
        Length of one stock tube.
    lengths : tuple of int
        The different lengths, longest first; none is longer than the stock.
    counts : tuple of int
        How many pieces of each length are wanted, at least one.
    """

    stock: int
    lengths: tuple[int, ...]
    counts: tuple[int, ...]

    @classmethod
    def of(cls, pieces: Sequence[int], *, stock: int) -> Demand:
        """Return the demand for single pieces, equal ones counted together.

        Raises
        ------
        LoopsolverError
            If a piece is longer than the stock, or shorter than one unit.
        """
        tally = Counter(pieces)
        lengths = tuple(sorted(tally, reverse=True))
        if lengths and not 0 < lengths[-1] <= lengths[0] <= stock:
            msg = f"pieces must be from 1 to {stock} long, found {lengths[0]}"
            raise LoopsolverError(msg)
        counts = tuple(tally[length] for length in lengths)
        return cls(stock=stock, lengths=lengths, counts=counts)


def least_stock(demand: Demand) -> tuple[Pattern, ...]:
    """Return the cutting of the demand that needs the fewest stock tubes.

    Every pattern is one tube; together they hold exactly the pieces wanted, the fullest
    tubes first. Equal input gives equal output.

    Notes
    -----
    First-fit decreasing gives a first answer, column generation [1]_ a bound. Where
    they differ, an integer programme chooses among the generated patterns, and, where
    that still leaves room, among all patterns whose reduced cost is small enough for an
    answer with a tube less. No better answer can use any other pattern, so the last
    programme's optimum is the optimum.

    References
    ----------
    .. [1] P. C. Gilmore, R. E. Gomory, A linear programming approach to the
       cutting-stock problem, Operations Research 9 (1961) 849-859.
    """
    best = first_fit(demand)
    if len(best) <= simple_bound(demand):
        return _in_order(best, demand)
    patterns, prices = _generate(demand, best)
    bound = float(prices @ np.array(demand.counts))
    if len(best) > _whole(bound):
        best = _choose(patterns, demand)
    if len(best) > _whole(bound):
        room = len(best) - 1 - bound
        every = list(_patterns(demand, prices, at_least=1.0 - room - BOUND_SLACK))
        found = _choose(every, demand, at_most=len(best) - 1)
        best = found or best
    return _in_order(best, demand)


def first_fit(demand: Demand) -> tuple[Pattern, ...]:
    """Return the cutting that lays each piece, longest first, where it first fits."""
    tubes: list[list[int]] = []
    free: list[int] = []
    for kind, (length, count) in enumerate(
        zip(demand.lengths, demand.counts, strict=True)
    ):
        for _ in range(count):
            tube = next((i for i, rest in enumerate(free) if rest >= length), len(free))
            if tube == len(free):
                tubes.append([0] * len(demand.lengths))
                free.append(demand.stock)
            tubes[tube][kind] += 1
            free[tube] -= length
    return tuple(tuple(tube) for tube in tubes)


def simple_bound(demand: Demand) -> int:
    """Return a number of tubes that no cutting can do with less than.

    The larger of what the material alone asks for and the number of pieces longer than
    half a tube, no two of which share one.
    """
    pairs = list(zip(demand.lengths, demand.counts, strict=True))
    total = sum(length * count for length, count in pairs)
    long = sum(count for length, count in pairs if 2 * length > demand.stock)
    return max(-(-total // demand.stock), long)


def _whole(bound: float) -> int:
    """Return the fewest tubes that a fractional bound allows."""
    return math.ceil(bound - BOUND_SLACK)


def _generate(demand: Demand, start: Sequence[Pattern]) -> tuple[list[Pattern], Array]:
    """Return patterns that span the best fractional cutting, and the pieces' prices.

    No pattern's pieces are worth more than one tube at these prices, so that prices
    times counts is a bound from below.
    """
    from scipy.optimize import linprog

    patterns = list(dict.fromkeys(start))
    wanted = np.array(demand.counts, dtype=np.float64)
    while True:
        columns = np.array(patterns, dtype=np.float64).T
        answer = linprog(
            np.ones(len(patterns)), A_ub=-columns, b_ub=-wanted, method="highs-ds"
        )
        prices = np.maximum(-answer.ineqlin.marginals, 0.0)
        pattern, worth = _dearest(demand, prices)
        if worth <= 1.0 + BOUND_SLACK or pattern in patterns:
            return patterns, prices / max(1.0, worth)
        patterns.append(pattern)


def _dearest(demand: Demand, prices: Array) -> tuple[Pattern, float]:
    """Return the pattern that is worth most at the given prices, and its worth."""
    best: tuple[Pattern, float] = ((), -1.0)
    search = _PatternSearch(demand, prices)
    for pattern, worth in search.run():
        if worth > best[1]:
            best = (pattern, worth)
            search.at_least = worth + BOUND_SLACK
    return best


def _patterns(demand: Demand, prices: Array, *, at_least: float) -> Iterator[Pattern]:
    """Yield every full pattern that is worth `at_least` at the given prices."""
    search = _PatternSearch(demand, prices)
    search.at_least = at_least
    for pattern, _ in search.run():
        yield pattern


class _PatternSearch:
    """Depth-first through all full patterns, dearest pieces for their length first.

    `at_least` may be raised while it runs: branches that cannot reach it are left out.
    """

    def __init__(self, demand: Demand, prices: Array) -> None:
        dear = prices / np.array(demand.lengths, dtype=np.float64)
        self.order = sorted(range(len(dear)), key=lambda kind: (-dear[kind], kind))
        self.rate = [float(dear[kind]) for kind in self.order]
        self.price = [float(prices[kind]) for kind in self.order]
        self.length = [demand.lengths[kind] for kind in self.order]
        self.left = [demand.counts[kind] for kind in self.order]
        self.taken = [0] * len(self.order)
        self.stock = demand.stock
        self.at_least = -math.inf

    def run(self) -> Iterator[tuple[Pattern, float]]:
        """Yield full patterns, in the demand's order of lengths, with their worth."""
        return self._deeper(0, self.stock, 0.0)

    def _deeper(
        self, first: int, free: int, worth: float
    ) -> Iterator[tuple[Pattern, float]]:
        if worth >= self.at_least and self._is_full(free):
            yield self._pattern(), worth
        for kind in range(first, len(self.order)):
            if worth + free * self.rate[kind] < self.at_least:
                break
            if self.left[kind] and self.length[kind] <= free:
                self._take(kind, 1)
                yield from self._deeper(
                    kind, free - self.length[kind], worth + self.price[kind]
                )
                self._take(kind, -1)

    def _take(self, kind: int, pieces: int) -> None:
        self.taken[kind] += pieces
        self.left[kind] -= pieces

    def _is_full(self, free: int) -> bool:
        return not any(
            left and length <= free
            for left, length in zip(self.left, self.length, strict=True)
        )

    def _pattern(self) -> Pattern:
        counts = [0] * len(self.order)
        for place, kind in enumerate(self.order):
            counts[kind] = self.taken[place]
        return tuple(counts)


def _choose(
    patterns: Sequence[Pattern], demand: Demand, *, at_most: int | None = None
) -> tuple[Pattern, ...]:
    """Return the fewest of the given patterns, repeats allowed, that hold the demand.

    Empty where `at_most` of them cannot hold it.

    Raises
    ------
    LoopsolverError
        If the integer programme stops without a proof.
    """
    from scipy.optimize import LinearConstraint, milp

    columns = np.array(patterns, dtype=np.float64).T.reshape(len(demand.counts), -1)
    if not columns.size:
        return ()
    rules = [LinearConstraint(columns, lb=demand.counts)]
    if at_most is not None:
        rules.append(LinearConstraint(np.ones((1, columns.shape[1])), ub=at_most))
    answer = milp(
        np.ones(columns.shape[1]),
        constraints=rules,
        integrality=np.ones(columns.shape[1]),
        options={"mip_rel_gap": 0.0},
    )
    if answer.status == _INFEASIBLE and at_most is not None:
        return ()
    if answer.status != _OPTIMAL:
        msg = f"the cut plan could not be proved least: {answer.message}"
        raise LoopsolverError(msg)
    chosen = [
        pattern
        for pattern, times in zip(patterns, np.rint(answer.x).astype(int), strict=True)
        for _ in range(times)
    ]
    return _without_surplus(chosen, demand)


_OPTIMAL = 0
_INFEASIBLE = 2
"""Status numbers of scipy.optimize.milp, as its documentation gives them."""


def _without_surplus(chosen: Sequence[Pattern], demand: Demand) -> tuple[Pattern, ...]:
    """Return the patterns with what they hold beyond the demand left out, last first."""
    surplus = [
        sum(column) - count
        for column, count in zip(zip(*chosen, strict=True), demand.counts, strict=True)
    ]
    if min(surplus) < 0:
        msg = "the integer programme's cut plan misses pieces"
        raise LoopsolverError(msg)
    kept: list[Pattern] = []
    for pattern in sorted(chosen):
        spare = [min(held, over) for held, over in zip(pattern, surplus, strict=True)]
        surplus = [over - less for over, less in zip(surplus, spare, strict=True)]
        kept.append(
            tuple(held - less for held, less in zip(pattern, spare, strict=True))
        )
    return tuple(pattern for pattern in kept if any(pattern))


def _in_order(tubes: Sequence[Pattern], demand: Demand) -> tuple[Pattern, ...]:
    """Return the tubes, the fullest first and, equally full, the longest piece first."""

    def used(tube: Pattern) -> int:
        return sum(a * b for a, b in zip(tube, demand.lengths, strict=True))

    return tuple(
        sorted(tubes, key=lambda tube: (-used(tube), tuple(-n for n in tube)))
    )
