"""``loopsolver view``: a scene or plan in a window, or as a picture."""

from __future__ import annotations

import argparse
from pathlib import Path

from loopsolver.cli.options import (
    add_candidate,
    add_force,
    add_run,
    file_path,
)
from loopsolver.cli.output import tell
from loopsolver.cli.stopping import ended_by_the_system
from loopsolver.cli.subjects import read_either
from loopsolver.errors import LoopsolverError


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "subject",
        metavar="SCENE_OR_PLAN",
        type=file_path,
        help="the scene or plan file",
    )
    kind = parser.add_mutually_exclusive_group()
    kind.add_argument(
        "--screenshot",
        metavar="PNG",
        type=file_path,
        help="write a picture instead of opening a window",
    )
    kind.add_argument(
        "--html",
        metavar="FILE",
        type=file_path,
        help="write a page for a browser or a tablet: one .html file, which fetches "
        "nothing",
    )
    kind.add_argument(
        "--watch",
        action="store_true",
        help="follow the scene file: show what is saved at once, and its tubes as they "
        "are found",
    )
    kind.add_argument(
        "--assemble",
        action="store_true",
        help="play how the build goes together, step by step; any key stops it, g goes "
        "on",
    )
    add_run(parser)
    add_candidate(parser)
    add_force(parser, what="a file that is no picture or page of loopsolver's")


def command(args: argparse.Namespace) -> int:
    """Open the window or write the picture, and return the exit status."""
    path: Path | None = args.screenshot
    subject = read_either(args.subject)

    from loopsolver.plan import Plan

    read = subject.files if isinstance(subject, Plan) else (args.subject,)
    if args.html is not None:
        from loopsolver.page.html_file import write_page

        write_page(
            subject,
            args.html,
            run=args.run,
            candidate=args.candidate,
            read=read,
            force=args.force,
        )
        tell(f"Page written to {args.html}.")
        return 0

    from loopsolver.view.window import play, screenshot, show, watch

    if args.watch and isinstance(subject, Plan):
        msg = f"{args.subject}: found a plan; --watch follows a scene"
        raise LoopsolverError(msg)
    if args.assemble:
        if not isinstance(subject, Plan):
            msg = f"{args.subject}: found a scene; --assemble plays a plan"
            raise LoopsolverError(msg)
        with ended_by_the_system():
            play(subject)
        return 0
    if args.watch:
        with ended_by_the_system():
            watch(args.subject, run=args.run, candidate=args.candidate)
        return 0
    if path is None:
        with ended_by_the_system():
            show(subject, run=args.run, candidate=args.candidate)
        return 0
    screenshot(
        subject,
        path,
        run=args.run,
        candidate=args.candidate,
        read=read,
        force=args.force,
    )
    tell(f"Picture written to {path}.")
    return 0
