"""``loopsolver new``: a commented starter scene."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from loopsolver.cli.options import add_force, file_path, new_parser
from loopsolver.cli.output import tell
from loopsolver.cli.subjects import command_line
from loopsolver.errors import OutputError

if TYPE_CHECKING:
    from loopsolver.cli.options import Subparsers


def add_parser(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    parser = new_parser(
        subparsers,
        "new",
        summary="write a commented starter scene",
        more="Change its numbers to what you measure in your own case.",
    )
    parser.add_argument(
        "file", metavar="FILE", type=file_path, help="the scene to write"
    )
    add_force(parser, what="a file that stands there already")
    parser.set_defaults(command=command)


def command(args: argparse.Namespace) -> int:
    """Write the starter scene and return the exit status."""
    from loopsolver.files import write_whole
    from loopsolver.scene.starter import STARTER

    path: Path = args.file
    if path.exists() and path.is_file() and not args.force:
        msg = (
            f"{path}: stands there already; choose another name, or overwrite it "
            "with --force"
        )
        raise OutputError(msg)
    write_whole(path, STARTER.encode())
    tell(f"Starter scene written to {path}.")
    tell(f"Next: put your own measurements in, then `{command_line('check', path)}`.")
    return 0
