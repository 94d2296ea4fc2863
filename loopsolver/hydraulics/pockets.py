"""Air poured into the summits of a loop's inside, and the pockets in which it rests.

Of liquid that stays on draining the same is true with the heights turned round.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.vectors import Array, Indices
from loopsolver.hydraulics.summits import OUT, Summits
from loopsolver.tolerances import NO_AIR


def poured(of: Summits, amounts: Array) -> Array:
    """Return the air that each knot holds once it has come to rest, (knots,) [mL].

    Parameters
    ----------
    of : Summits
    amounts : array (knots,)
        Air that rises to each summit, by the place of its knot [mL].
    """
    held = np.zeros(len(of.knots))
    for summit, amount in enumerate(amounts):
        if amount > NO_AIR:
            _pour(of, held, summit, float(amount))
    return held


def _pour(of: Summits, held: Array, knot: int, amount: float) -> None:
    """Add air to a summit; what it cannot hold goes over sills until it rests."""
    while amount > NO_AIR:
        room = of.capacity(knot) - float(held[knot])
        put = min(room, amount)
        if put > 0.0:
            for one in _up(of, knot):
                held[one] += put
            amount -= put
        here = of.knots[knot]
        if amount <= NO_AIR or here.parent is None:
            return
        if here.parent == OUT:
            if here.over == OUT:
                return
            knot = here.over
            continue
        (other,) = (one for one in of.knots[here.parent].children if one != knot)
        is_full = float(held[other]) >= of.capacity(other) - NO_AIR
        knot = here.parent if is_full else here.over


def _up(of: Summits, knot: int) -> Iterator[int]:
    """Yield a knot and those that it is part of."""
    at: int | None = knot
    while at is not None and at != OUT:
        yield at
        at = of.knots[at].parent


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pocket:
    """Air that stays in one place, down to one level.

    Attributes
    ----------
    knot : int
    volume_ml : float
    level : float
        Its lower face [mm].
    chambers, slices : int array
        Places of those that it is in.
    in_chambers, in_slices : array
        How much of it is in each [mL].
    """

    knot: int
    volume_ml: float
    level: float
    chambers: Indices
    slices: Indices
    in_chambers: Array
    in_slices: Array


def pockets(of: Summits, held: Array) -> tuple[Pocket, ...]:
    """Return where the air that knots hold lies, the largest first."""
    found = []
    open_knots = list(of.full)
    while open_knots:
        knot = open_knots.pop()
        if held[knot] <= NO_AIR:
            continue
        children = of.knots[knot].children
        in_them = math.fsum(of.capacity(one) for one in children)
        if children and held[knot] <= in_them + NO_AIR:
            open_knots += children
        else:
            found.append(_pocket(of, knot, float(held[knot])))
    return tuple(sorted(found, key=lambda one: -one.volume_ml))


def _pocket(of: Summits, knot: int, volume: float) -> Pocket:
    levels, held = of.table(knot)
    level = float(np.interp(volume, held, levels))
    chambers, cuts = of.members(knot)
    in_chambers, in_slices = of.above(knot, level)
    whole = float(in_chambers.sum() + in_slices.sum())
    scale = volume / whole if whole > 0.0 else 0.0
    return Pocket(
        knot=knot,
        volume_ml=volume,
        level=level,
        chambers=chambers,
        slices=cuts,
        in_chambers=scale * in_chambers,
        in_slices=scale * in_slices,
    )


def filled_up(of: Summits) -> tuple[Pocket, ...]:
    """Return the pockets that stay where everything else has been filled."""
    caps = [of.capacity(knot) for knot in range(len(of.knots))]
    held = np.array(
        [
            of.table(knot)[1][-1] if math.isinf(cap) else cap
            for knot, cap in enumerate(caps)
        ]
    )
    return pockets(of, held)
