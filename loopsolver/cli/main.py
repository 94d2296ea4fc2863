"""``loopsolver``: reads the command line, runs a command, returns its exit status."""

from __future__ import annotations

import argparse
import contextlib
import gc
import os
import sys
import time
import traceback
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType, ModuleType
from typing import Final

from loopsolver import __version__
from loopsolver.cli import (
    assemble,
    bends,
    check,
    compare,
    correct,
    export,
    fill,
    fit,
    flow,
    jigs,
    leak_test,
    measure,
    new,
    parts,
    ports,
    route,
    schema,
    sheets,
    tube,
    view,
)
from loopsolver.cli.options import Parser, add_command, add_traceback
from loopsolver.cli.output import tell
from loopsolver.cli.status import (
    FAILED,
    INTERRUPTED,
    READER_GONE,
    STATUS_HELP,
    WRONG_INPUT,
)
from loopsolver.cli.stopping import forget_late_stop, tidy_up_in
from loopsolver.errors import GeometryError, LoopsolverError

_LAST_STREAM: Final = 2
"""Number of the last of the three standard streams."""

_COMMANDS: Final[Mapping[ModuleType, str]] = MappingProxyType(
    {
        new: "write a commented starter scene. Change its numbers to what you "
        "measure in your own case.",
        tube: "find one tube from port face to port face, told in words without signs. "
        "The answer repeats which way each port points: look at it before you bend.",
        check: "read a scene and report what is wrong or doubtful in it. Routes "
        "nothing. What is doubtful may still be meant, so it does not change "
        "the exit status.",
        measure: "say what to measure, in which order, and how well. For each run the "
        "distances between its own two ports; and the one length that would help "
        "most. With -o a form to write on, with --empty empty readings for the scene.",
        parts: "show the shelf of parts, or one part: sizes, points, sources. A scene "
        "takes one with the key part, and may overrule every dimension of it.",
        ports: "list the circular rims of a mesh file, to take as ports. With middle, "
        "direction and diameter, in mm from the file's own origin.",
        route: "find candidates for every run of a scene and write the plan.",
        compare: "show the candidates of a plan side by side. Ranks stay those of the "
        "plan, whatever --by sorts by. To choose another candidate, change "
        '"chosen" in the plan file to its rank.',
        fit: "say how likely tubes go in without force, and what decides it. An estimate "
        "from stated spreads of bends, straights and ports ([spread]); between which "
        "counts of ten, and what is best done with most care.",
        bends: "print the bend table, plane by plane, with marks along the blank. "
        "For the chosen candidate of every run, unless --run and --candidate "
        "say otherwise. A candidate of a run for which none is chosen is "
        "printed too, with exit status 3: it does not fit beside the chosen "
        "tubes.",
        correct: "say the least that mends a tube that was bent. First without heat, then "
        "at one bend, then at two. With --built the plan keeps the tube as measured.",
        flow: "print how the coolant goes round: flow, pressure, temperature. From the "
        "chosen tubes, the scene's pump curves and what it states of its parts.",
        view: "look at a scene or plan in 3D, or take a picture.",
        sheets: "write full-scale templates and bench sheets to print. For every "
        "chosen run one PDF to print, and each template as SVG and DXF, all "
        "at true size. The folder is made if only itself is missing.",
        export: "write tubes and scene as a GLB or STL file. For other programs, and for "
        "printers: tubes are solid rods of their outer diameter, each closed. In a GLB "
        "file each is a node under its run's name.",
        jigs: "write parts to print in 3D: cradles, a chamfer stop, a stand. STL files, "
        "and jigs.pdf, which says what each is for. A cradle takes two bends of a cold "
        "tube in only if angles and turn are right. From a scene: no cradles.",
        fill: "say how much coolant to mix, where air stays, which tilts let it out, and "
        "what draining leaves behind. Ctrl-C ends the search for tilts with the best "
        "found.",
        leak_test: "say what readings of a gauge mean while air stands in the loop. "
        "Before there are any: what to press it to, and when to read. Every value "
        "carries its unit. Without PLAN: --volume, and at most 30 kPa.",
        assemble: "say in which order tubes and parts go together, and what must be "
        "loose. For each tube whether it goes into both fittings while both parts stay "
        "fixed. Ctrl-C ends the search with the best order found.",
        schema: "print the JSON Schema of scene and plan files. Without a name: one "
        "object that holds both.",
    }
)
"""The commands by their modules; the first sentence stands in the list of them all."""

_EPILOG: Final = f"""\
{STATUS_HELP}

Lengths are printed in mm, for a scene measured in inches in inches; JSON and plan
files hold mm and degrees. `loopsolver COMMAND --help` tells more."""


def main(argv: Sequence[str] | None = None, *, begun: float | None = None) -> int:
    """Return the exit status of a command line; `argv` is without the program's name.

    `begun` is when its time began, now if None, on the clock of `time.monotonic` [s].
    """
    try:
        status = _status(argv, begun=time.monotonic() if begun is None else begun)
        if sys.stdout is not None:
            sys.stdout.flush()
    except KeyboardInterrupt:
        tell("loopsolver: stopped")
        return INTERRUPTED
    except BrokenPipeError:
        _forget_standard_output()
        return READER_GONE
    except OSError as error:
        _forget_standard_output()
        tell(f"loopsolver: {_without_a_way_out(error)}")
        return WRONG_INPUT
    return status


def run(*, begun: float | None = None) -> None:
    """Run the command line of this process and leave with its exit status.

    `begun` is that of `main`.
    """
    tidy_up_in(_status.__code__)
    _fill_closed_places()
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show a letter shows a question mark, not a failure.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    status = main(begun=begun)
    forget_late_stop()
    gc.freeze()  # nothing is collected that the system takes back at once
    sys.exit(status)


def _status(argv: Sequence[str] | None, *, begun: float) -> int:
    """Return the exit status of a command line, its errors told; `main` says of `begun`.

    Raises
    ------
    OSError
        If what is printed finds no way out. Files are read and written with their
        names, so an error without one is standard output's.
    """
    try:
        args = _parser().parse_args(argv, argparse.Namespace(begun=begun))
    except SystemExit as stop:  # argparse has printed help or what is wrong
        return stop.code if isinstance(stop.code, int) else WRONG_INPUT
    try:
        status: int = args.command(args)
    except GeometryError as error:  # that of a scene or plan is a fault told before
        return _own_fault(error, args)
    except LoopsolverError as error:
        tell(f"loopsolver: {error}")
        return WRONG_INPUT
    except Exception as error:
        if isinstance(error, OSError) and error.filename is None:
            raise
        return _own_fault(error, args)
    return status


def _without_a_way_out(error: OSError) -> str:
    """Return what is wrong where an error names no file, and what would help."""
    try:
        Path.cwd()
    except FileNotFoundError:
        return (
            "the folder that it was started in is no longer there; change to one that "
            "is, or give whole paths"
        )
    return f"the result could not be printed: {error.strerror}"


def _fill_closed_places() -> None:
    """Fill the places of closed streams, so that no file takes one and gets messages."""
    with contextlib.suppress(OSError):
        while (place := os.open(os.devnull, os.O_RDWR)) <= _LAST_STREAM:
            pass
        os.close(place)


def _own_fault(error: Exception, args: argparse.Namespace) -> int:
    """Tell of an error that nobody at the bench can help, and return its status."""
    if getattr(args, "traceback", False):
        tell("".join(traceback.format_exception(error)).rstrip())
    words = str(error) or "no further words"
    tell(
        f"loopsolver: it failed by a fault of its own: {type(error).__name__}: {words}"
    )
    tell(
        "Please report it where loopsolver came from, with the scene and what "
        "`--traceback` added to the same command prints."
    )
    return FAILED


def _forget_standard_output() -> None:
    """Point standard output nowhere, so that leaving does not fail on it once more."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def _parser() -> argparse.ArgumentParser:
    parser = Parser(
        prog="loopsolver",
        description=(
            "Routes rigid cooling tubes through a measured computer case and says "
            "how to bend them."
        ),
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument(
        "--version", action="version", version=f"loopsolver {__version__}"
    )
    add_traceback(parser)
    subparsers = parser.add_subparsers(
        title="commands", metavar="COMMAND", required=True
    )
    for module, told in _COMMANDS.items():
        add_command(subparsers, module, told)
    return parser
