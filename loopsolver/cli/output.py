"""Where results and messages go: results to standard output, messages to error."""

from __future__ import annotations

import contextlib
import errno
import json
import os
import re
import sys
import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Final

from loopsolver.letters import visible, visible_lines

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from loopsolver.report.text_table import TextTable

_ENDLESS: Final = 10_000
"""A line wider than any table, to ask how wide a table must be [characters]."""


_SPLIT_OVER: Final = 12
"""Words in a table are split only where they are longer than this [characters]."""

_USUAL_WIDTH: Final = 80
"""Of a line that goes to no terminal [characters]."""

_UNIT: Final = re.compile(r"([0-9]) (mm|in|degrees)\b")
"""A number and its unit, which stay on one line."""


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


def say_table(told: TextTable) -> None:
    """Print a table of the result."""
    from rich.measure import Measurement

    console = _console()
    table = _table(told)
    endless = console.options.update(max_width=_ENDLESS)
    needed = Measurement.get(console, endless, table).minimum
    console.width = max(console.width, needed)
    with console.capture() as printed:
        console.print(table)
    for line in printed.get().splitlines():
        _print(line.rstrip())  # its cells are visible; it may be bold


def say_wrapped(lines: Iterable[str], *, mark: str = "- ") -> None:
    """Print sentences of the result, each under a mark, wrapped to the line."""
    width = _width()
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


def _width() -> int:
    """Return how wide a line may be, as rich has it, which takes long to import."""
    told = os.environ.get("COLUMNS", "")
    if told.isdigit() and int(told):
        return int(told)
    for stream in range(3):
        with contextlib.suppress(OSError):
            return os.get_terminal_size(stream).columns or _USUAL_WIDTH
    return _USUAL_WIDTH


def _print(text: str) -> None:
    if sys.stdout is None:
        raise OSError(errno.EBADF, "standard output is closed")
    print(text)


def _console() -> Console:
    """Return rich's view of standard output: plain text, nothing read as markup."""
    from rich.console import Console

    return Console(file=sys.stdout, markup=False, emoji=False, highlight=False)


def _table(told: TextTable) -> Table:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(
        box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 0, 0, 1)
    )
    for place, heading in enumerate(told.headings):
        if place in told.words:
            words = [word for row in told.rows for word in row[place].split()]
            least = min(_SPLIT_OVER, max(map(len, words), default=0))
            table.add_column(
                Text(heading), justify="left", overflow="fold", min_width=least
            )
        else:
            table.add_column(
                Text(heading),
                justify="right",
                no_wrap=True,
                min_width=told.least_width,
            )
    for place, row in enumerate(told.rows):
        style = "bold" if place in told.strong else None
        table.add_row(*(Text(visible(cell)) for cell in row), style=style)
    return table
