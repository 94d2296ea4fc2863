"""One route for every run with the fewest clashes: a choice to be mended.

Where routes of all runs do not fit together yet, those that nearly do are worth routing
again beside each other.

References
----------
S. Minton, M. D. Johnston, A. B. Philips and P. Laird, Minimizing conflicts, Artificial
Intelligence 58 (1992): mend a whole choice that has few conflicts rather than build one
that has none. There one change at a time has the fewest; here an integer programme finds
the choice with the fewest of all.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from itertools import combinations
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Indices
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.loop.integer_programme import Cost
from loopsolver.routing.loop.set_packing import SetPacking
from loopsolver.tolerances import HELD_COST

LESS: Final = 10.0 * HELD_COST
"""A total that is less than another is so by at least this."""

Assignment = tuple[int, ...]
"""One route for every run, by number."""


def min_conflict_assignment(
    packing: SetPacking,
    among: Sequence[int],
    *,
    cheaper_than: Cost | None,
    tried: Collection[Assignment],
    control: Control = UNATTENDED,
) -> Assignment | None:
    """Return the whole choice in which the fewest pairs of runs clash, or None.

    Parameters
    ----------
    packing : SetPacking
    among : sequence of int
        The routes that may be chosen; every run of them gets one.
    cheaper_than : Cost or None
        What the total must stay below: its first part, or where that is no more the
        second. Further parts only settle ties.
    tried : collection of Assignment
        Choices that have been mended, or could not be.
    control : Control
        Asked before each part of what is sought; once it is stopped, there is none, or
        one that settles no ties.

    Notes
    -----
    With x for each route and z for each pair of runs, ``x_a + sum(x_b) - 1 <= z`` for
    every route a and the routes b of another run that it clashes with.
    """
    routes = sorted(among)
    programme = _Programme(packing, routes)
    programme.take_one_a_run()
    programme.one_tube_a_port()
    programme.count_clashes()
    for whole in tried:
        programme.leave_out(whole)
    if cheaper_than is not None:
        programme.stay_below(cheaper_than)
    return programme.solved(control)


class _Programme:
    """Rows of an integer programme over routes and pairs of runs."""

    def __init__(self, packing: SetPacking, routes: Sequence[int]) -> None:
        self.packing = packing
        self.pool = packing.pool
        self.routes = routes
        self.place = {route: index for index, route in enumerate(routes)}
        self.runs = sorted({self.pool.routes[route].run for route in routes})
        self.pairs = list(combinations(self.runs, 2))
        self.is_below_at_once = len(routes) + len(self.pairs)
        self.size = self.is_below_at_once + 1
        self.costs = np.array([packing.cost(route) for route in routes], dtype=float)
        self._columns: list[Indices] = []
        self._values: list[Array] = []
        self._lower: list[float] = []
        self._upper: list[float] = []

    def take_one_a_run(self) -> None:
        for run in self.runs:
            self._row(self._of_run(run), lower=1.0, upper=1.0)

    def one_tube_a_port(self) -> None:
        users: dict[str, list[int]] = {}
        for route in self.routes:
            for port in self.pool.routes[route].ports:
                users.setdefault(port, []).append(route)
        for members in users.values():
            if len({self.pool.routes[route].run for route in members}) > 1:
                self._row(members, upper=1.0)

    def count_clashes(self) -> None:
        for index, (first, second) in enumerate(self.pairs):
            clashes = self.pool.clashing(first, second)
            counted = len(self.routes) + index
            for own in (0, 1):
                against: dict[int, list[int]] = {}
                for pair in sorted(clashes):
                    if pair[0] in self.place and pair[1] in self.place:
                        against.setdefault(pair[own], []).append(pair[1 - own])
                for route, others in against.items():
                    self._row([route, *others], upper=1.0, also=(counted, -1.0))

    def leave_out(self, whole: Assignment) -> None:
        if all(route in self.place for route in whole):
            self._row(whole, upper=len(whole) - 1.0)

    def stay_below(self, total: Cost) -> None:
        """Keep the total below another one, the first part before the second.

        Notes
        -----
        With y = 1 where the first part is below by itself and M more than the second can
        be above: ``first + step y <= limit`` and ``second - M y <= limit - step``.
        """
        firsts, *seconds = self.costs.T[:2]
        if not seconds:
            self._costs_row(firsts, total[0] - LESS, also=0.0)
            return
        most = self._most(seconds[0]) - total[1] + LESS
        self._costs_row(firsts, total[0] + HELD_COST, also=LESS + HELD_COST)
        self._costs_row(seconds[0], total[1] - LESS, also=-most)

    def _most(self, costs: Array) -> float:
        """Return the largest sum of costs that one route for every run can have."""
        return sum(
            max(float(costs[self.place[route]]) for route in self._of_run(run))
            for run in self.runs
        )

    def _costs_row(self, costs: Array, upper: float, *, also: float) -> None:
        """Bound costs, and `also` where the first part is below at once, by `upper`."""
        self._columns.append(np.array([*range(len(costs)), self.is_below_at_once]))
        self._values.append(np.array([*costs, also]))
        self._lower.append(-np.inf)
        self._upper.append(upper)

    def solved(self, control: Control) -> Assignment | None:
        counts = np.zeros(self.size)
        counts[len(self.routes) : self.is_below_at_once] = 1.0
        found = None if control.stopped() else self._least(counts)
        if found is None:
            return None
        for part in range(min(2, self.costs.shape[1])):
            self._hold(counts, float(counts @ found))
            counts = np.zeros(self.size)
            counts[: len(self.routes)] = self.costs[:, part]
            better = None if control.stopped() else self._least(counts)
            if better is None:
                break
            found = better
        chosen = np.flatnonzero(found[: len(self.routes)] > 0.5)
        return tuple(self.routes[index] for index in chosen.tolist())

    def _of_run(self, run: int) -> list[int]:
        return [route for route in self.routes if self.pool.routes[route].run == run]

    def _row(
        self,
        routes: Iterable[int],
        *,
        lower: float = -np.inf,
        upper: float,
        also: tuple[int, float] | None = None,
    ) -> None:
        columns = [self.place[route] for route in routes]
        values = [1.0] * len(columns)
        if also is not None:
            columns.append(also[0])
            values.append(also[1])
        self._columns.append(np.array(columns, dtype=np.intp))
        self._values.append(np.array(values))
        self._lower.append(lower)
        self._upper.append(upper)

    def _hold(self, objective: Array, total: float) -> None:
        columns = np.flatnonzero(objective)
        self._columns.append(columns)
        self._values.append(objective[columns])
        self._lower.append(-np.inf)
        self._upper.append(total + HELD_COST)

    def _least(self, objective: Array) -> Array | None:
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        rows = np.repeat(
            np.arange(len(self._columns)), [len(each) for each in self._columns]
        )
        matrix = csr_array(
            (np.concatenate(self._values), (rows, np.concatenate(self._columns))),
            shape=(len(self._columns), self.size),
        )
        found = milp(
            objective,
            integrality=np.ones(self.size, dtype=np.int64),
            bounds=Bounds(0.0, 1.0),
            constraints=[LinearConstraint(matrix, self._lower, self._upper)],
            options={"mip_rel_gap": 0.0},
        )
        return None if found.x is None else np.round(found.x)
