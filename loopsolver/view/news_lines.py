"""What a window that follows a file says of it: faults, changes, and the search."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from loopsolver.errors import Fault
from loopsolver.view.panel_lines import COLUMNS, PanelLine, Section, Style, cut, wrapped
from loopsolver.words import counted

if TYPE_CHECKING:
    from loopsolver.view.following import Following

_MOST_FAULTS = 3
_MOST_CHANGES = 6
_MOST_DOUBTS = 4
_ROWS = 5
"""Most rows for one fault; the command line tells all of it."""


def news_section(now: Following) -> Section:
    """Return what is new of the file that is followed."""
    name = cut(f"follows {now.scene.file_name}", COLUMNS)
    lines = [PanelLine(text=name, style="faint"), *_fault_lines(now.faults)]
    if now.changes:
        lines.append(PanelLine(text="changed by the last save", style="faint"))
        lines += _some(now.changes, most=_MOST_CHANGES)
    if now.progress:
        lines += wrapped(now.progress, style="faint", indent="  ")
    elif now.tubes and now.changes:
        lines.append(PanelLine(text="so the tubes are others", style="faint"))
        lines += _some(now.tubes, most=_MOST_CHANGES)
    if now.doubts:
        count = counted(len(now.doubts), "thing")
        lines.append(PanelLine(text=f"{count} to look at again", style="warning"))
        lines += _some(now.doubts, most=_MOST_DOUBTS)
    return Section(lines=tuple(lines))


def _fault_lines(faults: Sequence[Fault]) -> Iterator[PanelLine]:
    """Yield why the file cannot be used as it stands."""
    if not faults:
        return
    yield PanelLine(text="the file cannot be used as it stands", style="warning")
    for fault in faults[:_MOST_FAULTS]:
        where = "" if fault.line is None else f"line {fault.line}: "
        key = f"{fault.key_path}: " if fault.key_path else ""
        told = f"{where}{key}found {fault.found}; wanted {fault.wanted}"
        yield from _few_rows(told)
    more = len(faults) - _MOST_FAULTS
    if more > 0:
        yield PanelLine(text=f"  and {more} more: `check` tells them")
    yield PanelLine(text="shown is the last that could be", style="faint")


def _some(
    texts: Sequence[str], *, most: int, style: Style = "plain"
) -> Iterator[PanelLine]:
    for text in texts[:most]:
        yield from wrapped(f"  {text}", style=style, indent="    ")
    if len(texts) > most:
        yield PanelLine(text=f"  and {len(texts) - most} more", style=style)


def _few_rows(text: str) -> list[PanelLine]:
    rows = wrapped(f"  {text}", indent="    ")
    if len(rows) <= _ROWS:
        return rows
    last = rows[_ROWS - 1]
    return [*rows[: _ROWS - 1], PanelLine(text=f"{cut(last.text, 38)} ...")]
