"""How the coolant goes round the chosen tubes of a plan: flow, pressure, temperature."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopsolver.errors import Fault, LoopsolverError, SceneError
from loopsolver.hydraulics.band import (
    GREATEST,
    LEAST,
    MAIN,
    NOTHING,
    Band,
    around,
    exactly,
)
from loopsolver.hydraulics.heat import Heat, balanced, temperatures
from loopsolver.hydraulics.liquids import LiquidState, limits_c, liquid_state
from loopsolver.hydraulics.losses import TubeLoss, pump_pressure
from loopsolver.hydraulics.network import (
    Crossing,
    FlowNetwork,
    Passage,
    in_order,
    network,
    passed_by_all,
)
from loopsolver.hydraulics.passages import Ring, rings
from loopsolver.scene.water import Coolant
from loopsolver.tolerances import NO_FLOW, NO_HEAT
from loopsolver.words import in_commas

if TYPE_CHECKING:
    from loopsolver.plan.file import Plan


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
        is_cold = coolant.temperature_c <= least
        more = "; with more glycol it freezes at less" if is_cold else ""
        raise _fault(
            plan,
            "coolant.temperature",
            f"{coolant.temperature_c:g} °C",
            f"{math.ceil(least):g} to {most:g} °C, where {coolant.liquid}{share} is "
            f"liquid and its figures are known{more}",
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
    pumps = (at for at, one in enumerate(ring.passages) if one.pump)
    given = next(pumps, None)
    given = passed_by_all(ring.passages) if given is None else given
    if given is not None:
        return given
    raise _fault(
        plan,
        "coolant.flow",
        f"a flow, though no part or tube of {in_commas(ring.parts)} has all of it",
        "the pump's curve, pump = [[flow, pressure], ...] in its "
        "[components.NAME.water] table",
    )


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
    stated = _stated(plan, ring, coolant) if flow is None else flow
    given = _given(plan, ring)
    net = network(ring.passages, given=given, state=state)
    crossings = net.crossings(MAIN) if stated is None else ()
    settled = net.settled(crossings) if stated is None else exactly(stated)
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


def _stated(plan: Plan, ring: Ring, coolant: Coolant) -> float | None:
    """Return the flow that the scene states [L/min]; None where pumps make it."""
    if any(one.pump for one in ring.passages):
        return None
    if coolant.flow_l_min is not None:
        return coolant.flow_l_min
    raise _fault(
        plan,
        "coolant.flow",
        f"nothing, and no pump curve in {in_commas(ring.parts)}",
        "the flow in L/min here or as --flow, or the pump's curve, pump = [[flow, "
        "pressure], ...] in its [components.NAME.water] table",
    )


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
        _passage_flow(
            net.passages[at],
            net.state,
            flow=flows[at],
            of=pressure.main,
            heat=own[at] if heats else None,
            warm=[each[at] for each in warm],
        )
        for at in in_order(net.passages, flows, given)
    )


def _passage_flow(
    passage: Passage,
    state: LiquidState,
    *,
    flow: float,
    of: float,
    heat: float | None,
    warm: Sequence[tuple[float, float] | None],
) -> PassageFlow:
    """Return a tube or part with the coolant in it, warm as it is told for each flow."""
    size = abs(flow)
    return PassageFlow(
        passage=passage,
        state=state,
        flow=flow,
        drop=passage.drop(size, state) if size > NO_FLOW else NOTHING,
        pumped=pump_pressure(passage.pump, flow) if passage.pump else 0.0,
        of=of,
        heat=heat,
        before=_warmth(warm, 0),
        after=_warmth(warm, 1),
    )


def _flows_in_band(net: FlowNetwork, settled: Band) -> Iterator[list[float]]:
    """Yield the flow of every passage: the main one, the least and the greatest."""
    for flow, choose in (
        (settled.main, MAIN),
        (settled.low, GREATEST),
        (settled.high, LEAST),
    ):
        yield net.flows(flow, choose).tolist()


def _warmth(told: Sequence[tuple[float, float] | None], end: int) -> Band | None:
    """Return how warm it is at one end at the main flow, and at the flow's edges."""
    known = [one[end] for one in told if one is not None]
    return around(known[0], known) if known else None
