"""How the coolant goes round a loop: in a table, and in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from loopsolver.hydraulics.band import Band
from loopsolver.hydraulics.friction import LAMINAR_MOST, TURBULENT_LEAST
from loopsolver.hydraulics.loop_flow import LoopFlow, PassageFlow, RingFlow
from loopsolver.hydraulics.losses import CLOSE_DIAMETERS, CurveLoss, TubeBend
from loopsolver.hydraulics.passages import fitting_at, fitting_loss
from loopsolver.lengths import Lengths
from loopsolver.report.text_table import TextTable
from loopsolver.scene.model import Fitting, Scene
from loopsolver.tube.stock import MATERIAL_FACTS
from loopsolver.words import counted, listed, quoted

if TYPE_CHECKING:
    from loopsolver.plan.file import Plan

_BAR: Final = 10
"""Signs of the bar of a part that takes all of the pressure."""

FEW: Final = 0.1
"""Tubes that take less than this share of the pressure decide nothing.

Common practice, no source: blocks and radiators usually take nine tenths.
"""


def two_digits(value: float) -> str:
    """Return a value to two digits: more is not known of any pressure here.

    >>> two_digits(0.01234), two_digits(0.996), two_digits(23.4), two_digits(6449.0)
    ('0.012', '1.0', '23', '6400')
    """
    if value == 0.0:
        return "0"
    place = 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, place)
    place = 1 - math.floor(math.log10(abs(rounded)))
    return f"{rounded:.{max(place, 0)}f}"


def spread_text(band: Band, unit: str) -> str:
    """Return a value with its band: ``3.8 L/min (2.9 to 4.2)``; bare where it has none."""
    main, low, high = map(two_digits, (band.main, band.low, band.high))
    return f"{main} {unit}" if low == high else f"{main} {unit} ({low} to {high})"


def coolant_text(flow: LoopFlow) -> str:
    """Return what goes round, how warm, heavy and thick it is."""
    coolant, state = flow.coolant, flow.state
    named = (
        f"{coolant.share:g} % {coolant.liquid} in water" if coolant.share else "water"
    )
    return (
        f"{named} at {coolant.temperature_c:g} °C: {state.density:.0f} kg/m³, "
        f"{two_digits(1000.0 * state.viscosity)} mPa s"
        f"{'' if flow.is_coolant_stated else ' (not stated in the scene, so taken)'}"
    )


def flow_lines(circuit: RingFlow) -> Iterator[str]:
    """Yield the flow of a circuit, and what it takes or the pumps give."""
    flow, pressure = circuit.flow, circuit.pressure
    if not circuit.crossings:
        yield (
            f"Flow, as stated: {flow.main:.4g} L/min; for that the loop takes "
            f"{spread_text(pressure, 'kPa')}"
        )
        return
    yield (
        f"Flow: {spread_text(flow, 'L/min')}, at which the loop takes "
        f"{two_digits(pressure.main)} kPa"
    )
    if len(circuit.crossings) > 1:
        told = listed(
            [
                f"{two_digits(one.flow)} L/min"
                f"{'' if one.is_steady else ' (where it does not stay)'}"
                for one in circuit.crossings
            ]
        )
        yield (
            f"The curves of pump and loop cross {len(circuit.crossings)} times: at "
            f"{told}. Starting from nothing it settles at the first; a knock or a bubble "
            "may bring it to another."
        )


def flow_table(circuit: RingFlow) -> TextTable:
    """Return every part and tube of a circuit with the coolant in it."""
    has_heat = any(one.after is not None for one in circuit.passages)
    headings = ["", "flow\nL/min", "speed\nm/s", "Reynolds\nnumber", "drop\nkPa"]
    headings += ["least\nkPa", "most\nkPa", "share\n%"]
    headings += ["goes on\n°C"] if has_heat else []
    return TextTable(
        headings=(*headings, ""),
        rows=[_row(one, has_heat=has_heat) for one in circuit.passages],
        words=frozenset({0, len(headings)}),
    )


def _row(stage: PassageFlow, *, has_heat: bool) -> tuple[str, ...]:
    tube, size = stage.tube, abs(stage.flow)
    speed = tube and two_digits(tube.velocity(size))
    reynolds = tube and two_digits(reynolds_of(stage) or 0.0)
    drop = stage.drop
    is_known = bool(stage.passage.losses)
    told = [two_digits(one) for one in (drop.main, drop.low, drop.high)]
    warm = [stage.after] if has_heat else []
    return (
        stage.passage.name,
        two_digits(size),
        speed or "",
        reynolds or "",
        *(told if is_known else ("", "", "")),
        f"{100.0 * stage.share:.0f}" if is_known else "",
        *("" if one is None else f"{one.main:.1f}" for one in warm),
        "#" * round(_BAR * stage.share) if is_known else _not_counted(stage),
    )


def _not_counted(stage: PassageFlow) -> str:
    return "pump" if stage.passage.pump else "not known"


def reynolds_of(stage: PassageFlow) -> float | None:
    """Return the Reynolds number in a tube; None for a part."""
    if stage.tube is None:
        return None
    return stage.tube.reynolds(abs(stage.flow), stage.state)


def flow_remarks(
    plan: Plan, flow: LoopFlow, circuit: RingFlow, *, lengths: Lengths
) -> Iterator[str]:
    """Yield what is not counted, what the figures rest on and what follows from them."""
    stated = flow.coolant.flow_l_min
    if circuit.crossings and stated is not None:
        yield f"flow = {stated:g} of [coolant] is not used: the pumps' curves say it"
    yield from _lacking(circuit)
    yield from _beyond(circuit)
    yield from _between(circuit)
    yield from _prices(circuit, lengths)
    yield from _close(circuit, plan.scene, lengths)
    yield from _fittings(plan)
    yield from _thicker(flow, circuit)
    yield pointless(circuit)
    yield from heat_remarks(plan.scene, circuit)


def _lacking(circuit: RingFlow) -> Iterator[str]:
    ring = circuit.ring
    less = "the true flow is lower" if circuit.crossings else "the true drop is higher"
    if ring.unknown:
        one_of_them = ring.unknown[0] if len(ring.unknown) == 1 else "NAME"
        yield (
            f"not counted: {listed(ring.unknown)}, without loss = [[flow, pressure]] or "
            f"pump in [components.{one_of_them}.water]; {less}"
        )
    for name in ring.unclear:
        yield (
            f"{name} is not counted: more than one tube comes in and more than one goes "
            f'out, so its figures do not say what each takes; {less}; flow = "in" or '
            '"out" at its ports may tell'
        )
    for name in ring.unlaid:
        yield f"{name!r} is not counted: it has no chosen tube; {less}"
    still = [one for one in circuit.passages if one.is_still]
    for one in still:
        gives = f", and its {one.heat:g} W stay in it" if one.heat else ""
        yield f"nothing flows through {one.passage.name!r}{gives}"
    back = [
        one.passage.name
        for one in circuit.passages
        if one.flow < 0 and not one.is_still
    ]
    if back:
        yield f"the coolant goes through {quoted(back)} against from and to"


def _beyond(circuit: RingFlow) -> Iterator[str]:
    """Yield where curves are used beyond their points."""
    alone: dict[float, list[str]] = {}
    for one in circuit.passages:
        pump = one.passage.pump
        if pump and circuit.crossings and one.flow > pump[-1][0]:
            yield (
                f"{one.passage.name}: the flow lies beyond the last point of its curve, "
                f"{pump[-1][0]:g} L/min; it is taken along its last stretch"
            )
        points = [
            loss.points for loss in one.passage.losses if isinstance(loss, CurveLoss)
        ]
        for own in points:
            if len(own) == 1:
                alone.setdefault(own[0][0], []).append(one.passage.name)
            elif not own[0][0] <= abs(one.flow) <= own[-1][0] and not one.is_still:
                yield (
                    f"{one.passage.name}: its loss is known from {own[0][0]:g} to "
                    f"{own[-1][0]:g} L/min; at {two_digits(abs(one.flow))} L/min it is "
                    "drawn on"
                )
    for flow, names in alone.items():
        yield (
            f"known at {flow:g} L/min alone and taken to grow with the square of the flow: "
            f"the loss of {listed(names)}"
        )


def _between(circuit: RingFlow) -> Iterator[str]:
    """Yield which tubes run where flow may be laminar or turbulent."""
    names = [
        one.passage.name
        for one in circuit.passages
        if LAMINAR_MOST < (reynolds_of(one) or 0.0) < TURBULENT_LEAST
    ]
    if names:
        yield (
            f"in {quoted(names)} the Reynolds number lies between {LAMINAR_MOST:.0f} and "
            f"{TURBULENT_LEAST:.0f}: flow may be laminar or turbulent there, so the band "
            "is wide"
        )


def bend_prices(circuit: RingFlow) -> dict[tuple[TubeBend, float], Band]:
    """Return each sort of bend and the flow through it [L/min], with its price [mm].

    The price is the length of straight tube that takes as much.
    """
    prices: dict[tuple[TubeBend, float], Band] = {}
    for one in circuit.passages:
        for bend in one.tube.bends if one.tube and not one.is_still else ():
            alike = TubeBend(ratio=bend.ratio, angle=round(bend.angle, _SAME))
            flow = round(abs(one.flow), _SAME)
            if one.tube and (alike, flow) not in prices:
                prices[alike, flow] = one.tube.bend_price(alike, flow, one.state)
    return prices


_SAME: Final = 3
"""Decimals of an angle [rad] and a flow [L/min] that tell bends apart."""

_MOST_PRICES: Final = 4


def _prices(circuit: RingFlow, lengths: Lengths) -> Iterator[str]:
    """Yield what bends cost in straight tube; of many sorts the dearest."""
    inner = next((one.tube.inner_diameter for one in circuit.passages if one.tube), 0.0)
    dearest = sorted(
        bend_prices(circuit).items(), key=lambda told: told[1].main, reverse=True
    )
    for (bend, flow), price in dearest[:_MOST_PRICES]:
        arc = bend.angle * bend.ratio * inner
        main, low, high, own = (
            two_digits(one / lengths.millimetres)
            for one in (price.main, price.low, price.high, arc)
        )
        yield (
            f"a bend of {math.degrees(bend.angle):.0f} degrees costs as much as {main} "
            f"{lengths.unit} of straight tube ({low} to {high}) at {two_digits(flow)} "
            f"L/min; its own arc is {own} {lengths.unit} of that"
        )


def _close(circuit: RingFlow, scene: Scene, lengths: Lengths) -> Iterator[str]:
    """Yield in which tubes bends stand too close to each other simply to add."""
    names = [
        one.passage.name
        for one in circuit.passages
        if one.tube and any(bend.is_close for bend in one.tube.bends)
    ]
    if names:
        apart = lengths.plain(CLOSE_DIAMETERS * scene.tube.inner_diameter)
        yield (
            f"in {quoted(names)} bends stand less than ten inside diameters, {apart}, "
            "apart: they do not simply add, and the band is wider for it"
        )


def _fittings(plan: Plan) -> Iterator[str]:
    """Yield what each fitting is taken to cost, and on what ground."""
    used: dict[Fitting, None] = {}
    for run in plan.runs:
        for end in run.tube_in_place.ends if run.tube_in_place else ():
            used[fitting_at(plan.scene, end.port, end.fitting)] = None
    for fitting in used:
        loss = fitting_loss(fitting)
        if fitting.loss is not None:
            why = "as stated"
        elif fitting.turn_deg:
            why = "as a bored corner without a radius (Miller; Rennels to Blevins)"
        else:
            why = "a step of bore, since it states no loss (common practice, no source)"
        told = f"{loss.main:.2g}"
        if loss.low != loss.high:
            told += f" ({loss.low:.2g} to {loss.high:.2g})"
        yield f"{fitting.name}: {told} velocity heads of the tube each, {why}"


def _thicker(flow: LoopFlow, circuit: RingFlow) -> Iterator[str]:
    """Yield what a coolant that is thicker than water leaves open."""
    if flow.coolant.share and any(one.passage.losses for one in circuit.passages):
        yield (
            "parts and pumps are measured with water: with this coolant a part may take "
            "from as much as stated to as much more as it is thicker, and a pump gives "
            "a little less"
        )


def pointless(circuit: RingFlow) -> str:
    """Return how much the tubes take, and what it means for choosing among them."""
    share = circuit.tubes_share
    told = f"the tubes take {100.0 * share:.0f} % of the pressure"
    if circuit.ring.unknown:
        return f"{told} of what is counted"
    if share < FEW:
        return (
            f"{told}: blocks and radiators decide, and choosing a tube by its drop is "
            "pointless"
        )
    return told


def heat_remarks(scene: Scene, circuit: RingFlow) -> Iterator[str]:
    """Yield how warm the hottest tube gets, and what its material bears."""
    tubes = [one for one in circuit.passages if one.passage.is_tube and one.after]
    if not tubes:
        if any(one.heat for one in circuit.passages):
            yield "temperatures are not reckoned: a part that gives heat has no flow"
        return
    hottest = max(tubes, key=_warmest)
    told = f"hottest tube: {hottest.passage.name!r}, at most {_warmest(hottest):.1f} °C"
    facts = MATERIAL_FACTS[scene.tube.material]
    if facts.warmest_c is None:
        yield f"{told}; copper bears it"
        return
    verdict = "above" if _warmest(hottest) > facts.warmest_c else "below"
    more = (
        "; lower the coolant's temperature or raise the flow, or it sags and lets go of "
        "its fittings"
        if verdict == "above"
        else ""
    )
    yield (
        f"{told}; {verdict} the {facts.warmest_c:g} °C that {scene.tube.material} bears "
        f"({facts.warmest_source}){more}"
    )


def _warmest(stage: PassageFlow) -> float:
    """Return how warm a tube may get [°C]."""
    return stage.after.high if stage.after else -math.inf


def basis() -> str:
    """Return on what the figures of tubes rest."""
    return (
        "tubes: smooth, laminar below a Reynolds number of "
        f"{LAMINAR_MOST:.0f}, by Colebrook above {TURBULENT_LEAST:.0f}; bends by "
        "Idelchik's diagram 6-2, their band over 6-1 with its arc, White and Ito; all at "
        "the coolant's stated temperature. An inside diameter 5 % smaller than stated "
        "takes a quarter more"
    )


def still_remarks(flow: LoopFlow) -> Iterator[str]:
    """Yield the runs that are on no circuit."""
    if flow.still:
        verb = "is" if len(flow.still) == 1 else "are"
        yield f"nothing flows in {quoted(flow.still)}, which {verb} on no circuit"


def circuit_name(circuits: Sequence[RingFlow], number: int) -> str:
    """Return which of several circuits it is; '' of one alone."""
    if len(circuits) == 1:
        return ""
    parts = circuits[number - 1].ring.parts
    return (
        f"Circuit {number} of {counted(len(circuits), 'circuit')}: {', '.join(parts)}"
    )
