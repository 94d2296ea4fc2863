"""Choosing some of many things that exclude each other, at the least cost.

Set packing as an integer programme: as many things as can be, then the least sum of
their first costs, then of their second ones, and so on.

References
----------
One aim after the other, what is reached of each held for the next, is lexicographic
optimisation: M. Ehrgott, Multicriteria Optimization (2005). From memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.vectors import Array, Indices
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.tolerances import HELD_COST

Cost = tuple[float, ...]
"""What a thing costs, the most important part first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """Things of which at most so many may be chosen."""

    members: tuple[int, ...]
    most: int = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Row:
    """Bounds of a sum over things that are chosen, each with a value of its own."""

    things: Sequence[int] | Indices
    values: Sequence[float] | Array
    lower: float = -math.inf
    upper: float


def get_ready() -> None:
    """Import now what takes its time: where a choice is sure, not once time is short."""
    import scipy.optimize
    import scipy.sparse  # noqa: F401


def choose(
    costs: Sequence[Cost],
    packs: Iterable[Pack],
    *,
    most: int | None = None,
    control: Control = UNATTENDED,
) -> tuple[tuple[int, ...], bool]:
    """Return the largest choice that the packs allow; of equal ones, the cheapest.

    Parameters
    ----------
    costs : sequence of Cost
        One for each thing, all with as many parts.
    packs : iterable of Pack
    most : int, optional
        More things the packs surely do not allow; the search is shorter if it is known.
    control : Control
        Asked before each part of the cost.

    Returns
    -------
    members : tuple of int
        In order of number; equal input gives an equal choice. Once the search is stopped,
        what was chosen by the parts before, or nothing.
    is_proven : bool
        Whether nothing better can be; False where the search was stopped.

    Notes
    -----
    Solved part by part with `scipy.optimize.milp` (HiGHS, branch and cut), each part's
    optimum held while the next one is sought. That as many are chosen as can be is tried
    first, which it mostly is: then it need not be sought.
    """
    bounds = list(dict.fromkeys(packs))
    quick = _cheapest_alone(costs, bounds)
    if quick is not None:
        return quick, True
    each = -np.ones(len(costs))
    parts = np.array(costs, dtype=float).T
    rows = [
        Row(things=pack.members, values=np.ones(len(pack.members)), upper=pack.most)
        for pack in bounds
        if len(pack.members) > pack.most
    ]
    found, is_proven = None, False
    if most is not None:
        full = _held(each, -float(most))
        found, is_proven = least_in_turn(parts, [*rows, full], control=control)
    if found is None:
        found, is_proven = least_in_turn([each, *parts], rows, control=control)
    chosen = () if found is None else np.flatnonzero(found > 0.5).tolist()
    return tuple(chosen), is_proven


def _cheapest_alone(
    costs: Sequence[Cost], packs: Sequence[Pack]
) -> tuple[int, ...] | None:
    """Return the cheapest of each group of rivals, where the packs allow that choice.

    Things are rivals where their first pack is the same; None where that does not
    settle it.
    """
    first: dict[int, int] = {}
    for number, pack in enumerate(packs):
        if pack.most != 1:
            continue
        for member in pack.members:
            first.setdefault(member, number)
    best: dict[int, int] = {}
    for thing, cost in enumerate(costs):
        group = first.get(thing, -1 - thing)
        if group not in best or cost < costs[best[group]]:
            best[group] = thing
    chosen = set(best.values())
    if any(len(chosen.intersection(pack.members)) > pack.most for pack in packs):
        return None
    return tuple(sorted(chosen))


def least_in_turn(
    parts: Iterable[Array], rows: Iterable[Row], *, control: Control
) -> tuple[Array | None, bool]:
    """Return the choice of the least first part, then second part, and so on.

    Each optimum is held while the next part is sought. A choice is 1.0 for each thing
    that is taken, and 0.0 for the others; None where the rows allow none. Also returned
    is whether it is proven: where the search is stopped, some parts were not sought.

    Parameters
    ----------
    parts : iterable of Array
        What each thing adds to each part.
    rows : iterable of Row
        At least one.
    control : Control
        Asked before each part.
    """
    held = list(rows)
    best: Array | None = None
    is_proven = True
    for part in parts:
        found, is_best = (
            (None, False) if control.is_over() else _least(part, held, control)
        )
        if found is None:
            return best, False
        best, is_proven = found, is_proven and is_best
        held.append(_held(part, float(part @ found)))
    return best, is_proven


def _held(part: Array, reached: float) -> Row:
    """Return the row that keeps the sum of one part where it is."""
    things = np.flatnonzero(part)
    return Row(things=things, values=part[things], upper=reached + HELD_COST)


def _least(
    part: Array, rows: Sequence[Row], control: Control
) -> tuple[Array | None, bool]:
    """Return the choice with the least sum of one part, and whether that is proven."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    number = np.repeat(np.arange(len(rows)), [len(row.things) for row in rows])
    values = np.concatenate([row.values for row in rows])
    things = np.concatenate([row.things for row in rows])
    matrix = csr_array((values, (number, things)), shape=(len(rows), len(part)))
    lower, upper = [row.lower for row in rows], [row.upper for row in rows]
    found = milp(
        part,
        integrality=np.ones(len(part), dtype=np.int64),
        bounds=Bounds(0.0, 1.0),
        constraints=LinearConstraint(matrix, lower, upper),
        options={"mip_rel_gap": 0.0, "time_limit": control.seconds_left},
    )
    if found.x is None:
        return None, False
    return np.round(found.x), found.status == 0
