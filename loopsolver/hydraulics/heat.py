"""Temperatures round the loop, from the heat that parts give and take."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np

from loopsolver.hydraulics.liquids import LiquidState
from loopsolver.hydraulics.losses import L_MIN
from loopsolver.hydraulics.network import Passage
from loopsolver.tolerances import NO_FLOW

Heat = float | Literal["rest"]


def balanced(stated: Mapping[str, Heat]) -> dict[str, float]:
    """Return the heat of each part [W], "rest" put into numbers, in equal shares."""
    known = {name: heat for name, heat in stated.items() if heat != "rest"}
    rest = [name for name, heat in stated.items() if heat == "rest"]
    left = -math.fsum(known.values())
    return {
        name: left / len(rest) if name in rest else float(known[name])
        for name in stated
    }


def warming(heat: float, flow: float, state: LiquidState) -> float:
    """Return by how much a flow [L/min] gets warmer from a heat [W] [K]."""
    return heat / (state.density * state.heat_capacity * flow / L_MIN)


def temperatures(
    passages: Sequence[Passage],
    flows: Sequence[float],
    heats: Sequence[float],
    *,
    state: LiquidState,
    known: tuple[str, float],
) -> list[tuple[float, float] | None]:
    """Return the temperature before and after each passage [°C]; None without a flow.

    Where flows meet they mix. What a passage without a flow gives is left out; the heats
    of the others must sum to nothing.

    Parameters
    ----------
    flows : sequence of float
        Through each passage [L/min], negative from its end to its start.
    heats : sequence of float
        Given in each passage [W].
    known : pair
        A place with a flow, and how warm the coolant is there [°C].
    """
    ends = [one.way(flow) for one, flow in zip(passages, flows, strict=True)]
    moving = [at for at, flow in enumerate(flows) if abs(flow) > NO_FLOW]
    met = dict.fromkeys(place for at in moving for place in ends[at])
    places = {place: number for number, place in enumerate(met)}
    rises = {at: warming(heats[at], abs(flows[at]), state) for at in moving}
    rows, right = np.zeros((len(places) + 1, len(places))), np.zeros(len(places) + 1)
    for at in moving:
        (start, end), size = (places[place] for place in ends[at]), abs(flows[at])
        rows[end, end] += size
        rows[end, start] -= size
        right[end] += size * rises[at]
    rows[-1, places[known[0]]], right[-1] = 1.0, known[1]
    found = np.linalg.lstsq(rows, right, rcond=None)[0].tolist()
    before = {at: found[places[ends[at][0]]] for at in moving}
    return [
        (before[at], before[at] + rises[at]) if at in before else None
        for at in range(len(passages))
    ]
