"""``loopsolver view``: a scene or plan in a window, or as a picture."""

from __future__ import annotations

import argparse
import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

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

if TYPE_CHECKING:
    from loopsolver.plan import Plan
    from loopsolver.scene.model import Scene


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
    """Open the window or write the picture or page, and return the exit status."""
    if args.screenshot is not None or args.html is not None:
        with _nothing_collected():
            _write(args, read_either(args.subject))
        return 0
    subject = read_either(args.subject)

    from loopsolver.plan import Plan
    from loopsolver.view.window import play, show, watch

    if args.watch and isinstance(subject, Plan):
        msg = f"{args.subject}: found a plan; --watch follows a scene"
        raise LoopsolverError(msg)
    if args.assemble and not isinstance(subject, Plan):
        msg = f"{args.subject}: found a scene; --assemble plays a plan"
        raise LoopsolverError(msg)
    with ended_by_the_system():
        if isinstance(subject, Plan) and args.assemble:
            play(subject)
        elif args.watch:
            watch(args.subject, run=args.run, candidate=args.candidate)
        else:
            show(subject, run=args.run, candidate=args.candidate)
    return 0


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """Look for no garbage for a while: a picture leaves little, and to look takes long."""
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()


def _write(args: argparse.Namespace, subject: Scene | Plan) -> None:
    """Write the picture or the page, and tell where it is."""
    from loopsolver.plan import Plan

    path, what = args.screenshot, "Picture"
    write: Callable[..., None]
    if path is not None:
        from loopsolver.view.window import screenshot as write
    else:
        from loopsolver.page.html_file import write_page as write

        path, what = args.html, "Page"
    write(
        subject,
        path,
        run=args.run,
        candidate=args.candidate,
        read=subject.files if isinstance(subject, Plan) else (args.subject,),
        force=args.force,
    )
    tell(f"{what} written to {path}.")
