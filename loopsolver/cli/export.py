"""``loopsolver export``: tubes and scene as a GLB or STL file, for other programs."""

from __future__ import annotations

import argparse

from loopsolver.cli.options import add_force, add_runs, file_path
from loopsolver.cli.output import tell
from loopsolver.cli.status import told_status
from loopsolver.cli.subjects import read_plan


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    parser.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        type=file_path,
        required=True,
        help="the file to write: .glb (in metres, as its standard has it) or .stl (in "
        "mm, which the file itself cannot say)",
    )
    parser.add_argument(
        "--only",
        choices=("tubes", "scene"),
        help="leave out what stands round the tubes, or the tubes",
    )
    add_runs(parser, what="only the tubes of these runs, with their fittings")
    add_force(parser, what="a file that is no such file of loopsolver's")


def command(args: argparse.Namespace) -> int:
    """Write the file and return the exit status."""
    from loopsolver.plan.judging import chosen_candidate
    from loopsolver.view.model_files import (
        BOTH_PARTS,
        file_unit_words,
        models,
        write_models,
    )
    from loopsolver.words import counted

    plan = read_plan(args.plan, used=chosen_candidate)
    runs = plan.runs if args.runs is None else [plan.run(name) for name in args.runs]
    parts = BOTH_PARTS if args.only is None else (args.only,)
    found = models(plan, runs, parts=parts)
    write_models(
        found, args.output, scene=plan.scene, read=plan.files, force=args.force
    )
    written, unit = counted(len(found), "part"), file_unit_words(args.output)
    tell(f"{written} written to {args.output}, {unit}.")
    return told_status(runs)
