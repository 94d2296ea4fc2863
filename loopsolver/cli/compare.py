"""``loopsolver compare``: the candidates of a plan side by side."""

from __future__ import annotations

import argparse

from loopsolver.cli.options import add_by, add_json, add_run, file_path
from loopsolver.cli.output import say, say_json
from loopsolver.cli.status import told_status
from loopsolver.cli.subjects import read_plan


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    add_run(parser)
    add_by(parser, default=None)
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print the comparison and return the exit status."""
    from loopsolver.cli.comparing import (
        runs_document,
        say_runs,
        say_touches,
        touches_document,
    )
    from loopsolver.cli.looping import loop_json, say_loop
    from loopsolver.plan import effects, touches

    plan = read_plan(args.plan)
    runs = plan.runs if args.run is None else (plan.run(args.run),)
    names = {run.name for run in runs}
    found = tuple(
        touch for touch in touches(plan) if {touch.first, touch.second} & names
    )
    others = effects(plan) if len(plan.runs) > 1 else ()
    if args.json:
        say_json(
            {
                "plan": str(args.plan),
                "title": plan.scene.title,
                "units": "mm",
                "stock_length": plan.scene.tube.stock_length,
                "clearance": plan.scene.rules.clearance,
                "runs": runs_document(plan, runs, by=args.by, found=others),
                "loop": loop_json(plan),
                "touches": touches_document(plan, found),
            }
        )
    else:
        if plan.scene.title:
            say(plan.scene.title)
            say()
        say_runs(plan, runs, by=args.by, found=others)
        say_loop(plan)
        say_touches(plan, found)
    return told_status(runs)
