"""The panel's lines and sections: wrapped, cut, and fitted into the rows there are."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final, Literal

from loopsolver.letters import visible
from loopsolver.view.palette import Colour

COLUMNS: Final = 42
"""Characters in a line of the panel, all of one width."""

Style = Literal["title", "heading", "plain", "faint", "warning"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToRun:
    """A click here shows a run: its place in the subject, counted from 0."""

    place: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ToCandidate:
    """A click here shows a candidate of the run shown: its rank."""

    rank: int


Target = ToRun | ToCandidate
"""What a line of the panel, or a tube, leads to when it is clicked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelLine:
    """A line of the panel; `swatch` is the colour of a small square before it.

    One that does not start in column 0 stands beside the line before it.
    """

    text: str
    style: Style = "plain"
    swatch: Colour | None = None
    column: int = 0
    leads_to: Target | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Lines that stay together; where room is short the highest `yields` goes first.

    Then `brief` stands in its place, if there is one.
    """

    lines: tuple[PanelLine, ...]
    yields: int = 0
    brief: Section | None = None


def wrapped(text: str, *, style: Style = "plain", indent: str = "") -> list[PanelLine]:
    """Return a text as lines that fit the panel."""
    rows = textwrap.wrap(visible(text), COLUMNS, subsequent_indent=indent) or [""]
    return [PanelLine(text=row, style=style) for row in rows]


def paragraphs(text: str, *, style: Style = "plain") -> list[PanelLine]:
    """Return a text of several lines, of which just the first has the style.

    The others are set in where they go on.
    """
    first, *more = text.splitlines() or [""]
    rows = wrapped(first, style=style)
    return rows + [row for one in more for row in wrapped(one, indent="  ")]


def cut(text: str, width: int) -> str:
    """Return a text cut to a width, the cut marked."""
    return text if len(text) <= width else text[: width - 1] + "…"


def figure(name: str, value: str) -> list[PanelLine]:
    """Return a figure under its name; continued lines stand under the figure."""
    return wrapped(f"{name:<14}{value}", indent=" " * 14)


def fitted(whole: Sequence[Section], *, rows: float) -> tuple[Section, ...]:
    """Return the sections that fit into so many rows, the most needed kept.

    Where those that never yield are still too many, the longest of them ends early; the
    last, which says what the colours mean, stays whole.
    """
    kept = list(whole)
    while rows_of(kept) > rows and any(section.yields for section in kept):
        place = max(range(len(kept)), key=lambda at: kept[at].yields)
        brief = kept[place].brief
        kept[place : place + 1] = [] if brief is None else [brief]
    while (over := math.ceil(rows_of(kept) - rows)) > 0:
        place = max(range(len(kept)), key=lambda at: _may_end_early(kept, at))
        lines = kept[place].lines
        if _may_end_early(kept, place) < 3:
            break
        left = (*lines[: max(1, len(lines) - over - 1)], PanelLine(text="  …"))
        kept[place] = Section(lines=left)
    return tuple(kept)


def _may_end_early(kept: Sequence[Section], place: int) -> int:
    """Return how many lines a section has; none of the last one or of columns."""
    lines = kept[place].lines
    is_whole = place == len(kept) - 1 or any(line.column for line in lines)
    return 0 if is_whole else len(lines)


SWATCH_COLUMNS: Final = 3
"""Letters that a swatch takes before its text."""

KEY_COLUMNS: Final = 3
"""Columns of what the colours mean: three short names or two long ones in a row."""


def colour_key(entries: Iterable[tuple[str, Colour]]) -> list[PanelLine]:
    """Return what colours mean, each in the first row of columns that has room."""
    width = COLUMNS // KEY_COLUMNS
    rows: list[list[PanelLine]] = []
    ends: list[int] = []
    for text, colour in entries:
        wide = width * math.ceil((SWATCH_COLUMNS + len(text) + 1) / width)
        with_room = [row for row, end in enumerate(ends) if end + wide <= COLUMNS]
        row = with_room[0] if with_room else len(rows)
        if not with_room:
            rows.append([])
            ends.append(0)
        rows[row].append(PanelLine(text=text, swatch=colour, column=ends[row]))
        ends[row] += wide
    return list(chain.from_iterable(rows))


SECTION_SPACE: Final = 0.8
"""Rows left free between sections."""


def rows_of(whole: Sequence[Section]) -> float:
    """Return the height of sections in rows, the space between them included."""
    lines = sum(not line.column for section in whole for line in section.lines)
    return lines + SECTION_SPACE * max(0, len(whole) - 1)
