"""``loopsolver sheets``: what is printed and laid on the bench."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import TYPE_CHECKING, Final

from loopsolver.cli.options import (
    add_force,
    add_paper,
    add_runs,
    file_path,
    length_between,
)
from loopsolver.cli.output import say, tell
from loopsolver.cli.status import status_of
from loopsolver.cli.subjects import read_plan
from loopsolver.words import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from loopsolver.plan import Plan, PlannedRun
    from loopsolver.workshop.folder import Exchanged
    from loopsolver.workshop.rendered_picture import Rendering
    from loopsolver.workshop.sheets import SheetFile

_MOST_SPARES: Final = 20
_PICTURE: Final = (920, 800)  # pixels of a picture of 115 by 100 mm at 200 dpi


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    parser.add_argument(
        "-o",
        "--output",
        metavar="FOLDER",
        type=file_path,
        required=True,
        help="the folder to write to",
    )
    _add_page_options(parser)
    _add_cut_options(parser)
    add_runs(
        parser,
        what="only the runs of these names, without the overview and the cut plan",
    )
    add_force(parser, what="files that are not as loopsolver wrote them")


def _add_page_options(parser: argparse.ArgumentParser) -> None:
    """Add what changes the look of the pages."""
    add_paper(parser)
    parser.add_argument(
        "--mirror",
        action="store_true",
        help="show the templates from their other side; in the folder these sheets "
        "take the place of plain ones of the same runs",
    )
    parser.add_argument(
        "--proof",
        action="store_true",
        help="also each run's outline at full size, to cut in card and hold between "
        "the ports before tube is cut",
    )
    parser.add_argument(
        "--pictures",
        action="store_true",
        help="render the pictures of the runs in the case, which takes some seconds; "
        "without it they are drawn in lines",
    )


def _add_cut_options(parser: argparse.ArgumentParser) -> None:
    """Add what changes the cut plan."""
    parser.add_argument(
        "--spares",
        metavar="N",
        type=_count,
        default=0,
        help="how many more of each blank the cut plan is to hold (default: none)",
    )
    parser.add_argument(
        "--kerf",
        metavar="LENGTH",
        type=length_between(0.0, math.inf),
        help='width of the saw\'s cut, with its unit: "1 mm" (the default), "1/32 in"',
    )


def command(args: argparse.Namespace) -> int:
    """Write the sheets and return the exit status."""
    from loopsolver.cli.comparing import tell_built, tell_touches
    from loopsolver.plan.judging import chosen_candidate
    from loopsolver.workshop.folder import check_folder, write_folder
    from loopsolver.workshop.sheets import plan_sha256, set_of

    folder: Path = args.output
    check_folder(folder)
    plan = read_plan(args.plan, used=chosen_candidate)
    runs = _wanted(plan, args.runs)
    files = _files(plan, runs, args)
    if files:
        others = write_folder(
            folder,
            {file.name: file.content for file in files},
            plan_sha256=plan_sha256(plan),
            set_of=set_of,
            read=plan.files,
            force=args.force,
        )
        tell_others(folder, others)
    _tell_missing(runs)
    tell_built(runs)
    tell_touches(plan, runs)
    _say_written(folder, files)
    return status_of(runs)


def _wanted(plan: Plan, names: Sequence[str] | None) -> tuple[PlannedRun, ...]:
    """Return the runs of those names in the plan's order; all where none is named."""
    if not names:
        return plan.runs
    wanted = [plan.run(name) for name in names]
    return tuple(run for run in plan.runs if run in wanted)


def _files(
    plan: Plan, runs: Sequence[PlannedRun], args: argparse.Namespace
) -> tuple[SheetFile, ...]:
    """Return the files to write; the overview only where all runs are written."""
    from loopsolver.workshop.flat import mirrored
    from loopsolver.workshop.sheets import (
        as_bent,
        paper_named,
        proof_files,
        sheet_files,
    )

    paper = paper_named(args.paper)
    sheets = sheet_files(
        plan,
        runs,
        paper=paper,
        seen=mirrored if args.mirror else as_bent,
        renderings=_renderings(plan, runs) if args.pictures else {},
    )
    if args.proof:
        sheets += proof_files(plan, runs, paper=paper)
    if not sheets or args.runs:
        return sheets
    return _overview(plan, args) + _assembly(plan, args) + sheets


def _assembly(plan: Plan, args: argparse.Namespace) -> tuple[SheetFile, ...]:
    """Return how the build goes together, where the scene says what may be moved."""
    if plan.scene.assembly is None:
        return ()
    from loopsolver.assembly.order import assembly
    from loopsolver.workshop.assembly_pages import assembly_sheet
    from loopsolver.workshop.sheets import paper_named

    return (assembly_sheet(plan, assembly(plan), paper=paper_named(args.paper)),)


def _overview(plan: Plan, args: argparse.Namespace) -> tuple[SheetFile, ...]:
    """Return the overview and the cut plan of all runs."""
    from loopsolver.workshop.blanks import cut_blanks, too_long_messages
    from loopsolver.workshop.sheets import overview_files, paper_named

    cuts = cut_blanks(plan, spares=args.spares, kerf=args.kerf)
    for message in too_long_messages(plan, cuts):
        tell(message)
    return overview_files(plan, cuts, paper=paper_named(args.paper))


def _renderings(plan: Plan, runs: Sequence[PlannedRun]) -> dict[str, Rendering]:
    """Return a rendering of every run in its case, or none where that fails."""
    from loopsolver.errors import LoopsolverError
    from loopsolver.view.window import pictures_of_build
    from loopsolver.workshop.rendered_picture import Rendering

    names = [run.name for run in runs if run.chosen_candidate is not None]
    try:
        pictures = pictures_of_build(plan, runs=names, size=_PICTURE)
    except LoopsolverError as error:
        tell(f"no pictures, drawn views instead: {error}")
        return {}
    return {
        name: Rendering(
            png=picture.png,
            aspect=_PICTURE[0] / _PICTURE[1],
            projection=picture.projection,
            axis_reach=picture.axis_reach,
        )
        for name, picture in zip(names, pictures, strict=True)
    }


def _count(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) > _MOST_SPARES:
        msg = f"found {text!r}; wanted a whole number from 0 to {_MOST_SPARES}"
        raise argparse.ArgumentTypeError(msg)
    return int(text)


def tell_others(folder: Path, others: Exchanged) -> None:
    """Tell what older sheets were taken away, and warn of those that still lie there."""
    if others.taken_away:
        tell(f"{folder}: older sheets taken away: {', '.join(others.taken_away)}")
    if others.stale:
        tell(
            f"{folder}: {', '.join(others.stale)} lie there from another plan, or were "
            "changed since; do not bend by them"
        )


def _tell_missing(runs: Sequence[PlannedRun]) -> None:
    """Tell which runs have no sheets, and why."""
    for run in runs:
        if run.chosen_candidate is None:
            why = " ".join((run.why or "none is chosen").splitlines())
            tell(f"no sheets for run {run.name!r}: {why}")


def _say_written(folder: Path, files: Sequence[SheetFile]) -> None:
    """Print what was written."""
    if not files:
        say("Nothing was written.")
        return
    pages = sum(file.pages for file in files)
    for file in files:
        if file.pages:
            say(f"{folder / file.name}: {counted(file.pages, 'page')}")
    say(
        f"{counted(len(files), 'file')} in {folder}, {counted(pages, 'page')} to print: "
        "at 100 %, not fitted to the page."
    )
