"""Where results and messages go: results to standard output, messages to error."""

from __future__ import annotations

import errno
import json
import re
import sys
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from loopsolver.letters import visible, visible_lines

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

_ENDLESS: Final = 10_000
"""A line wider than any table, to ask how wide a table must be [characters]."""

_UNIT: Final = re.compile(r"([0-9]) (mm|in|degrees)\b")
"""A number and its unit, which stay on one line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A table to be printed.

    Attributes
    ----------
    headings : sequence of str
    rows : sequence of sequences of str
    words : frozenset of int
        Columns that hold words: set left and wrapped where the line is too narrow. All
        others hold numbers: set right and never cut.
    strong : frozenset of int
        Rows that stand out.
    least_width : int or None
        Of the columns that hold numbers.
    """

    headings: Sequence[str]
    rows: Sequence[Sequence[str]]
    words: frozenset[int] = frozenset()
    strong: frozenset[int] = frozenset()
    least_width: int | None = None


def say(text: str = "") -> None:
    """Print a line of the result, all its letters visible.

    Raises
    ------
    OSError
        If standard output is closed: a result that nobody sees is not done.
    """
    _print(visible_lines(text))


def tell(text: str) -> None:
    """Print a message; nobody gets it where standard error is closed."""
    if sys.stderr is not None:
        print(visible_lines(text), file=sys.stderr)


def say_json(value: Any) -> None:
    """Print the result as JSON, in ASCII, so that no terminal or pipe can garble it."""
    say(json.dumps(value, indent=2, allow_nan=False))


def say_sheet(sheet: Sheet) -> None:
    """Print a table of the result."""
    from rich.measure import Measurement

    console = _console()
    table = _table(sheet)
    endless = console.options.update(max_width=_ENDLESS)
    needed = Measurement.get(console, endless, table).minimum
    console.width = max(console.width, needed)
    with console.capture() as printed:
        console.print(table)
    for line in printed.get().splitlines():
        _print(line.rstrip())  # its cells are visible; it may be bold


def say_wrapped(lines: Iterable[str], *, mark: str = "- ") -> None:
    """Print sentences of the result, each under a mark, wrapped to the line."""
    width = _console().width
    for line in lines:
        wrapped = textwrap.fill(
            _UNIT.sub("\\1\0\\2", visible(line)),
            width=width,
            initial_indent=mark,
            subsequent_indent=" " * len(mark),
            break_long_words=False,
            break_on_hyphens=False,
        )
        say(wrapped.replace("\0", " "))


def _print(text: str) -> None:
    if sys.stdout is None:
        raise OSError(errno.EBADF, "standard output is closed")
    print(text)


def _console() -> Console:
    """Return rich's view of standard output: plain text, nothing read as markup."""
    from rich.console import Console

    return Console(file=sys.stdout, markup=False, emoji=False, highlight=False)


def _table(sheet: Sheet) -> Table:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(
        box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 0, 0, 1)
    )
    for place, heading in enumerate(sheet.headings):
        if place in sheet.words:
            table.add_column(Text(heading), justify="left", overflow="fold")
        else:
            table.add_column(
                Text(heading),
                justify="right",
                no_wrap=True,
                min_width=sheet.least_width,
            )
    for place, row in enumerate(sheet.rows):
        style = "bold" if place in sheet.strong else None
        table.add_row(*(Text(visible(cell)) for cell in row), style=style)
    return table
