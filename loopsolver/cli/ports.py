"""``loopsolver ports``: the circular rims of a mesh, to choose ports from."""

from __future__ import annotations

import argparse
from typing import Final

from loopsolver.cli.options import add_json, file_path
from loopsolver.cli.output import say, say_json, say_table, say_wrapped
from loopsolver.cli.status import DONE
from loopsolver.errors import LoopsolverError

_UNITS: Final = ("mm", "cm", "m", "in")
"""Those of `scene.mesh_files`, which is slow to import; a test holds it."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "file", metavar="FILE", type=file_path, help="STL, OBJ, PLY, GLB, 3MF or STEP"
    )
    parser.add_argument(
        "--unit",
        choices=_UNITS,
        required=True,
        help="what the mesh was drawn in: its file does not say",
    )
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print the rims of a mesh, and return the exit status."""
    from loopsolver.geometry.rims import rims_of
    from loopsolver.report import rims as words
    from loopsolver.scene.mesh_checks import MeshFileError
    from loopsolver.scene.mesh_files import mesh_file, shape_in

    path = args.file
    try:
        shape = shape_in(mesh_file(path.name, path.parent), unit=args.unit)
    except MeshFileError as fault:
        msg = f"{path}: found {fault.found}; wanted {fault.wanted}"
        raise LoopsolverError(msg) from fault
    rims = rims_of(shape)
    if args.json:
        say_json({"file": str(path), **words.rims_document(shape, rims)})
        return DONE
    say(f"{path.name}: {words.mesh_words(shape)}")
    if rims:
        say()
        say_table(words.rim_table(rims))
    say()
    say_wrapped(words.rim_remarks(shape, rims))
    return DONE
