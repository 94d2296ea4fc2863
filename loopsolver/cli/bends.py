"""``loopsolver bends``: the bend table, plane by plane, and marks along the blank."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from loopsolver.cli.options import (
    add_candidate,
    add_json,
    add_run,
    file_path,
)
from loopsolver.cli.output import say, say_json
from loopsolver.cli.status import told_status
from loopsolver.cli.subjects import read_plan
from loopsolver.errors import PlanError
from loopsolver.words import quoted

if TYPE_CHECKING:
    from collections.abc import Collection

    from loopsolver.plan import Plan, PlannedRun
    from loopsolver.plan.judging import Used


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

    plan = read_plan(args.plan, used=_used(args.run, args.candidate))
    runs = _runs(plan, args.run, args.candidate)
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


def _used(name: str | None, candidate: int | None) -> Used:
    """Return which candidates are printed, for the runs of that name or all."""
    from loopsolver.plan.judging import chosen_candidate

    def used(run: PlannedRun) -> Collection[int]:
        if name not in {None, run.name}:
            return ()
        is_there = candidate is not None and candidate <= len(run.candidates)
        return {*chosen_candidate(run), *((candidate,) if is_there else ())}

    return used


def _runs(
    plan: Plan, name: str | None, candidate: int | None
) -> tuple[PlannedRun, ...]:
    """Return the runs that are asked for.

    Raises
    ------
    PlanError
        If there is no such run, or a candidate is asked for and not of which run.
    """
    if name is not None:
        return (plan.run(name),)
    if candidate is not None and len(plan.runs) > 1:
        held = quoted(run.name for run in plan.runs)
        msg = f"candidate {candidate} of which run? Say --run with one of {held}"
        raise PlanError(msg)
    return plan.runs
