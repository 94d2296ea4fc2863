"""Options that several commands share."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any, Final, NoReturn

from loopsolver.letters import visible

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[Any]  # noqa: SLF001

BY_HELP: Final = (
    "what counts as best: bends (then length; the default), length, gap (the largest "
    "first), planes, blank or parallel (as by bends, then tubes side by side)"
)


class Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in letters that can be seen."""

    def error(self, message: str) -> NoReturn:
        """Print how the command is used and what is wrong, and leave."""
        super().error(visible(message))


def add_command(subparsers: Subparsers, module: ModuleType, told: str) -> None:
    """Add the command that a module of its name holds.

    Its `add_options` says what the command takes, and `command` does it; `told` is what
    it does, the gist in the first sentence.
    """
    parser = subparsers.add_parser(
        module.__name__.rpartition(".")[2].replace("_", "-"),
        help=told.partition(". ")[0].removesuffix("."),
        description=f"{told[0].upper()}{told[1:]}",
        allow_abbrev=False,
    )
    add_traceback(parser)
    module.add_options(parser)
    parser.set_defaults(command=module.command)


def add_traceback(parser: argparse.ArgumentParser) -> None:
    """Add ``--traceback``, wherever on the line it stands."""
    parser.add_argument(
        "--traceback",
        action="store_true",
        default=argparse.SUPPRESS,
        help="if loopsolver itself fails, show where in its code",
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add ``--json``."""
    parser.add_argument(
        "--json",
        action="store_true",
        help="print the result as JSON, lengths in mm and angles in degrees",
    )


def add_force(parser: argparse.ArgumentParser, *, what: str) -> None:
    """Add ``--force``; `what` says over what it writes."""
    parser.add_argument("--force", action="store_true", help=f"overwrite {what}")


def add_picture(parser: argparse.ArgumentParser, *, what: str) -> None:
    """Add ``--picture`` and what it may overwrite; `what` says what is drawn."""
    parser.add_argument(
        "--picture", metavar="FILE", type=file_path, help=f"{what}, as .svg or .pdf"
    )
    add_force(parser, what="a file that is no such picture of loopsolver's")


def add_paper(parser: argparse.ArgumentParser) -> None:
    """Add ``--paper``."""
    parser.add_argument(
        "--paper",
        choices=("a4", "letter"),
        default="a4",
        help="the paper in the printer (default: a4)",
    )


def add_by(
    parser: argparse.ArgumentParser, *, default: str | None, more: str = ""
) -> None:
    """Add ``--by``; `more` is one key more, with its meaning in brackets after it."""
    parser.add_argument(
        "--by",
        metavar="KEY",
        type=partial(_ranking, more=more.split(" ", maxsplit=1)[0]),
        default=default,
        help=f"{BY_HELP}{f'; or {more}' if more else ''}",
    )


def add_run(parser: argparse.ArgumentParser) -> None:
    """Add ``--run`` for one run of a plan."""
    parser.add_argument("--run", metavar="NAME", help="only the run of that name")


def add_runs(
    parser: argparse.ArgumentParser, *, what: str = "only for the runs of these names"
) -> None:
    """Add ``--run`` for some runs; `what` says what is done with them."""
    parser.add_argument(
        "--run",
        metavar="NAME",
        nargs="+",
        action="extend",
        dest="runs",
        help=what,
    )


def add_candidate(parser: argparse.ArgumentParser) -> None:
    """Add ``--candidate``."""
    parser.add_argument(
        "--candidate",
        metavar="N",
        type=_rank,
        help="the candidate of that rank instead of the chosen one",
    )


def file_path(text: str) -> Path:
    """Return a path from the command line; messages name it in one line."""
    if "\n" in text:
        msg = f"found {text!r}, with a line break in it; wanted a name without one"
        raise argparse.ArgumentTypeError(msg)
    return Path(text)


def length_between(low: float, high: float) -> Callable[[str], float]:
    """Return what reads a length of an option, with its unit [mm]."""

    def read(text: str) -> float:
        from loopsolver.units import MM_PER, LengthError, length_mm

        try:
            length = length_mm(text, unit="mm")
        except LengthError as error:
            raise argparse.ArgumentTypeError(str(error)) from error
        if not low <= length <= high:
            wanted = f"{low:g} or more"
            if high < math.inf:
                low_in, high_in = low / MM_PER["in"], high / MM_PER["in"]
                wanted = f"{low:g} to {high:g} mm ({low_in:.2g} to {high_in:.2g} in)"
            msg = f"found {text!r}; wanted {wanted}"
            raise argparse.ArgumentTypeError(msg)
        return length

    return read


def _ranking(text: str, *, more: str) -> str:
    from loopsolver.plan.ranking import RANKINGS

    keys = [*RANKINGS, *filter(None, [more])]
    if text not in keys:
        msg = f"found {text!r}; wanted one of {', '.join(keys)}"
        raise argparse.ArgumentTypeError(msg)
    return text


def _rank(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) < 1:
        msg = f"found {text!r}; wanted the rank of a candidate: 1, 2, ..."
        raise argparse.ArgumentTypeError(msg)
    return int(text)
