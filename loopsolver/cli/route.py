"""``loopsolver route``: candidates for every run of a scene, and the plan of them."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from loopsolver.cli.lengths import counted
from loopsolver.cli.options import add_by, add_force, add_json, new_parser
from loopsolver.cli.output import say, say_json, tell
from loopsolver.cli.progress import Progress
from loopsolver.cli.status import status_of
from loopsolver.cli.subjects import command_line, read_scene

if TYPE_CHECKING:
    from loopsolver.cli.options import Subparsers
    from loopsolver.plan import Plan


def add_parser(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    parser = new_parser(
        subparsers,
        "route",
        summary="find candidates for every run of a scene and write the plan",
    )
    parser.add_argument("scene", metavar="SCENE", type=Path, help="the scene file")
    parser.add_argument(
        "-o",
        "--output",
        metavar="PLAN",
        type=Path,
        help="the plan to write (default: the scene's name with .plan.json, here)",
    )
    add_by(parser, default="bends")
    parser.add_argument(
        "--run",
        metavar="NAME",
        nargs="+",
        action="extend",
        help="only the runs of these names; the plan holds no others",
    )
    add_json(parser)
    add_force(parser, what="a file that loopsolver did not write")
    parser.set_defaults(command=command)


def command(args: argparse.Namespace) -> int:
    """Route, write the plan, print the comparison, and return the exit status."""
    from loopsolver.cli.comparing import (
        runs_document,
        say_runs,
        say_touches,
        touches_document,
    )
    from loopsolver.plan import route_scene, touches
    from loopsolver.plan.file import check_plan_place

    path: Path = args.output or Path(f"{args.scene.stem}.plan.json")
    scene = read_scene(args.scene)
    check_plan_place(path, force=args.force)
    with Progress() as progress:
        plan = route_scene(scene, by=args.by, runs=args.run, progress=progress)
    plan.write(path, scene_path=args.scene, force=args.force)
    found = touches(plan)
    if args.json:
        say_json(
            {
                "plan": str(path),
                "title": scene.title,
                "units": "mm",
                "stock_length": scene.tube.stock_length,
                "clearance": scene.rules.clearance,
                "runs": runs_document(plan, plan.runs, by=None),
                "touches": touches_document(plan, found),
            }
        )
    else:
        if scene.title:
            say(scene.title)
            say()
        say_runs(plan, plan.runs, by=None)
        say_touches(plan, found)
    _tell_what_next(plan, path)
    return status_of(plan.runs)


def _tell_what_next(plan: Plan, path: Path) -> None:
    """Tell where the plan is and what can be done with it."""
    routed = sum(1 for run in plan.runs if run.candidates)
    refused = sum(run.refused for run in plan.runs)
    tell("")
    tell(
        f"Plan written to {path}: {routed} of {counted(len(plan.runs), 'run')} with "
        "a route."
    )
    left_out = len(plan.scene.runs) - len(plan.runs)
    if left_out:
        tell(f"It leaves out {counted(left_out, 'run')} of the scene, as --run asked.")
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
