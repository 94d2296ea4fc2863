"""``loopsolver view``: a scene or plan in a window, or as a picture."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from loopsolver.cli.options import add_candidate, add_force, add_run, new_parser
from loopsolver.cli.output import tell
from loopsolver.cli.subjects import read_either
from loopsolver.errors import LoopsolverError, OutputError

if TYPE_CHECKING:
    from loopsolver.cli.options import Subparsers


def add_parser(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    parser = new_parser(
        subparsers, "view", summary="look at a scene or plan in 3D, or take a picture"
    )
    parser.add_argument(
        "subject", metavar="SCENE_OR_PLAN", type=Path, help="the scene or plan file"
    )
    kind = parser.add_mutually_exclusive_group()
    kind.add_argument(
        "--screenshot",
        metavar="PNG",
        type=Path,
        help="write a picture instead of opening a window",
    )
    kind.add_argument(
        "--html", metavar="FILE", type=Path, help="write a page; not available yet"
    )
    add_run(parser)
    add_candidate(parser)
    add_force(parser, what="a picture that stands there already")
    parser.set_defaults(command=command)


def command(args: argparse.Namespace) -> int:
    """Open the window or write the picture, and return the exit status."""
    if args.html is not None:
        msg = "--html is not available yet; --screenshot writes a picture"
        raise LoopsolverError(msg)
    path: Path | None = args.screenshot
    if path is not None:
        _check_picture(path, force=args.force)
    subject = read_either(args.subject)

    from loopsolver.view import window  # noqa: PLC0415

    if path is None:
        window.show(subject, run=args.run, candidate=args.candidate)
        return 0
    window.screenshot(subject, path, run=args.run, candidate=args.candidate)
    tell(f"Picture written to {path}.")
    return 0


def _check_picture(path: Path, *, force: bool) -> None:
    """Do nothing where a picture may be written; raise where it may not."""
    from loopsolver.plan.writing import check_place  # noqa: PLC0415

    if path.suffix.lower() != ".png":
        msg = f"{path}: found the ending {path.suffix!r}; wanted '.png'"
        raise OutputError(msg)
    check_place(path)
    if path.exists() and not force:
        msg = (
            f"{path}: stands there already; choose another name, or overwrite it "
            "with --force"
        )
        raise OutputError(msg)
