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

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import combinations
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.loop.integer_programme import Cost, Row, least_in_turn
from loopsolver.routing.loop.route_pool import RoutePool
from loopsolver.routing.loop.set_packing import SetPacking, clash_packs, port_packs
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
    pool, routes = packing.pool, sorted(among)
    place = {route: index for index, route in enumerate(routes)}
    runs = sorted({pool.routes[route].run for route in routes})
    of_run = [
        [place[route] for route in routes if pool.routes[route].run == run]
        for run in runs
    ]
    rows = [
        *(_row(places, lower=1.0, upper=1.0) for places in of_run),
        *(_row([place[w] for w in p.members]) for p in port_packs(pool, routes)),
        *_clash_rows(pool, runs, place),
        *(
            _row([place[route] for route in whole], upper=len(whole) - 1.0)
            for whole in tried
            if all(route in place for route in whole)
        ),
    ]
    costs = np.array([packing.cost(route) for route in routes], dtype=float).T[:2]
    count, pairs = len(routes), math.comb(len(runs), 2)
    if cheaper_than is not None:
        rows += _rows_below(cheaper_than, costs, of_run, at_once=count + pairs)
    clashes = np.repeat([0.0, 1.0, 0.0], [count, pairs, 1])
    parts = [clashes, *(np.append(part, np.zeros(pairs + 1)) for part in costs)]
    found, _ = least_in_turn(parts, rows, control=control)
    if found is None:
        return None
    return tuple(routes[n] for n in np.flatnonzero(found[:count] > 0.5).tolist())


def _row(places: Sequence[int], *, lower: float = -math.inf, upper: float = 1.0) -> Row:
    """Return bounds of how many routes are chosen of those at some places."""
    return Row(things=places, values=[1.0] * len(places), lower=lower, upper=upper)


def _clash_rows(
    pool: RoutePool, runs: Sequence[int], place: Mapping[int, int]
) -> Iterator[Row]:
    """Yield that two runs, which stand after the routes, are counted if they clash."""
    for counted, pair in enumerate(combinations(runs, 2), start=len(place)):
        clashes = [both for both in pool.clashing(*pair) if place.keys() >= {*both}]
        for pack in clash_packs(clashes):
            places = [place[route] for route in pack.members]
            values = [*[1.0] * len(places), -1.0]
            yield Row(things=[*places, counted], values=values, upper=1.0)


def _rows_below(
    total: Cost, costs: Array, of_run: Sequence[Sequence[int]], *, at_once: int
) -> list[Row]:
    """Return what keeps a total below another one, the first part before the second.

    Notes
    -----
    With y = 1, at the place `at_once`, where the first part is below by itself and M more
    than the second can be above: ``first + step y <= limit`` and
    ``second - M y <= limit - step``.
    """
    things = [*range(costs.shape[1]), at_once]
    first, *seconds = costs
    if not seconds:
        return [Row(things=things, values=[*first, 0.0], upper=total[0] - LESS)]
    (second,) = seconds
    most = sum(float(second[places].max()) for places in of_run) - total[1] + LESS
    step = LESS + HELD_COST
    return [
        Row(things=things, values=[*first, step], upper=total[0] + HELD_COST),
        Row(things=things, values=[*second, -most], upper=total[1] - LESS),
    ]
