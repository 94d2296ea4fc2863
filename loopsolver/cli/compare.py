"""``loopsolver compare``: the candidates of a plan side by side."""

from __future__ import annotations

import argparse

from loopsolver.cli.options import add_by, add_json, add_picture, add_run, file_path
from loopsolver.cli.output import say, say_json
from loopsolver.cli.status import told_status
from loopsolver.cli.subjects import read_plan


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    add_run(parser)
    add_by(
        parser,
        default=None,
        more="fit (how many times the stated spread leave 9 of 10 that go in)",
    )
    add_picture(parser, what="draw all candidates as small views on one page")
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print the comparison and return the exit status."""
    from loopsolver.cli.comparing import plan_document, ranks_by, say_plan
    from loopsolver.report.side_by_side import beside

    plan = read_plan(args.plan)
    runs = plan.runs if args.run is None else (plan.run(args.run),)
    more = beside(plan, runs)
    if args.picture is not None:
        from loopsolver.workshop.candidates_picture import write_candidates_picture

        orders = {run.name: ranks_by(run, args.by, beside=more) for run in runs}
        write_candidates_picture(plan, orders, args.picture, force=args.force)
    if args.json:
        say_json(plan_document(plan, runs, args.plan, by=args.by, beside=more))
    else:
        say_plan(plan, runs, by=args.by, beside=more)
        if args.picture is not None:
            say(f"Picture written to {args.picture}")
    return told_status(runs)
