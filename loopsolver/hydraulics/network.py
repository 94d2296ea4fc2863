"""How the coolant divides among tubes and parts, and where pumps and losses meet.

Passages join places. Round every circle of passages the pressures of the pumps and the
losses cancel, and at every place what comes in goes out (Kirchhoff). One passage is
given its flow; the circles that do not use it are solved for theirs by Newton's method
(the simultaneous form of H. Cross, University of Illinois Bulletin 286, 1936: R. Epp and
A. G. Fowler, J. Hydraulics Div. ASCE 96, 1970, 43). Losses grow with the flow, so there
is one solution, and one pressure for each given flow.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from loopsolver.errors import LoopsolverError
from loopsolver.geometry.vectors import Array
from loopsolver.hydraulics.band import GREATEST, LEAST, NOTHING, Band, around
from loopsolver.hydraulics.liquids import LiquidState
from loopsolver.hydraulics.losses import Loss, pump_pressure
from loopsolver.scene.water import Curve, CurvePoint, rising_stretches
from loopsolver.tolerances import BALANCED_KPA, NO_FLOW, SAME_FLOW

Choose = Callable[[Band], float]
"""Which of a band's values is taken: ``attrgetter("main")``, say."""

_SAMPLES: Final = 64
"""Flows at which pump and loop are compared for crossings, beside the pump's points."""

_NEWTON_MOST: Final = 60
_HALVINGS: Final = 30
_ROOT_MOST: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """A tube or a part that the coolant goes through, from one place to another.

    Attributes
    ----------
    name, start, end : str
        Of the tube or part, and of the places.
    losses : tuple of Loss
    pump : Curve
        What it gives, in the direction from `start` to `end`; empty for most.
    is_tube : bool
    """

    name: str
    start: str
    end: str
    losses: tuple[Loss, ...] = ()
    pump: Curve = ()
    is_tube: bool = False

    def way(self, flow: float) -> tuple[str, str]:
        """Return the place that a flow comes from and the one that it goes to."""
        return (self.start, self.end) if flow >= 0.0 else (self.end, self.start)

    def drop(self, flow: float, state: LiquidState) -> Band:
        """Return what it takes at a flow above 0 [kPa]."""
        total = NOTHING
        for loss in self.losses:
            total += loss.drop(flow, state)
        return total

    def against(self, flow: float, state: LiquidState, choose: Choose) -> float:
        """Return what it takes, less what it gives, at a flow either way [kPa]."""
        size = abs(flow)
        taken = choose(self.drop(size, state)) if size > NO_FLOW else 0.0
        given = pump_pressure(self.pump, flow) if self.pump else 0.0
        return (taken if flow > 0.0 else -taken) - given


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """A flow at which the pumps give what the loop takes [L/min].

    It is steady where less flow leaves the pumps a surplus: there the loop stays.
    """

    flow: float
    is_steady: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowNetwork:
    """Passages that hang together, one of which is given its flow.

    Attributes
    ----------
    passages : tuple of Passage
    circles : Array
        (circles, passages): 1, -1 or 0 where a circle goes along a passage, against it,
        or not through it. The first circle alone uses the given passage, along it.
    state : LiquidState
    """

    passages: tuple[Passage, ...]
    circles: Array
    state: LiquidState

    @property
    def pumps_in_line(self) -> tuple[int, ...]:
        """The pumps through which all of the first circle's flow goes."""
        used = np.abs(self.circles)
        return tuple(
            at
            for at, one in enumerate(self.passages)
            if one.pump and used[0, at] and not used[1:, at].any()
        )

    def flows(self, given: float, choose: Choose) -> Array:
        """Return the flow through every passage [L/min] where one's flow is given."""
        free = self.circles[1:]
        base = given * self.circles[0]
        if not len(free):
            return np.asarray(base)
        along = np.zeros(len(free))
        wrong = self._wrong(base, free, choose)
        for _ in range(_NEWTON_MOST):
            if np.abs(wrong).max() < BALANCED_KPA:
                break
            slopes = self._slopes(base + along @ free, choose)
            step = np.linalg.solve((free * slopes) @ free.T, -wrong)
            for _ in range(_HALVINGS):
                tried = self._wrong(base + (along + step) @ free, free, choose)
                if np.linalg.norm(tried) < np.linalg.norm(wrong):
                    break
                step = step / 2.0
            along, wrong = along + step, tried
        return np.asarray(base + along @ free)

    def _wrong(self, flows: Array, circles: Array, choose: Choose) -> Array:
        """Return by how much each circle's pressures fail to cancel [kPa]."""
        return np.asarray(circles @ self._against(flows, choose))

    def _against(self, flows: Array, choose: Choose) -> Array:
        told = zip(self.passages, flows.tolist(), strict=True)
        return np.array([one.against(flow, self.state, choose) for one, flow in told])

    def _slopes(self, flows: Array, choose: Choose) -> Array:
        """Return how each passage's pressure grows with its flow; never quite level."""
        more, less = flows + SAME_FLOW, flows - SAME_FLOW
        rise = self._against(more, choose) - self._against(less, choose)
        return np.maximum(rise / (2.0 * SAME_FLOW), SAME_FLOW)

    def loop_pressure(self, given: float, choose: Choose) -> float:
        """Return what the first circle takes at its flow, less the pumps in line [kPa]."""
        flows = self.flows(given, choose)
        against = self._against(flows, choose)
        for at in self.pumps_in_line:
            one = self.passages[at]
            against[at] += pump_pressure(one.pump, float(flows[at]))
        return float(self.circles[0] @ against)

    def pumped(self, given: float) -> float:
        """Return what the pumps in line give together at a flow [kPa]."""
        total = 0.0
        for at in self.pumps_in_line:
            way = float(self.circles[0, at])
            total += way * pump_pressure(self.passages[at].pump, way * given)
        return total

    def most(self) -> float:
        """Return the flow at which the pumps in line give nothing any more [L/min]."""
        ends = [self.passages[at].pump[-2:] for at in self.pumps_in_line]
        return max(
            last + p_last * (last - first) / (p_first - p_last)
            for (first, p_first), (last, p_last) in ends
        )

    def crossings(self, choose: Choose) -> tuple[Crossing, ...]:
        """Return every flow at which the pumps give what the loop takes [L/min].

        They are sought between 0 and `most`. Where no pump's pressure rises there is one;
        else they are told apart where they are further apart than the samples.
        """

        def surplus(flow: float) -> float:
            return self.pumped(flow) - self.loop_pressure(flow, choose)

        samples = [0.0, self.most()]
        pumps = [self.passages[at].pump for at in self.pumps_in_line]
        if any(rising_stretches(one) for one in pumps):
            points = [flow for one in pumps for flow, _ in one]
            even = np.linspace(0.0, self.most(), _SAMPLES).tolist()
            samples = sorted({*even, *points})
        values = [surplus(flow) for flow in samples]
        found = []
        for first, last in pairwise(zip(samples, values, strict=True)):
            if (first[1] > 0.0) != (last[1] > 0.0):
                flow = _root(surplus, first, last)
                found.append(Crossing(flow=flow, is_steady=first[1] > last[1]))
        return tuple(found)

    def settled(self, crossings: Sequence[Crossing]) -> Band:
        """Return the flow at which a loop stays that starts from nothing [L/min].

        Its band is that of the nearest such flow where all losses are the greatest, or the
        least, that they may be.
        """
        steady = [one.flow for one in crossings if one.is_steady]
        if not steady:
            msg = (
                "the pumps give nothing: they push against each other, or their curves "
                "are 0"
            )
            raise LoopsolverError(msg)
        flow = steady[0]
        others = [
            min(
                (one.flow for one in self.crossings(choose) if one.is_steady),
                key=lambda other: abs(other - flow),
                default=flow,
            )
            for choose in (GREATEST, LEAST)
        ]
        return around(flow, others)


def _root(
    surplus: Callable[[float], float], one: CurvePoint, other: CurvePoint
) -> float:
    """Return where a function changes its sign between two points of it.

    By regula falsi in the Illinois form (M. Dowell and P. Jarratt, BIT 11, 1971, 168).
    """
    (a, at_a), (b, at_b) = one, other
    for _ in range(_ROOT_MOST):
        c = b - at_b * (b - a) / (at_b - at_a)
        at_c = surplus(c)
        if (at_c > 0.0) != (at_b > 0.0):
            a, at_a = b, at_b
        else:
            at_a /= 2.0
        is_met = abs(at_c) < BALANCED_KPA or abs(b - c) < NO_FLOW
        b, at_b = c, at_c
        if is_met:
            break
    return b


def network(
    passages: Sequence[Passage], *, given: int, state: LiquidState
) -> FlowNetwork:
    """Return passages as a network in which that of number `given` is given its flow.

    They must hang together, and `given` must be on a circle.
    """
    order = [at for at in range(len(passages)) if at != given] + [given]
    chords: list[int] = []
    groups = {place: place for one in passages for place in (one.start, one.end)}

    def group(place: str) -> str:
        while groups[place] != place:
            place = groups[place]
        return place

    tree: dict[str, list[tuple[int, str]]] = {place: [] for place in groups}
    for at in order:
        start, end = passages[at].start, passages[at].end
        if group(start) == group(end):
            chords.append(at)
            continue
        groups[group(start)] = group(end)
        tree[start].append((at, end))
        tree[end].append((at, start))
    rows = [_circle(passages, tree, at) for at in reversed(chords)]
    return FlowNetwork(passages=tuple(passages), circles=np.array(rows), state=state)


def _circle(
    passages: Sequence[Passage],
    tree: dict[str, list[tuple[int, str]]],
    chord: int,
) -> list[float]:
    """Return the circle that a passage closes with the tree of the others."""
    row = [0.0] * len(passages)
    row[chord] = 1.0
    start, goal = passages[chord].end, passages[chord].start
    came: dict[str, tuple[int, str]] = {start: (chord, goal)}
    waiting = [start]
    for place in waiting:
        for at, other in tree[place]:
            if other not in came:
                came[other] = (at, place)
                waiting.append(other)
    place = goal
    while place != start:
        at, earlier = came[place]
        row[at] = 1.0 if passages[at].start == earlier else -1.0
        place = earlier
    return row


def passed_by_all(passages: Sequence[Passage]) -> int | None:
    """Return the first passage that has all of the flow round; None where none has."""
    return next(
        (
            at
            for at in range(len(passages))
            if not _leads_round([*passages[:at], *passages[at + 1 :]])
        ),
        None,
    )


def _leads_round(passages: Sequence[Passage]) -> bool:
    """Whether one can come back to a place along passages, from start to end."""
    left = list(passages)
    while left:
        ends = {one.end for one in left}
        onward = [one for one in left if one.start in ends]
        if len(onward) == len(left):
            return True
        left = onward
    return False


def in_order(
    passages: Sequence[Passage], flows: Sequence[float], given: int
) -> list[int]:
    """Return the passages as the coolant comes to them, from a given one on."""
    order: list[int] = []
    waiting = [*range(len(passages) - 1, -1, -1), given]
    while waiting:
        at = waiting.pop()
        if at in order:
            continue
        order.append(at)
        _, here = passages[at].way(flows[at])
        onward = [
            other
            for other, (one, flow) in enumerate(zip(passages, flows, strict=True))
            if here == one.way(flow)[0]
        ]
        waiting += reversed(onward)
    return order
