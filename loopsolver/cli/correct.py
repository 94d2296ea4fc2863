"""``loopsolver correct``: the least that mends a tube that was bent."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopsolver.cli.as_bent import add_measured, measured_of
from loopsolver.cli.options import add_candidate, add_json, file_path
from loopsolver.cli.output import say, say_json, say_wrapped, tell
from loopsolver.cli.status import DONE
from loopsolver.cli.subjects import asked_candidates, read_plan
from loopsolver.errors import LoopsolverError, PlanError
from loopsolver.lengths import lengths_for

if TYPE_CHECKING:
    from loopsolver.fitup.advice import Advice, Cure
    from loopsolver.fitup.as_bent import AsBent
    from loopsolver.plan import Plan, PlannedRun
    from loopsolver.plan.judging import Used


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    parser.add_argument(
        "--run", metavar="NAME", required=True, help="the run whose tube was bent"
    )
    add_candidate(parser)
    add_measured(parser)
    parser.add_argument(
        "--built",
        action="store_true",
        help="keep the tube as measured in the plan, in place of the chosen candidate; "
        "`route --keep NAME=built` routes the others round it",
    )
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print what mends the tube, keep it if that is asked, and return the exit status."""
    from loopsolver.cli.bending import say_caution
    from loopsolver.fitup.advice import advice
    from loopsolver.report.correcting import advice_sentences, seen_words

    path: Path = args.plan
    content = path.read_bytes() if path.is_file() else b""
    plan = read_plan(path, used=_used(args.run, args.candidate))
    run = plan.run(args.run)
    rank = _rank(run, args.candidate)
    candidate = run.candidate(rank)
    measured = measured_of(args, bends=candidate.bends, units=plan.scene.units)
    if args.built:
        _check_shape(measured)
    told = advice(plan, run, candidate, measured)
    if args.built:
        _keep(plan, run, told, path, content)
    if args.json:
        say_json(_document(args, rank, told))
        return DONE
    say(f"{run.name}: {run.from_port} to {run.to_port}, candidate {rank}")
    say_wrapped(advice_sentences(told, plan.scene, lengths_for(plan.scene.units)))
    say_wrapped(seen_words(told, run), mark="")
    if told.cures:
        say()
        say_caution(plan.scene.tube.material)
    return DONE


def _used(name: str, candidate: int | None) -> Used:
    """Return which candidates are used: those that lie beside the tube as well."""
    from loopsolver.plan.judging import chosen_candidate

    asked = asked_candidates([name], candidate)
    return lambda run: {*chosen_candidate(run), *asked(run)}


def _rank(run: PlannedRun, candidate: int | None) -> int:
    rank = candidate or run.chosen
    if rank is None:
        msg = (
            f"run {run.name!r} has no chosen candidate: say which was bent: --candidate"
        )
        raise PlanError(msg)
    return rank


def _check_shape(measured: AsBent) -> None:
    """Refuse to keep a tube whose bends are guessed."""
    if None in measured.angles:
        msg = (
            "--built: found bends without a measured angle; wanted --angles with every "
            "one: what a tube is is not kept by guess"
        )
        raise LoopsolverError(msg)


def _keep(
    plan: Plan, run: PlannedRun, told: Advice, path: Path, content: bytes
) -> None:
    """Put the tube as measured into the plan file, if that is still as it was read."""
    from loopsolver.files import write_over
    from loopsolver.plan.built import with_built
    from loopsolver.plan.file import scene_named_in

    kept = with_built(plan, run.name, told.as_it_is.tube)
    text = kept.to_json(scene_path=scene_named_in(path, plan.files[1]))
    write_over(path, text.encode(), read=content)
    before = " in place of the one kept before" if run.built is not None else ""
    tell(
        f"{path}: the tube of run {run.name!r} is kept as built{before}; `loopsolver "
        "route` with --keep routes the others round it"
    )


def _document(args: argparse.Namespace, rank: int, told: Advice) -> dict[str, Any]:
    """Return the advice as plain JSON values."""
    return {
        "plan": str(args.plan),
        "run": args.run,
        "candidate": rank,
        "units": "mm",
        "fits": told.fits,
        "as_it_is": _cure_document(told.as_it_is),
        "advice": [_cure_document(cure) for cure in told.cures],
        "anew": list(told.whys),
        "left_alone": [
            {
                "bend": one.bend,
                "reaches": "fitting" if one.other is None else "bend",
                "by": one.length,
            }
            for one in told.reached
        ],
        "is_known": told.measured.is_known,
        "strain": told.believed.strain,
        "built": bool(args.built),
    }


def _cure_document(cure: Cure) -> dict[str, Any]:
    import math

    from loopsolver.plan.record import table_rows

    sits, tube = cure.correction.sits, cure.tube
    first, far = (-one for one in sits.slides[0].tolist())
    return {
        "changes": [
            {"bend": one.bend, "angle": one.angle_deg, "turn": one.turn_deg}
            for one in cure.correction.changes
        ],
        "far_end_moves": cure.far_end_moves,
        "roll": math.degrees(float(sits.rolls[0])),
        "trims": {"first": first, "far": far},
        "room": cure.correction.room,
        "gap": tube.gap.distance,
        "nearest": tube.gap.name,
        "tube_gap": cure.tube_gap if cure.nearest_tube else None,
        "nearest_tube": cure.nearest_tube or None,
        "bend_radius": tube.centreline.radius,
        "bend_table": [row.told() for row in table_rows(tube.table)],
        "vertices": [list(vertex) for vertex in tube.centreline.vertices],
    }
