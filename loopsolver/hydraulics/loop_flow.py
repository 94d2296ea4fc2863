"""How the coolant goes round the chosen tubes of a plan: flow, pressure, temperature."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import TYPE_CHECKING, Final

from loopsolver.errors import Fault, LoopsolverError, SceneError
from loopsolver.hydraulics.band import NOTHING, Band, around, exactly
from loopsolver.hydraulics.heat import Heat, balanced, temperatures
from loopsolver.hydraulics.liquids import LiquidState, limits_c, liquid_state
from loopsolver.hydraulics.losses import TubeLoss, pump_pressure
from loopsolver.hydraulics.network import Crossing, FlowNetwork, Passage, network
from loopsolver.hydraulics.passages import Ring, rings
from loopsolver.scene.water import Coolant
from loopsolver.tolerances import NO_FLOW, NO_HEAT
from loopsolver.words import in_commas

if TYPE_CHECKING:
    from loopsolver.plan.file import Plan

MAIN: Final[Callable[[Band], float]] = attrgetter("main")
LEAST: Final[Callable[[Band], float]] = attrgetter("low")
GREATEST: Final[Callable[[Band], float]] = attrgetter("high")


@dataclass(frozen=True, slots=True, kw_only=True)
class PassageFlow:
    """A tube or a part, and the coolant in it.

    Attributes
    ----------
    passage : Passage
    state : LiquidState
    flow : float
        [L/min]; negative from its end to its start.
    drop : Band
        What it takes [kPa].
    pumped : float
        What it gives [kPa].
    of : float
        What the whole circuit takes [kPa].
    heat : float or None
        What it gives to the coolant [W]; None: nothing is stated of the loop's heat.
    before, after : Band or None
        How warm the coolant comes and goes [°C]; None without a flow or a stated heat.
    """

    passage: Passage
    state: LiquidState
    flow: float
    drop: Band
    pumped: float
    of: float
    heat: float | None
    before: Band | None
    after: Band | None

    @property
    def is_still(self) -> bool:
        """Whether no coolant goes through."""
        return abs(self.flow) <= NO_FLOW

    @property
    def tube(self) -> TubeLoss | None:
        """The tube's losses; None for a part, and for a run without a chosen tube."""
        first = self.passage.losses[0] if self.passage.losses else None
        return first if isinstance(first, TubeLoss) else None

    @property
    def share(self) -> float:
        """Its share of what the whole circuit takes."""
        return self.drop.main / self.of if self.of else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RingFlow:
    """How the coolant goes round one closed circuit.

    Attributes
    ----------
    ring : Ring
    network : FlowNetwork
    given : int
        The passage whose flow is the circuit's.
    crossings : tuple of Crossing
        Where the pumps give what the circuit takes; empty where the flow was stated.
    flow : Band
        The circuit's flow [L/min]: the least of the crossings at which it stays, since
        it starts from nothing.
    pressure : Band
        What the circuit takes at the main flow [kPa].
    passages : tuple of PassageFlow
        At the main flow, as the coolant comes to them from the given one on.
    """

    ring: Ring
    network: FlowNetwork
    given: int
    crossings: tuple[Crossing, ...]
    flow: Band
    pressure: Band
    passages: tuple[PassageFlow, ...]

    @property
    def entry(self) -> str:
        """The part or tube where the coolant has its stated temperature."""
        return self.ring.passages[self.given].name

    @property
    def tubes_share(self) -> float:
        """The share of all tubes in what the circuit takes."""
        return math.fsum(one.share for one in self.passages if one.passage.is_tube)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopFlow:
    """How the coolant goes round a plan's loop.

    Attributes
    ----------
    coolant : Coolant
    is_coolant_stated : bool
        Whether the scene says what goes round; else it is water.
    state : LiquidState
    circuits : tuple of RingFlow
    still : tuple of str
        Runs that are on no circuit: nothing flows in them.
    """

    coolant: Coolant
    is_coolant_stated: bool
    state: LiquidState
    circuits: tuple[RingFlow, ...]
    still: tuple[str, ...]

    def stage(self, run: str) -> PassageFlow | None:
        """Return the stage of a run; None where it is on no circuit."""
        return next(
            (
                one
                for circuit in self.circuits
                for one in circuit.passages
                if one.passage.is_tube and one.passage.name == run
            ),
            None,
        )


def states_flow(plan: Plan) -> bool:
    """Whether a plan's scene says what makes the coolant flow."""
    coolant = plan.scene.coolant
    stated = coolant is not None and coolant.flow_l_min is not None
    return stated or any(part.water.pump for part in plan.scene.components)


def loop_flow(plan: Plan, *, flow: float | None = None) -> LoopFlow:
    """Return how the coolant goes round a plan's chosen tubes.

    Parameters
    ----------
    plan : Plan
    flow : float, optional
        The flow [L/min], instead of what the pumps or the scene say.

    Raises
    ------
    SceneError
        If neither a pump curve nor a flow is stated, the coolant is frozen or boils, or
        the heats do not cancel.
    LoopsolverError
        If the plan's runs make no closed circuit, or the pumps give nothing.
    """
    coolant = plan.scene.coolant or Coolant()
    _check_temperature(plan, coolant)
    state = liquid_state(coolant)
    found = rings(plan, state, coolant.temperature_c)
    if not found:
        msg = (
            "the plan's runs make no closed circuit, so nothing flows; they are "
            f"{in_commas(run.name for run in plan.runs) or 'none'}: route the whole loop"
        )
        raise LoopsolverError(msg)
    heats = _heats(plan, found)
    circuits = tuple(
        _ring_flow(plan, ring, coolant, state, heats=heats, flow=flow) for ring in found
    )
    on = {one.name for ring in found for one in ring.passages}
    return LoopFlow(
        coolant=coolant,
        is_coolant_stated=plan.scene.coolant is not None,
        state=state,
        circuits=circuits,
        still=tuple(run.name for run in plan.runs if run.name not in on),
    )


def _fault(plan: Plan, key: str, found: str, wanted: str) -> SceneError:
    file = str(plan.files[-1]) if plan.files else plan.scene.file_name
    fault = Fault(file=file, line=None, key_path=key, found=found, wanted=wanted)
    return SceneError((fault,))


def _check_temperature(plan: Plan, coolant: Coolant) -> None:
    """Raise where the coolant is not liquid, or nothing is known of it."""
    least, most = limits_c(coolant)
    if not least < coolant.temperature_c < most:
        share = f" with {coolant.share:g} %" if coolant.share else ""
        raise _fault(
            plan,
            "coolant.temperature",
            f"{coolant.temperature_c:g} °C",
            f"{math.ceil(least):g} to {most:g} °C, where {coolant.liquid}{share} is "
            "liquid and its figures are known; with more glycol it freezes later",
        )


def _heats(plan: Plan, found: Sequence[Ring]) -> dict[str, float]:
    """Return what each part of the circuits gives [W]; none where nothing is stated."""
    heats: dict[str, float] = {}
    for ring in found:
        stated: dict[str, Heat] = {
            part.name: part.water.heat_w
            for part in plan.scene.components
            if part.name in ring.parts and part.water.heat_w is not None
        }
        own = balanced(stated)
        left = math.fsum(own.values())
        if abs(left) > NO_HEAT:
            name = next(iter(own))
            raise _fault(
                plan,
                f"components.{name}.water.heat",
                f"{in_commas(f'{heat:g} W in {one}' for one, heat in own.items())}: "
                f"{left:+g} W together",
                'a sum of 0 W: heat = "rest" in the radiators takes what the others '
                "give",
            )
        heats |= own
    return heats


def _given(plan: Plan, ring: Ring) -> int:
    """Return the passage that is given its flow: the first pump, or what all pass."""
    for at, one in enumerate(ring.passages):
        if one.pump:
            return at
    for at in range(len(ring.passages)):
        if not _leads_round([*ring.passages[:at], *ring.passages[at + 1 :]]):
            return at
    raise _fault(
        plan,
        "coolant.flow",
        f"a flow, though no part or tube of {in_commas(ring.parts)} has all of it",
        "the pump's curve, pump = [[flow, pressure], ...] in its "
        "[components.NAME.water] table",
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


def _ring_flow(
    plan: Plan,
    ring: Ring,
    coolant: Coolant,
    state: LiquidState,
    *,
    heats: dict[str, float],
    flow: float | None,
) -> RingFlow:
    """Return how the coolant goes round one circuit."""
    is_pumped = flow is None and any(one.pump for one in ring.passages)
    stated = coolant.flow_l_min if flow is None else flow
    if not is_pumped and stated is None:
        raise _fault(
            plan,
            "coolant.flow",
            f"nothing, and no pump curve in {in_commas(ring.parts)}",
            "the flow in L/min here or as --flow, or the pump's curve, pump = [[flow, "
            "pressure], ...] in its [components.NAME.water] table",
        )
    given = _given(plan, ring)
    net = network(ring.passages, given=given, state=state)
    if is_pumped:
        crossings = net.crossings(MAIN)
        settled = _settled(net, crossings)
    else:
        crossings, settled = (), exactly(stated or 0.0)
    pressure = Band(
        low=net.loop_pressure(settled.main, LEAST),
        main=net.loop_pressure(settled.main, MAIN),
        high=net.loop_pressure(settled.main, GREATEST),
    )
    return RingFlow(
        ring=ring,
        network=net,
        given=given,
        crossings=crossings,
        flow=settled,
        pressure=pressure,
        passages=_passage_flows(
            net, given, settled, pressure, coolant=coolant, heats=heats
        ),
    )


def _settled(net: FlowNetwork, crossings: Sequence[Crossing]) -> Band:
    """Return the flow at which a loop stays that starts from nothing [L/min].

    Its band is that of the nearest such flow where all losses are the greatest, or the
    least, that they may be.
    """
    steady = [one.flow for one in crossings if one.is_steady]
    if not steady:
        msg = "the pumps give nothing: they push against each other, or their curves are 0"
        raise LoopsolverError(msg)
    flow = steady[0]
    others = [
        min(
            (one.flow for one in net.crossings(choose) if one.is_steady),
            key=lambda other: abs(other - flow),
            default=flow,
        )
        for choose in (GREATEST, LEAST)
    ]
    return around(flow, others)


def _passage_flows(
    net: FlowNetwork,
    given: int,
    settled: Band,
    pressure: Band,
    *,
    coolant: Coolant,
    heats: dict[str, float],
) -> tuple[PassageFlow, ...]:
    """Return every tube and part with the coolant in it, as it comes to them."""
    flows = net.flows(settled.main, MAIN).tolist()
    part_count = sum(not one.is_tube for one in net.passages)
    own = [
        heats.get(one.name, 0.0) if at < part_count else 0.0
        for at, one in enumerate(net.passages)
    ]
    is_stranded = any(
        heat and abs(flow) <= NO_FLOW for heat, flow in zip(own, flows, strict=True)
    )
    known = (net.passages[given].start, coolant.temperature_c)
    warm = [
        temperatures(net.passages, each, own, state=net.state, known=known)
        for each in _flows_in_band(net, settled)
        if any(own) and not is_stranded
    ] or [[None] * len(flows)]
    return tuple(
        PassageFlow(
            passage=net.passages[at],
            state=net.state,
            flow=flows[at],
            drop=net.passages[at].drop(abs(flows[at]), net.state)
            if abs(flows[at]) > NO_FLOW
            else NOTHING,
            pumped=pump_pressure(net.passages[at].pump, flows[at])
            if net.passages[at].pump
            else 0.0,
            of=pressure.main,
            heat=own[at] if heats else None,
            before=_warmth([each[at] for each in warm], 0),
            after=_warmth([each[at] for each in warm], 1),
        )
        for at in _in_order(net.passages, flows, given)
    )


def _flows_in_band(net: FlowNetwork, settled: Band) -> Iterator[list[float]]:
    """Yield the flow of every passage: the main one, the least and the greatest."""
    for flow, choose in (
        (settled.main, MAIN),
        (settled.low, GREATEST),
        (settled.high, LEAST),
    ):
        yield net.flows(flow, choose).tolist()


def _in_order(
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
        here = passages[at].end if flows[at] >= 0.0 else passages[at].start
        onward = [
            other
            for other, (one, flow) in enumerate(zip(passages, flows, strict=True))
            if here == (one.start if flow >= 0.0 else one.end)
        ]
        waiting += reversed(onward)
    return order


def _warmth(told: Sequence[tuple[float, float] | None], end: int) -> Band | None:
    """Return how warm it is at one end at the main flow, and at the flow's edges."""
    known = [one[end] for one in told if one is not None]
    return around(known[0], known) if known else None
