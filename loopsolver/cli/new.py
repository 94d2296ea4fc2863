"""``loopsolver new``: a commented starter scene."""

from __future__ import annotations

import argparse
from pathlib import Path

from loopsolver.cli.options import add_force, file_path
from loopsolver.cli.output import tell
from loopsolver.cli.subjects import command_line


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "file", metavar="FILE", type=file_path, help="the scene to write"
    )
    add_force(parser, what="a file that stands there already")


def command(args: argparse.Namespace) -> int:
    """Write the starter scene and return the exit status."""
    from loopsolver.files import check_free, write_whole
    from loopsolver.scene.starter import STARTER

    path: Path = args.file
    check_free(path, force=args.force)
    write_whole(path, STARTER.encode())
    tell(f"Starter scene written to {path}.")
    tell(f"Next: put your own measurements in, then `{command_line('check', path)}`.")
    return 0
