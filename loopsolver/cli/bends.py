"""``loopsolver bends``: the bend table, plane by plane, and marks along the blank."""

from __future__ import annotations

import argparse

from loopsolver.cli.options import (
    add_candidate,
    add_json,
    add_run,
    file_path,
)
from loopsolver.cli.output import say, say_json
from loopsolver.cli.status import told_status
from loopsolver.cli.subjects import asked_candidates, asked_runs, read_plan


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    add_run(parser)
    add_candidate(parser)
    parser.add_argument(
        "--other-end",
        action="store_true",
        help="count bends and marks from the other end, which then is the first",
    )
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print the bend tables and return the exit status."""
    from loopsolver.cli.bending import say_caution, say_setup, setup_document
    from loopsolver.cli.comparing import say_unchosen, tell_built, tell_touches
    from loopsolver.report.bending import Setup

    names = None if args.run is None else [args.run]
    plan = read_plan(args.plan, used=asked_candidates(names, args.candidate))
    runs = asked_runs(plan, names, args.candidate)
    setups = [
        Setup(run=run, rank=rank, scene=plan.scene)
        for run in runs
        if (rank := args.candidate or run.chosen) is not None and run.candidate(rank)
    ]
    if args.other_end:
        setups = [setup.from_other_end() for setup in setups]
    unchosen = [run for run in runs if run.chosen is None]
    tell_built(runs)
    tell_touches(plan, runs)
    if args.json:
        say_json(
            {
                "plan": str(args.plan),
                "title": plan.scene.title,
                "units": "mm",
                "runs": [setup_document(setup) for setup in setups],
                "without_route": [
                    {"name": run.name, "why": run.why} for run in unchosen
                ],
            }
        )
        return told_status(runs)
    for setup in setups:
        say_setup(setup)
        say()
    say_unchosen(unchosen)
    if setups:
        say_caution(plan.scene.tube.material)
    return told_status(runs)
