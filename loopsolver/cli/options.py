"""Options that several commands share."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn

from loopsolver.letters import visible

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

BY_HELP: Final = (
    "what counts as best: bends (then length; the default), length, gap (the largest "
    "first), planes, blank or parallel (as by bends, then tubes side by side)"
)


class Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in letters that can be seen."""

    def error(self, message: str) -> NoReturn:
        """Print how the command is used and what is wrong, and leave."""
        super().error(visible(message))


def new_parser(
    subparsers: Subparsers, name: str, *, summary: str, more: str = ""
) -> argparse.ArgumentParser:
    """Return the parser of a command, with the options that every command has."""
    parser = subparsers.add_parser(
        name,
        help=summary,
        description=f"{summary[0].upper()}{summary[1:]}. {more}".strip(),
        allow_abbrev=False,
    )
    add_traceback(parser)
    return parser


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


def add_by(parser: argparse.ArgumentParser, *, default: str | None) -> None:
    """Add ``--by``."""
    parser.add_argument(
        "--by", metavar="KEY", type=_ranking, default=default, help=BY_HELP
    )


def add_run(parser: argparse.ArgumentParser) -> None:
    """Add ``--run`` for one run of a plan."""
    parser.add_argument("--run", metavar="NAME", help="only the run of that name")


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


def _ranking(text: str) -> str:
    from loopsolver.plan.ranking import RANKINGS

    if text not in RANKINGS:
        msg = f"found {text!r}; wanted one of {', '.join(RANKINGS)}"
        raise argparse.ArgumentTypeError(msg)
    return text


def _rank(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) < 1:
        msg = f"found {text!r}; wanted the rank of a candidate: 1, 2, ..."
        raise argparse.ArgumentTypeError(msg)
    return int(text)
