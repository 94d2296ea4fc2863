"""Choosing some of many things that exclude each other, at the least cost.

Set packing as an integer programme: as many things as can be, then the least sum of
their first costs, then of their second ones, and so on.

References
----------
One aim after the other, what is reached of each held for the next, is lexicographic
optimisation: M. Ehrgott, Multicriteria Optimization (2005). From memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.tolerances import HELD_COST

if TYPE_CHECKING:
    from scipy.optimize import LinearConstraint

Cost = tuple[float, ...]
"""What a thing costs, the most important part first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """Things of which at most so many may be chosen."""

    members: tuple[int, ...]
    most: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What was chosen, in order of number.

    `is_proven` tells whether nothing better can be; False where the search was stopped.
    """

    members: tuple[int, ...]
    is_proven: bool


def choose(
    costs: Sequence[Cost],
    packs: Iterable[Pack],
    *,
    control: Control = UNATTENDED,
) -> Chosen:
    """Return the largest choice that the packs allow; of equal ones, the cheapest.

    Parameters
    ----------
    costs : sequence of Cost
        One for each thing, all with as many parts.
    packs : iterable of Pack
    control : Control
        Asked before each part of the cost.

    Returns
    -------
    Chosen
        Equal input gives an equal choice. Once the search is stopped, what was chosen
        by the parts before, or nothing.

    Notes
    -----
    Solved part by part with `scipy.optimize.milp` (HiGHS, branch and cut), each part's
    optimum held while the next one is sought.
    """
    bounds = list(dict.fromkeys(packs))
    quick = _cheapest_alone(costs, bounds)
    if quick is not None:
        return Chosen(members=quick, is_proven=True)
    return _solved(np.array(costs, dtype=float), bounds, control)


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


def _solved(costs: Array, packs: Sequence[Pack], control: Control) -> Chosen:
    count, parts = costs.shape
    held: list[LinearConstraint] = _rows(packs, count)
    is_proven = True
    members = np.zeros(count)
    for part in (-np.ones(count), *(costs[:, index] for index in range(parts))):
        found, is_best = (None, False) if control.stopped() else _least(part, held)
        if found is None:
            is_proven = False
            break
        members, is_proven = found, is_proven and is_best
        held.append(_at_most(part, float(part @ members)))
    chosen = np.flatnonzero(members > 0.5)
    return Chosen(members=tuple(chosen.tolist()), is_proven=is_proven)


def _rows(packs: Sequence[Pack], count: int) -> list[LinearConstraint]:
    """Return the packs as one sparse constraint."""
    from scipy.optimize import LinearConstraint
    from scipy.sparse import csr_array

    useful = [pack for pack in packs if len(pack.members) > pack.most]
    if not useful:
        return []
    sizes = [len(pack.members) for pack in useful]
    rows = np.repeat(np.arange(len(useful)), sizes)
    columns = np.concatenate([pack.members for pack in useful])
    matrix = csr_array(
        (np.ones(len(rows)), (rows, columns)), shape=(len(useful), count)
    )
    return [LinearConstraint(matrix, ub=np.array([pack.most for pack in useful]))]


def _at_most(part: Array, total: float) -> LinearConstraint:
    from scipy.optimize import LinearConstraint

    return LinearConstraint(part[None, :], ub=total + HELD_COST)


def _least(part: Array, held: Sequence[LinearConstraint]) -> tuple[Array | None, bool]:
    """Return the choice with the least sum of one part, and whether that is proven."""
    from scipy.optimize import Bounds, milp

    found = milp(
        part,
        integrality=np.ones(len(part), dtype=np.int64),
        bounds=Bounds(0.0, 1.0),
        constraints=list(held),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        return None, False
    return np.round(found.x), found.status == 0
