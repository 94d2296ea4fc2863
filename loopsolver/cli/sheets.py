"""``loopsolver sheets``: what is printed and laid on the bench."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from loopsolver.cli.lengths import counted
from loopsolver.cli.options import add_force, add_run, new_parser
from loopsolver.cli.output import say, tell
from loopsolver.cli.status import status_of
from loopsolver.cli.subjects import read_plan

if TYPE_CHECKING:
    from collections.abc import Sequence

    from loopsolver.cli.options import Subparsers
    from loopsolver.plan import PlannedRun
    from loopsolver.workshop.sheets import SheetFile


def add_parser(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    parser = new_parser(
        subparsers,
        "sheets",
        summary="write full-scale templates and bench sheets to print",
        more=(
            "For every chosen run one PDF to print, and each template as SVG and DXF, "
            "all at true size. The folder is made if only itself is missing."
        ),
    )
    parser.add_argument("plan", metavar="PLAN", type=Path, help="the plan file")
    parser.add_argument(
        "-o",
        "--output",
        metavar="FOLDER",
        type=Path,
        required=True,
        help="the folder to write to",
    )
    parser.add_argument(
        "--paper",
        choices=("a4", "letter"),
        default="a4",
        help="the paper in the printer (default: a4)",
    )
    parser.add_argument(
        "--mirror",
        action="store_true",
        help="show the templates from their other side, in files of their own",
    )
    add_run(parser)
    add_force(parser, what="files that are not as loopsolver wrote them")
    parser.set_defaults(command=command)


def command(args: argparse.Namespace) -> int:
    """Write the sheets and return the exit status."""
    from loopsolver.workshop.flat import mirrored
    from loopsolver.workshop.folder import check_folder, write_folder
    from loopsolver.workshop.paging import PAPERS
    from loopsolver.workshop.sheets import (
        as_bent,
        plan_sha256,
        sheet_files,
    )

    folder: Path = args.output
    check_folder(folder)
    plan = read_plan(args.plan)
    runs = plan.runs if args.run is None else (plan.run(args.run),)
    files = sheet_files(
        plan,
        runs,
        paper=PAPERS[args.paper],
        seen=mirrored if args.mirror else as_bent,
    )
    if files:
        stale = write_folder(
            folder,
            {file.name: file.content for file in files},
            plan_sha256=plan_sha256(plan),
            force=args.force,
        )
        _tell_stale(folder, stale)
    _tell_missing(runs)
    _say_written(folder, files)
    return status_of(runs)


def _tell_stale(folder: Path, stale: Sequence[str]) -> None:
    """Warn of sheets in the folder that belong to another plan."""
    if stale:
        tell(
            f"{folder}: {', '.join(stale)} lie there from another plan; "
            "do not bend by them"
        )


def _tell_missing(runs: Sequence[PlannedRun]) -> None:
    """Tell which runs have no sheets, and why."""
    for run in runs:
        if run.chosen_candidate is None:
            tell(f"no sheets for run {run.name!r}: {run.why or 'none is chosen'}")


def _say_written(folder: Path, files: Sequence[SheetFile]) -> None:
    """Print what was written."""
    if not files:
        say("Nothing was written.")
        return
    pages = sum(file.pages for file in files)
    for file in files:
        if file.pages:
            say(f"{folder / file.name}  {counted(file.pages, 'page')}")
    say(
        f"{counted(len(files), 'file')} in {folder}, {counted(pages, 'page')} to print: "
        "at 100 %, not fitted to the page."
    )
