"""``loopsolver route``: candidates for every run of a scene, and the plan of them."""

from __future__ import annotations

import argparse
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from loopsolver.cli.options import add_by, add_force, add_json, file_path
from loopsolver.cli.output import say_json, tell
from loopsolver.cli.progress import ProgressLine
from loopsolver.cli.status import INTERRUPTED, told_status
from loopsolver.cli.stopping import noted_stop
from loopsolver.cli.subjects import (
    axes_document,
    command_line,
    read_plan,
    read_scene,
    tell_axes_left_out,
    tell_slips,
)
from loopsolver.lengths import lengths_for
from loopsolver.routing.effort import SECONDS
from loopsolver.words import counted

if TYPE_CHECKING:
    from loopsolver.plan import Plan, PlannedRun
    from loopsolver.routing.problem import Candidate


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("scene", metavar="SCENE", type=file_path, help="the scene file")
    parser.add_argument(
        "-o",
        "--output",
        metavar="PLAN",
        type=file_path,
        help="the plan to write (default: the scene's name with .plan.json, here)",
    )
    add_by(parser, default="bends")
    _add_what_is_sought(parser)
    add_json(parser)
    add_force(parser, what="a file that loopsolver did not write")


def _add_what_is_sought(parser: argparse.ArgumentParser) -> None:
    """Add which runs are routed, which candidates are kept, and for how long."""
    parser.add_argument(
        "--run",
        metavar="NAME",
        nargs="+",
        action="extend",
        help="only the runs of these names; the plan holds no others",
    )
    parser.add_argument(
        "--keep",
        metavar="NAME=RANK",
        nargs="+",
        action="extend",
        default=[],
        help=(
            "keep these candidates, ranks as in the plan that stands there, and solve "
            "the rest round them"
        ),
    )
    parser.add_argument(
        "--seconds",
        metavar="S",
        type=_seconds,
        default=SECONDS,
        help=(
            "the most time for the choice of the whole loop, and once more for trying "
            f"what would let all runs fit (default: {SECONDS:g} seconds); "
            "Ctrl-C ends it sooner and keeps the best so far"
        ),
    )


def command(args: argparse.Namespace) -> int:
    """Route, write the plan, print the comparison, and return the exit status."""
    from loopsolver.cli.comparing import plan_document, say_plan
    from loopsolver.plan.file import check_plan_place, scene_named_in
    from loopsolver.report.planning import route_scene
    from loopsolver.routing.control import Control

    path: Path = args.output or Path(f"{args.scene.stem}.plan.json")
    scene = read_scene(args.scene)
    keep = kept_candidates(args.keep, path) if args.keep else {}
    check_plan_place(path, read=(args.scene,), force=args.force)
    scene_named_in(path, args.scene)
    tell_slips(scene)
    with noted_stop() as stopped, ProgressLine(lengths_for(scene.units)) as line:
        plan = route_scene(
            scene,
            by=args.by,
            runs=args.run,
            keep=keep,
            seconds=args.seconds,
            control=Control(stopped=stopped, tell=line.tell),
        )
    if _is_early(plan) and path.exists():
        tell(f"loopsolver: stopped before all runs were routed; {path} stays as it was")
        return INTERRUPTED
    if _is_early(plan) and not any(run.candidates for run in plan.runs):
        tell("loopsolver: stopped")
        return INTERRUPTED
    plan.write(path, scene_path=args.scene, force=args.force)
    if args.json:
        case = axes_document(scene)
        say_json(plan_document(plan, plan.runs, path, case=case))
    else:
        say_plan(plan, plan.runs)
    _tell_what_next(plan, path)
    return told_status(plan.runs)


def kept_candidates(pairs: Sequence[str], path: Path) -> dict[str, Candidate]:
    """Return the candidates that ``--keep`` names, from the plan that stands there.

    Raises
    ------
    LoopsolverError
        If a pair is no NAME=RANK, or there is no such plan, run or candidate.
    """
    from loopsolver.errors import LoopsolverError

    if not path.exists():
        msg = (
            f"--keep counts candidates as in the plan {path}, which is not there; route "
            "without --keep first, or name the plan with -o"
        )
        raise LoopsolverError(msg)
    ranks: dict[str, int] = {}
    for pair in pairs:
        name, sign, rank = pair.rpartition("=")
        if not sign or not (rank.isascii() and rank.isdigit()):
            msg = f"--keep: found {pair!r}; wanted NAME=RANK, as in 'pump to card=2'"
            raise LoopsolverError(msg)
        ranks[name] = int(rank)

    def used(run: PlannedRun) -> Collection[int]:
        rank = ranks.get(run.name, 0)
        return (rank,) if 1 <= rank <= len(run.candidates) else ()

    plan = read_plan(path, used=used)
    return {name: plan.run(name).candidate(rank) for name, rank in ranks.items()}


def _seconds(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= 3600.0:
        msg = f"found {text!r}; wanted a number of seconds from 0 to 3600"
        raise argparse.ArgumentTypeError(msg)
    return value


def _is_early(plan: Plan) -> bool:
    """Return whether the search was stopped before all runs were routed.

    Who stops it at once has often started it by mistake, and a plan that stands there
    may hold the runs that this one lacks.
    """
    return plan.loop is not None and plan.loop.ended == "stopped early"


def _tell_what_next(plan: Plan, path: Path) -> None:
    """Tell where the plan is and what can be done with it."""
    from loopsolver.report.lacking import missing_words

    routed = sum(1 for run in plan.runs if run.candidates)
    refused = sum(run.refused for run in plan.runs)
    tell("")
    not_chosen = sum(1 for run in plan.runs if run.candidates and not run.chosen)
    beside = f", {not_chosen} of them left out" if not_chosen else ""
    tell(
        f"Plan written to {path}: {routed} of {counted(len(plan.runs), 'run')} with "
        f"a route{beside}."
    )
    tell_axes_left_out(plan.scene)
    if plan.loop is not None and plan.loop.ended.startswith("stopped"):
        tell("You stopped the search: the plan holds the best that was found by then.")
    for words in missing_words(plan):
        tell(f"It {words}.")
    if refused:
        tell(
            f"Dropped, because the check after the search failed: "
            f"{counted(refused, 'route')}. That is a fault of loopsolver: please "
            "report it."
        )
    if routed:
        tell(f"Next: `{command_line('compare', path)}` for the candidates again,")
        tell(f"      `{command_line('view', path)}` to look at them,")
        tell(f"      `{command_line('bends', path)}` for the bend tables,")
        tell(f"      `{command_line('sheets', path)} -o sheets` to print templates.")
