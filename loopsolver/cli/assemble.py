"""``loopsolver assemble``: how tubes go in, what must be loose, in which order."""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING, Any

from loopsolver.cli.options import add_force, add_json, add_paper, file_path
from loopsolver.cli.output import say, say_json, say_wrapped, tell
from loopsolver.cli.progress import ProgressLine
from loopsolver.cli.status import told_status
from loopsolver.cli.stopping import noted_stop
from loopsolver.cli.subjects import read_plan
from loopsolver.files import check_own, sealed, write_whole
from loopsolver.lengths import lengths_for
from loopsolver.tolerances import WRITTEN_DECIMALS
from loopsolver.words import counted

if TYPE_CHECKING:
    from loopsolver.assembly.insertion import Easing, Insertion
    from loopsolver.assembly.order import AssemblyOrder
    from loopsolver.plan import Plan
    from loopsolver.report.assembling import AssemblyStep


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    parser.add_argument(
        "-o",
        "--output",
        metavar="PDF",
        type=file_path,
        help="a sheet to print: a numbered step each, with a small picture",
    )
    add_paper(parser)
    add_force(parser, what="a sheet that is not as loopsolver wrote it")
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print how the tubes go in and in which order, and return the exit status."""
    from loopsolver.assembly.order import assembly
    from loopsolver.plan.judging import chosen_candidate
    from loopsolver.report.assembling import assembly_steps
    from loopsolver.routing.control import Control

    plan = read_plan(args.plan, used=chosen_candidate)
    if args.output is not None:
        check_own(args.output, ending=".pdf", read=plan.files, force=args.force)
    lengths = lengths_for(plan.scene.units)
    with noted_stop() as stopped, ProgressLine(lengths) as line:
        of = assembly(plan, control=Control(stopped=stopped, tell=line.tell))
    if stopped():
        tell("You stopped the search: this is the best order found by then.")
    steps = tuple(assembly_steps(of, plan.scene))
    if args.json:
        say_json(_document(of, steps))
    else:
        _say(plan, of, steps)
    if args.output is not None:
        _write(plan, of, args)
    return told_status(plan.runs)


def _write(plan: Plan, of: AssemblyOrder, args: argparse.Namespace) -> None:
    """Write the sheet, and tell what it is."""
    from loopsolver.workshop.assembly_pages import assembly_sheet
    from loopsolver.workshop.sheets import paper_named

    sheet = assembly_sheet(plan, of, paper=paper_named(args.paper))
    write_whole(args.output, sealed(sheet.content, ending=".pdf"))
    pages = counted(sheet.pages, "page")
    tell(f"Sheet of {pages} written to {args.output}: print at 100 %.")


def _say(plan: Plan, of: AssemblyOrder, steps: tuple[AssemblyStep, ...]) -> None:
    """Print all of it: cautions first."""
    from loopsolver.report import assembling as words

    say("First of all:")
    say_wrapped(words.ASSEMBLY_CAUTIONS)
    say()
    say("How each tube goes in:")
    say_wrapped(words.insertion_sentences(of, plan.scene))
    say()
    say("Order:")
    say_wrapped(words.order_sentences(of, plan.scene))
    for number, step in enumerate(steps, start=1):
        say_wrapped([f"{step.head}: {' '.join(step.how)}"], mark=f"{number:2d}. ")
    say()
    say("Taking out:")
    say_wrapped(words.cleaning_sentences(of))


def _document(of: AssemblyOrder, steps: tuple[AssemblyStep, ...]) -> dict[str, Any]:
    from loopsolver.report.assembling import ASSEMBLY_CAUTIONS

    return {
        "cautions": list(ASSEMBLY_CAUTIONS),
        "tubes": [_tube(one) for one in of.insertions],
        "is_stated": of.is_stated,
        "loose": list(of.loose),
        "steps": [_step(one) for one in steps],
        "stuck": [{"run": one.tube, "helpful": list(one.helpful)} for one in of.stuck],
        "taking_out": [one.tube for one in of.removals],
        "blocked": {tube: list(others) for tube, others in of.blocked.items()},
        "covered": {part: list(tubes) for part, tubes in of.covered.items()},
        "ended": of.ended,
    }


def _tube(one: Insertion) -> dict[str, Any]:
    return {
        "run": one.tube.name,
        "ends": one.ends,
        "angle_deg": round(math.degrees(one.angle), WRITTEN_DECIMALS),
        "goes_in": one.goes_in,
        "slide": one.slide or None,
        "depths": {joint.port: joint.depth for joint in one.tube.joints},
        "loosenings": [
            {"part": each.part, "port": each.port, "way": list(each.way), "by": each.by}
            for each in one.loosenings
        ],
        "easing": None if one.easing is None else _easing(one.easing),
    }


def _easing(easing: Easing) -> dict[str, Any]:
    return {
        "port": easing.port,
        "way": list(easing.way),
        "wanted": easing.wanted,
        "free": easing.free,
        "lasting": easing.lasting,
        "force_n": easing.force_n,
        "stress_mpa": easing.stress_mpa,
        "share": easing.share,
    }


def _step(step: AssemblyStep) -> dict[str, Any]:
    told: dict[str, Any] = {"head": step.head, "how": list(step.how)}
    removal = step.removal
    if removal is None:
        return {**told, "fixed": list(step.parts)}
    shift = removal.freeing.shift
    return {
        **told,
        "run": removal.tube,
        "parts": list(removal.freeing.parts),
        "shift": None if shift is None else list(shift.vector),
        "freed": removal.freeing.port or None,
        "out": list(removal.leaving.out.way),
    }
