"""``loopsolver jigs``: parts to print in 3D that hold a tube at the bench."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Final

from loopsolver.cli.options import (
    add_force,
    add_paper,
    add_runs,
    file_path,
    length_between,
)
from loopsolver.cli.output import say, tell
from loopsolver.cli.sheets import tell_others
from loopsolver.cli.status import told_status
from loopsolver.cli.subjects import asked_runs, command_line, read_either
from loopsolver.errors import LoopsolverError
from loopsolver.words import counted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from loopsolver.plan import Plan, PlannedRun
    from loopsolver.scene.model import Scene
    from loopsolver.workshop.jigs.parts import Jig, NotMade, Printer

_MOST_PLAY: Final = 2.0  # [mm]
_BEDS: Final = (100.0, 1000.0)  # [mm]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "subject",
        metavar="SCENE_OR_PLAN",
        type=file_path,
        help="the scene; or the plan, for cradles too",
    )
    parser.add_argument(
        "-o",
        "--output",
        metavar="FOLDER",
        type=file_path,
        required=True,
        help="the folder to write to",
    )
    parser.add_argument(
        "--former",
        action="store_true",
        help="also formers, for cold tube alone: common printing plastics soften under "
        "a freshly heated one",
    )
    parser.add_argument(
        "--play",
        metavar="LENGTH",
        type=length_between(0.0, _MOST_PLAY),
        default=0.3,
        help='by how much grooves are wider than the tube: "0.3 mm" (the default)',
    )
    parser.add_argument(
        "--bed",
        metavar="LENGTH",
        type=length_between(*_BEDS),
        default=200.0,
        help="longest part that the printer takes; a cradle that is longer comes in two "
        'parts: "200 mm" (the default)',
    )
    add_runs(parser, what="cradles only for the runs of these names")
    add_paper(parser)
    add_force(parser, what="files that are not as loopsolver wrote them")


def command(args: argparse.Namespace) -> int:
    """Write the parts and their sheet, and return the exit status."""
    from loopsolver.cli.comparing import tell_built
    from loopsolver.plan import Plan
    from loopsolver.workshop.folder import check_folder, write_folder
    from loopsolver.workshop.jigs.jig_files import jig_files
    from loopsolver.workshop.jigs.parts import Printer
    from loopsolver.workshop.sheets import paper_named, plan_sha256, plan_words, set_of

    folder: Path = args.output
    check_folder(folder)
    subject = read_either(args.subject)
    plan = subject if isinstance(subject, Plan) else None
    scene = subject.scene if isinstance(subject, Plan) else subject
    runs = asked_runs(plan, args.runs, None) if plan else _no_runs(args)
    printer = Printer(play=args.play, bed=args.bed)
    jigs = _made(args, scene, plan, runs, printer)
    files = jig_files(
        scene,
        jigs,
        printer=printer,
        paper=paper_named(args.paper),
        belongs=plan_words(plan) if plan else "of the scene, without tubes",
    )
    others = write_folder(
        folder,
        {file.name: file.content for file in files},
        plan_sha256=plan_sha256(plan) if plan else scene.sha256,
        set_of=set_of,
        read=plan.files if plan else (args.subject,),
        force=args.force,
    )
    tell_others(folder, others)
    tell_built(runs)
    _say_written(folder, jigs)
    return told_status(runs)


def _no_runs(args: argparse.Namespace) -> tuple[PlannedRun, ...]:
    """Return no runs, since a scene has no tubes yet.

    Raises
    ------
    LoopsolverError
        If some are asked for.
    """
    if args.runs:
        line = command_line("route", args.subject)
        msg = (
            f"{args.subject}: found a scene, which has no tubes to make cradles for; run "
            f"`{line}` first, and give its plan"
        )
        raise LoopsolverError(msg)
    return ()


def _made(
    args: argparse.Namespace,
    scene: Scene,
    plan: Plan | None,
    runs: Sequence[PlannedRun],
    printer: Printer,
) -> list[Jig]:
    """Return the parts that are made, and tell of those that are not."""
    from loopsolver.workshop.jigs.parts import (
        Jig,
        bench_jigs,
        cradle_jigs,
        former_jigs,
        plan_radii,
    )

    found: list[Jig | NotMade] = [*bench_jigs(scene, printer)]
    if plan:
        found += cradle_jigs(plan, runs, printer)
    if args.former:
        radii = plan_radii(runs) if plan else scene.tube.bend_radii
        found += former_jigs(scene, radii, printer)
    for one in found:
        if not isinstance(one, Jig):
            tell(f"no {one.what}: {one.why}")
    return [one for one in found if isinstance(one, Jig)]


def _say_written(folder: Path, jigs: Sequence[Jig]) -> None:
    """Print what was written."""
    for one in jigs:
        size = " x ".join(f"{length:.0f}" for length in one.shell.size)
        times = f", print {one.count}" if one.count > 1 else ""
        say(f"{folder / one.stem}.stl: {size} mm{times}")
    said = counted(len(jigs), "part")
    say(f"{said} in {folder}, and jigs.pdf, which says what they are for.")
