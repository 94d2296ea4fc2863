"""``loopsolver flow``: how the coolant goes round: flow, pressure and temperature."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from loopsolver.amounts import FLOW, AmountError
from loopsolver.cli.options import add_json, add_picture, file_path
from loopsolver.cli.output import say, say_json, say_table, say_wrapped
from loopsolver.cli.status import told_status
from loopsolver.cli.subjects import read_plan
from loopsolver.scene import limits

if TYPE_CHECKING:
    from pathlib import Path

    from loopsolver.hydraulics.band import Band
    from loopsolver.hydraulics.loop_flow import LoopFlow, PassageFlow, RingFlow
    from loopsolver.plan import Plan


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    parser.add_argument(
        "--flow",
        metavar="F",
        type=_flow,
        help="a flow to reckon with instead of what the pumps give: in L/min, or with "
        'its unit, such as "90 L/h"',
    )
    add_picture(parser, what="draw the curves of pump and loop")
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print flow, pressure and temperature, and return the exit status."""
    from loopsolver.hydraulics.loop_flow import loop_flow
    from loopsolver.plan.judging import chosen_candidate

    plan = read_plan(args.plan, used=chosen_candidate)
    flow = loop_flow(plan, flow=args.flow)
    if args.picture is not None:
        _draw(plan, flow, args.picture, force=args.force)
    if args.json:
        say_json(_document(plan, flow, args.plan))
    else:
        _say(plan, flow)
        if args.picture is not None:
            say(f"Picture written to {args.picture}")
    return told_status(plan.runs)


def _flow(text: str) -> float:
    wanted = (
        f"a flow from {limits.FLOW_LEAST:g} to {limits.FLOW_MOST:g} L/min, plain or with "
        f"its unit: {FLOW.units}"
    )
    try:
        flow = FLOW.read(float(text)) if _is_plain(text) else FLOW.from_text(text)
    except AmountError as error:
        msg = f"found {text!r} ({error.trouble}); wanted {wanted}"
        raise argparse.ArgumentTypeError(msg) from error
    if not limits.FLOW_LEAST <= flow <= limits.FLOW_MOST:
        msg = f"found {text!r}; wanted {wanted}"
        raise argparse.ArgumentTypeError(msg)
    return flow


def _is_plain(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _draw(plan: Plan, flow: LoopFlow, path: Path, *, force: bool) -> None:
    from loopsolver.report.flow_picture import write_flow_picture

    write_flow_picture(flow, path, title=plan.scene.title, read=plan.files, force=force)


def _say(plan: Plan, flow: LoopFlow) -> None:
    from loopsolver.lengths import lengths_for
    from loopsolver.report import flow as words

    if plan.scene.title:
        say(plan.scene.title)
        say()
    say(f"Coolant: {words.coolant_text(flow)}")
    for number, circuit in enumerate(flow.circuits, start=1):
        name = words.circuit_name(flow.circuits, number)
        if name:
            say()
            say(name)
        say_wrapped(words.flow_lines(circuit), mark="")
        say()
        say_table(words.flow_table(circuit))
        say()
        lengths = lengths_for(plan.scene.units)
        say_wrapped(words.flow_remarks(plan, flow, circuit, lengths=lengths))
    say_wrapped([*words.still_remarks(flow), words.basis()])


def _document(plan: Plan, flow: LoopFlow, path: Path) -> dict[str, Any]:
    """Return flow, pressure and temperature as plain JSON values."""
    coolant, state = flow.coolant, flow.state
    return {
        "plan": str(path),
        "title": plan.scene.title,
        "units": "mm",
        "coolant": {
            "liquid": coolant.liquid,
            "share": coolant.share,
            "temperature": coolant.temperature_c,
            "is_stated": flow.is_coolant_stated,
            "density": state.density,
            "viscosity": state.viscosity,
            "heat_capacity": state.heat_capacity,
        },
        "circuits": [_circuit_document(one) for one in flow.circuits],
        "still": list(flow.still),
    }


def _circuit_document(circuit: RingFlow) -> dict[str, Any]:
    from loopsolver.report.flow import bend_prices

    return {
        "flow": _band(circuit.flow),
        "pressure": _band(circuit.pressure),
        "crossings": [
            {"flow": one.flow, "steady": one.is_steady} for one in circuit.crossings
        ],
        "entry": circuit.entry,
        "tubes_share": circuit.tubes_share,
        "not_counted": [
            *circuit.ring.unknown,
            *circuit.ring.unclear,
            *circuit.ring.unlaid,
        ],
        "passages": [_stage_document(one) for one in circuit.passages],
        "bend_prices": [
            {
                "angle_rad": bend.angle,
                "radius_to_inner_diameter": bend.ratio,
                "flow": through,
                "length": _band(price),
            }
            for (bend, through), price in bend_prices(circuit).items()
        ],
    }


def _stage_document(stage: PassageFlow) -> dict[str, Any]:
    from loopsolver.report.flow import reynolds_of

    tube = stage.tube
    return {
        "name": stage.passage.name,
        "kind": "tube" if stage.passage.is_tube else "part",
        "flow": stage.flow,
        "velocity": tube and tube.velocity(abs(stage.flow)),
        "reynolds": reynolds_of(stage),
        "drop": _band(stage.drop) if stage.passage.losses else None,
        "pumped": stage.pumped,
        "share": stage.share,
        "heat": stage.heat,
        "before": stage.before and _band(stage.before),
        "after": stage.after and _band(stage.after),
    }


def _band(band: Band) -> dict[str, float]:
    return {"least": band.low, "main": band.main, "most": band.high}
