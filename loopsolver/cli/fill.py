"""``loopsolver fill``: how much coolant to mix, where air stays, what draining leaves."""

from __future__ import annotations

import argparse
import contextlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopsolver.cli.options import add_force, add_json, file_path
from loopsolver.cli.output import say, say_json, say_table, say_wrapped, tell
from loopsolver.cli.status import told_status
from loopsolver.cli.stopping import noted_stop
from loopsolver.cli.subjects import read_plan
from loopsolver.errors import LoopsolverError
from loopsolver.files import check_drawing, write_drawing
from loopsolver.lengths import lengths_for

if TYPE_CHECKING:
    from loopsolver.hydraulics.filling import FillPlan, TiltStage, TiltStep
    from loopsolver.plan import Plan

_MOST_SPARE = 100.0


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    parser.add_argument(
        "--spare",
        metavar="PERCENT",
        type=_spare,
        help="how much more to mix than the loop holds (default: 10)",
    )
    parser.add_argument(
        "--pictures",
        metavar="FOLDER",
        type=file_path,
        help="draw the machine in each tilt, and where air or coolant is, as air.pdf and "
        "drain.pdf in a folder",
    )
    add_force(parser, what="files that are not as loopsolver wrote them")
    add_json(parser)


def _spare(text: str) -> float:
    try:
        share = float(text.removesuffix("%"))
    except ValueError:
        share = -1.0
    if not 0.0 <= share <= _MOST_SPARE:
        msg = f"found {text!r}; wanted per cent, from 0 to {_MOST_SPARE:g}"
        raise argparse.ArgumentTypeError(msg)
    return share


def command(args: argparse.Namespace) -> int:
    """Print volumes, trapped air, tilts and drain, and return the exit status."""
    from loopsolver.hydraulics.filling import SPARE, fill_plan
    from loopsolver.plan.judging import chosen_candidate

    plan = read_plan(args.plan, used=chosen_candidate)
    names = () if args.pictures is None else ("air.pdf", "drain.pdf")
    if args.pictures is not None:
        _check(args.pictures, names, read=plan.files, force=args.force)
    with noted_stop() as stopped:
        of = fill_plan(plan, stopped=stopped)
        if of.is_stopped:
            tell("You stopped the search: these are the best tilts found by then.")
    for name, stages in zip(names, (of.bleeding, of.draining), strict=False):
        _draw(plan, stages, args.pictures / name, force=args.force)
    spare = SPARE if args.spare is None else args.spare
    flows = _flows(plan)
    if args.json:
        say_json(_document(of, spare, flows))
    else:
        _say(plan, of, spare, flows)
    return told_status(plan.runs)


def _check(
    folder: Path, names: Iterable[str], *, read: Sequence[Path], force: bool
) -> None:
    """Raise where pictures must not or cannot be put; there may be no folder yet."""
    from loopsolver.workshop.folder import check_folder

    check_folder(folder)
    for name in names if folder.exists() else ():
        check_drawing(folder / name, read=read, force=force)


def _draw(plan: Plan, stages: Sequence[TiltStage], path: Path, *, force: bool) -> None:
    """Write the pages of how a machine is laid; none where nothing is known of it."""
    from loopsolver.workshop.tilt_pages import tilt_pages

    if not stages:
        tell(f"{path}: not drawn, since there is no answer.")
        return
    pages = tilt_pages(plan, stages, is_air=path.name == "air.pdf")
    with contextlib.suppress(OSError):  # which writing tells of
        path.parent.mkdir(exist_ok=True)
    write_drawing(path, pages, read=plan.files, force=force)
    tell(f"Pictures written to {path}.")


def _flows(plan: Plan) -> dict[str, float]:
    """Return the flow in each run [L/min]; empty where it is not known."""
    from loopsolver.hydraulics.loop_flow import loop_flow, states_flow

    if not states_flow(plan):
        return {}
    try:
        found = loop_flow(plan)
    except LoopsolverError as error:
        tell(f"The flow is not known: {error}")
        return {}
    return {
        one.passage.name: abs(one.flow)
        for circuit in found.circuits
        for one in circuit.passages
        if one.passage.is_tube
    }


def _say(plan: Plan, of: FillPlan, spare: float, flows: Mapping[str, float]) -> None:
    """Print all of it: cautions first."""
    from loopsolver.report import filling as words

    scene, lengths = plan.scene, lengths_for(plan.scene.units)
    say("First of all:")
    say_wrapped(words.FILL_CAUTIONS)
    say()
    say_table(words.volume_table(of.volumes))
    say()
    say_wrapped([words.mix_words(of.volumes, spare=spare)], mark="")
    say()
    say("Air:")
    say_wrapped(words.air_sentences(of, scene, lengths=lengths))
    say_wrapped(words.carried_sentences(of, scene, flows=flows))
    say()
    say("Draining:")
    say_wrapped(words.drain_sentences(of, scene, lengths=lengths))


def _document(of: FillPlan, spare: float, flows: Mapping[str, float]) -> dict[str, Any]:
    from loopsolver.report.filling import FILL_CAUTIONS

    volumes = of.volumes
    return {
        "cautions": list(FILL_CAUTIONS),
        "tubes_ml": dict(volumes.tubes),
        "fittings_ml": volumes.fittings_ml,
        "parts_ml": dict(volumes.parts),
        "known_ml": volumes.known_ml,
        "unknown": list(volumes.unknown),
        "spare_percent": spare,
        "mix_ml": volumes.known_ml * (1.0 + spare / 100.0),
        "air": [_step(one) for one in of.air] or None,
        "by_chance_ml": of.by_chance_ml,
        "level": dict(of.level),
        "carried": [
            {**asdict(one), "has_l_min": flows.get(one.run)} for one in of.carried
        ],
        "drain": [_step(one) for one in of.drain] or None,
        "bleeding": [_stage(one) for one in of.bleeding],
        "draining": [_stage(one) for one in of.draining],
        "lowest": None if of.lowest is None else asdict(of.lowest),
        "ways": of.ways,
        "is_stopped": of.is_stopped,
    }


def _stage(stage: TiltStage) -> dict[str, Any]:
    return {
        "down": list(stage.lie.down),
        "left_ml": stage.left_ml,
        "left": [asdict(one) for one in stage.left],
    }


def _step(step: TiltStep) -> dict[str, Any]:
    return {
        "tilts": [list(lie.down) for lie in step.lies],
        "left_ml": step.left_ml,
        "left": [asdict(one) for one in step.left],
    }
