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
from itertools import islice
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.errors import LoopsolverError
from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import BOUND_SLACK

Pattern = tuple[int, ...]
"""How many pieces of each length are cut from one stock tube, longest length first."""

MOST_PATTERNS: Final = 50_000
"""Patterns that the last integer programme may choose from; with more it gives up."""

MOST_STEPS: Final = 4_000_000
"""Steps that the search for those patterns may take: some seconds at most."""

MOST_NODES: Final = 20_000
"""Branches that an integer programme may look at. Counted, not timed: same answer on
every machine."""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """How the demand is cut.

    Attributes
    ----------
    patterns : tuple of Pattern
        One a stock tube, the fullest tubes first; together exactly the pieces wanted.
    bound : int
        A number of tubes that no cutting can do with less than.
    """

    patterns: tuple[Pattern, ...]
    bound: int

    @property
    def is_least(self) -> bool:
        """Whether it is proved that no cutting needs fewer tubes."""
        return len(self.patterns) <= self.bound


def least_stock(demand: Demand) -> Cutting:
    """Return the cutting of the demand that needs the fewest stock tubes.

    Equal input gives equal output. Some demands in which a great many small pieces must
    fit to a hair cannot be settled by anybody in reasonable time: then `bound` is below
    the number of tubes, and nothing is claimed.

    Notes
    -----
    Two quick fillings give a first answer, column generation [1]_ a bound. Where
    they differ, an integer programme chooses among the generated patterns, and, where
    that still leaves room, among all patterns whose reduced cost is small enough for an
    answer with a tube less. No better answer can use any other pattern, so the last
    programme's optimum is the optimum.

    References
    ----------
    .. [1] P. C. Gilmore, R. E. Gomory, A linear programming approach to the
       cutting-stock problem, Operations Research 9 (1961) 849-859.
    """
    best = min(first_fit(demand), fullest_first(demand), key=len)
    bound = simple_bound(demand)
    if len(best) > bound:
        best, bound = _settle(demand, best)
    return Cutting(patterns=_in_order(best, demand), bound=bound)


def _settle(
    demand: Demand, best: tuple[Pattern, ...]
) -> tuple[tuple[Pattern, ...], int]:
    """Return the best cutting and the best bound that integer programming finds."""
    patterns, prices = _generate(demand, best)
    least = float(prices @ np.array(demand.counts))
    bound = math.ceil(least - BOUND_SLACK)
    if len(best) > bound:
        best = _choose(patterns, demand).patterns or best
    if len(best) > bound:
        reduced = len(best) - 1 - least + BOUND_SLACK
        search = _PatternSearch(demand, prices, at_least=1.0 - reduced)
        every = list(islice(search.run(), MOST_PATTERNS + 1))
        choice = _choose(every, demand, at_most=len(best) - 1)
        best = choice.patterns or best
        is_complete = search.steps_left > 0 and len(every) <= MOST_PATTERNS
        if choice.is_proved and is_complete:
            bound = len(best)
    return best, bound


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


def fullest_first(demand: Demand) -> tuple[Pattern, ...]:
    """Return the cutting that lays the longest piece left, then fills its tube best."""
    left = list(demand.counts)
    tubes: list[Pattern] = []
    while any(left):
        longest = next(kind for kind, count in enumerate(left) if count)
        left[longest] -= 1
        held = _fullest(demand.lengths, left, demand.stock - demand.lengths[longest])
        left = [count - taken for count, taken in zip(left, held, strict=True)]
        held[longest] += 1
        tubes.append(tuple(held))
    return tuple(tubes)


def _fullest(lengths: Sequence[int], counts: Sequence[int], room: int) -> list[int]:
    """Return how many pieces of each length fill `room` best.

    The lengths that can be reached are the bits of one long number, a piece a shift.
    """
    window = (1 << (room + 1)) - 1
    reached = [1]
    kinds = [
        kind
        for kind, (length, count) in enumerate(zip(lengths, counts, strict=True))
        for _ in range(min(count, room // length))
    ]
    for kind in kinds:
        reached.append(reached[-1] | (reached[-1] << lengths[kind]) & window)
    held = [0] * len(lengths)
    at = reached[-1].bit_length() - 1
    for kind, before in zip(reversed(kinds), reversed(reached[:-1]), strict=True):
        if not before >> at & 1:
            held[kind] += 1
            at -= lengths[kind]
    return held


def simple_bound(demand: Demand) -> int:
    """Return a number of tubes that no cutting can do with less than.

    The larger of what the material alone asks for and the number of pieces longer than
    half a tube, no two of which share one.
    """
    pairs = list(zip(demand.lengths, demand.counts, strict=True))
    total = sum(length * count for length, count in pairs)
    long = sum(count for length, count in pairs if 2 * length > demand.stock)
    return max(-(-total // demand.stock), long)


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
    """Return the pattern that is worth most at the given prices, and its worth.

    The bounded knapsack by dynamic programming over every length up to the stock;
    pieces of one kind are taken in bundles of 1, 2, 4, ... [1]_.

    References
    ----------
    .. [1] S. Martello, P. Toth, Knapsack Problems, Wiley 1990, section 3.4.
    """
    worth = np.zeros(demand.stock + 1)
    taken: list[tuple[int, int, NDArray[np.bool_]]] = []
    for kind, length in enumerate(demand.lengths):
        for bundle in _bundles(min(demand.counts[kind], demand.stock // length)):
            cut = bundle * length
            with_bundle = worth[: worth.size - cut] + bundle * prices[kind]
            better = with_bundle > worth[cut:]
            worth[cut:][better] = with_bundle[better]
            taken.append((kind, bundle, better))
    counts, free = [0] * len(demand.lengths), demand.stock
    for kind, bundle, better in reversed(taken):
        before = free - bundle * demand.lengths[kind]
        if before >= 0 and better[before]:
            counts[kind] += bundle
            free = before
    return tuple(counts), float(worth[-1])


def _bundles(count: int) -> list[int]:
    """Return sizes whose sums give every number from 0 to `count`."""
    sizes: list[int] = []
    while count:
        sizes.append(min(count, 1 << len(sizes)))
        count -= sizes[-1]
    return sizes


class _PatternSearch:
    """Depth-first through full patterns that are worth `at_least` at the given prices.

    Pieces that are dear for their length come first, so that a branch can be left as
    soon as the rest of the tube, filled at the next piece's rate, is worth too little.
    `steps_left` is 0 where the search gave up.
    """

    def __init__(self, demand: Demand, prices: Array, *, at_least: float) -> None:
        dear = prices / np.array(demand.lengths, dtype=np.float64)
        self.order = sorted(range(len(dear)), key=lambda kind: (-dear[kind], kind))
        self.rate = [float(dear[kind]) for kind in self.order]
        self.price = [float(prices[kind]) for kind in self.order]
        self.length = [demand.lengths[kind] for kind in self.order]
        self.left = [demand.counts[kind] for kind in self.order]
        self.taken = [0] * len(self.order)
        self.stock = demand.stock
        self.at_least = at_least
        self.steps_left = MOST_STEPS

    def run(self) -> Iterator[Pattern]:
        """Yield the patterns, in the demand's order of lengths."""
        return self._deeper(0, self.stock, 0.0)

    def _deeper(self, first: int, free: int, worth: float) -> Iterator[Pattern]:
        self.steps_left = max(0, self.steps_left - 1)
        if worth >= self.at_least and self._is_full(free):
            yield self._pattern()
        for kind in range(first, len(self.order)):
            if not self.steps_left or worth + free * self.rate[kind] < self.at_least:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Choice:
    """Patterns that an integer programme chose, none if none will do; proved or not."""

    patterns: tuple[Pattern, ...]
    is_proved: bool


def _choose(
    patterns: Sequence[Pattern], demand: Demand, *, at_most: int | None = None
) -> _Choice:
    """Return the fewest of the given patterns, repeats allowed, that hold the demand.

    Nothing where `at_most` of them cannot hold it.
    """
    from scipy.optimize import LinearConstraint, milp

    columns = np.array(patterns, dtype=np.float64).T.reshape(len(demand.counts), -1)
    if not columns.size:
        return _Choice(patterns=(), is_proved=True)
    rules = [LinearConstraint(columns, lb=demand.counts)]
    if at_most is not None:
        rules.append(LinearConstraint(np.ones((1, columns.shape[1])), ub=at_most))
    answer = milp(
        np.ones(columns.shape[1]),
        constraints=rules,
        integrality=np.ones(columns.shape[1], dtype=np.int64),
        options={"mip_rel_gap": 0.0, "node_limit": MOST_NODES},
    )
    if answer.x is None:
        return _Choice(patterns=(), is_proved=answer.status == _INFEASIBLE)
    chosen = [
        pattern
        for pattern, times in zip(patterns, np.rint(answer.x).astype(int), strict=True)
        for _ in range(times)
    ]
    return _Choice(
        patterns=_without_surplus(chosen, demand), is_proved=answer.status == _OPTIMAL
    )


_OPTIMAL = 0
_INFEASIBLE = 2
"""Status numbers of scipy.optimize.milp, as its documentation gives them."""


def _without_surplus(chosen: Sequence[Pattern], demand: Demand) -> tuple[Pattern, ...]:
    """Return the patterns less what they hold beyond the demand."""
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
    """Return the tubes, the fullest first; equally full, the longest piece first."""

    def used(tube: Pattern) -> int:
        return sum(a * b for a, b in zip(tube, demand.lengths, strict=True))

    return tuple(sorted(tubes, key=lambda tube: (-used(tube), tuple(-n for n in tube))))
