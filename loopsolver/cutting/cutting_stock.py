"""The least number of stock tubes that a set of pieces can be cut from.

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

import numpy as np
from numpy.typing import NDArray

from loopsolver.errors import LoopsolverError
from loopsolver.tolerances import BOUND_SLACK

Array = NDArray[np.float64]

Pattern = tuple[int, ...]
"""How many pieces of each length are cut from one stock tube, longest length first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingEffort:
    """How hard the least number of tubes is sought. Counts: the same answer everywhere."""

    most_patterns: int = 50_000
    """Patterns that are listed; where there are more, nothing is proved by them."""

    first_choice: int = 20
    """Patterns a length in the first integer programme, which settles most demands."""

    last_choice: int = 5_000
    """Patterns in the last integer programme: some seconds at most."""

    most_nodes: int = 20_000
    """Branches that an integer programme may look at."""


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

    def used(self, pattern: Pattern) -> int:
        """Return the length of a pattern's pieces together."""
        return sum(a * b for a, b in zip(pattern, self.lengths, strict=True))


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


def least_stock(demand: Demand, *, effort: CuttingEffort = CuttingEffort()) -> Cutting:
    """Return the cutting of the demand that needs the fewest stock tubes.

    Equal input gives equal output. Where pieces can be put together in too many ways,
    the answer is the best one found: `bound` may then be below the number of tubes.

    Notes
    -----
    First-fit decreasing gives an answer to beat. Where it needs more tubes than the
    material, an integer programme says how often each pattern is cut: the pattern
    formulation of Gilmore and Gomory [1]_, with all patterns listed beforehand.
    Without "integer", the programme gives a bound, and the reduced cost of each
    pattern: by how much the bound rises with every tube that is cut so.

    References
    ----------
    .. [1] P. C. Gilmore, R. E. Gomory, A linear programming approach to the
       cutting-stock problem, Operations Research 9 (1961) 849-859.
    """
    best, bound = first_fit(demand), simple_bound(demand)
    if len(best) > bound:
        best, bound = _programmed(demand, best, bound, effort)
    fullest = sorted(best, key=lambda tube: (-demand.used(tube), [-n for n in tube]))
    return Cutting(patterns=tuple(fullest), bound=bound)


def first_fit(demand: Demand) -> tuple[Pattern, ...]:
    """Return the cutting that lays each piece, longest first, where it first fits.

    References
    ----------
    First-fit decreasing: D. S. Johnson, A. Demers, J. D. Ullman, M. R. Garey and R. L.
    Graham, Worst-case performance bounds for simple one-dimensional packing algorithms,
    SIAM Journal on Computing 3 (1974). From memory.
    """
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
    pairs = zip(demand.lengths, demand.counts, strict=True)
    long = sum(count for length, count in pairs if 2 * length > demand.stock)
    return max(-(-demand.used(demand.counts) // demand.stock), long)


def patterns_of(demand: Demand, *, waste: int) -> Iterator[Pattern]:
    """Yield the patterns that waste no more than that and hold no further piece.

    Longest length first, the most pieces of it first. No branch is entered in vain. The
    bits of one long number say which lengths the later kinds can fill together. And
    where a piece of a kind is left out, it must not fit what stays free.
    """
    kinds = tuple(zip(demand.lengths, demand.counts, strict=True))
    fillable = [1]
    for length, count in reversed(kinds):
        reached = fillable[0]
        for _ in range(min(count, demand.stock // length)):
            reached |= reached << length
        fillable.insert(0, reached)

    def from_kind(
        kind: int, free: int, waste: int, taken: Pattern
    ) -> Iterator[Pattern]:
        least = max(0, free - waste)
        if not fillable[kind] >> least & (1 << (free - least + 1)) - 1:
            return
        if kind == len(kinds):
            yield taken
            return
        length, wanted = kinds[kind]
        for count in range(min(wanted, free // length), -1, -1):
            spare = waste if count == wanted else min(waste, length - 1)
            yield from from_kind(
                kind + 1, free - count * length, spare, (*taken, count)
            )

    return from_kind(0, demand.stock, waste, ())


def _programmed(
    demand: Demand, best: tuple[Pattern, ...], bound: int, effort: CuttingEffort
) -> tuple[tuple[Pattern, ...], int]:
    """Return the best cutting and the best bound that integer programming finds.

    `n` tubes waste ``n * stock`` less the pieces together, so no tube of a better
    answer wastes more than that by itself. Of the patterns left, a better answer can
    use only those whose reduced cost is less than what it has to gain. The first
    programme takes the nearest of them, the last one all, if they are not too many.
    """
    waste = (len(best) - 1) * demand.stock - demand.used(demand.counts)
    listed = list(islice(patterns_of(demand, waste=waste), effort.most_patterns + 1))
    is_complete = len(listed) <= effort.most_patterns
    columns = np.array(listed, dtype=np.float64).reshape(-1, len(demand.counts)).T
    least, reduced = _relaxed(columns, demand)
    if is_complete:
        bound = max(bound, math.ceil(min(least - BOUND_SLACK, len(best))))
    nearest = np.argsort(reduced, kind="stable")
    for most in (effort.first_choice * len(demand.counts), effort.last_choice):
        if len(best) <= bound:
            break
        useful = nearest[reduced[nearest] <= len(best) - 1 - least + BOUND_SLACK]
        patterns, is_settled = _choose(
            columns[:, useful[:most]],
            demand,
            below=len(best),
            most_nodes=effort.most_nodes,
        )
        best = patterns or best
        if is_settled and is_complete and useful.size <= most:
            bound = len(best)
    return best, bound


def _relaxed(columns: Array, demand: Demand) -> tuple[float, Array]:
    """Return how many tubes fractions of patterns need, and the reduced costs.

    Infinitely many where the patterns cannot hold the demand; 0, which says nothing,
    where the programme stops for another reason.
    """
    from scipy.optimize import linprog

    none = np.zeros(columns.shape[1])
    if not columns.size:
        return math.inf, none
    answer = linprog(np.ones(none.size), A_ub=-columns, b_ub=-np.array(demand.counts))
    if answer.status != _OPTIMAL:
        return (math.inf if answer.status == _INFEASIBLE else 0.0), none
    return float(answer.fun), 1.0 + answer.ineqlin.marginals @ columns


def _choose(
    columns: Array, demand: Demand, *, below: int, most_nodes: int
) -> tuple[tuple[Pattern, ...], bool]:
    """Return the fewest of the given patterns, repeats allowed, that hold the demand.

    None where fewer than `below` of them cannot hold it. And whether that is settled: the
    programme ran to its end, and no choice is better.

    Parameters
    ----------
    columns : Array
        A pattern a column.
    """
    from scipy.optimize import LinearConstraint, milp

    if not columns.size:
        return (), True
    times = np.ones(columns.shape[1])
    answer = milp(
        times,
        constraints=[
            LinearConstraint(columns, lb=demand.counts),
            LinearConstraint(times[None, :], ub=below - 1),
        ],
        integrality=times,
        options={"mip_rel_gap": 0.0, "node_limit": most_nodes},
    )
    is_settled = answer.status in (_OPTIMAL, _INFEASIBLE)
    if answer.x is None:
        return (), is_settled
    repeated = np.repeat(columns.T.astype(int), np.rint(answer.x).astype(int), axis=0)
    chosen = [tuple(pattern) for pattern in repeated.tolist()]
    return _without_surplus(chosen, demand), is_settled


_OPTIMAL = 0
_INFEASIBLE = 2
"""Status numbers of scipy.optimize.linprog and milp, as their documentation has them."""


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
