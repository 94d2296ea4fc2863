"""The lists of runs and candidates in the panel, each row of which leads somewhere."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Final, TypeVar

from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan import PlannedRun
from loopsolver.plan.model import AS_BUILT
from loopsolver.scene.model import RunRequest
from loopsolver.view.panel_lines import (
    COLUMNS,
    PanelLine,
    Section,
    ToCandidate,
    ToRun,
    cut,
)
from loopsolver.view.selection import (
    AnyRun,
    Subject,
    ViewSelection,
    ranks_of,
    runs_of,
    scene_of,
)
from loopsolver.words import counted

Item = TypeVar("Item")

PENDING: Final = "being routed"


def _run_row(
    entry: AnyRun, *, is_shown: bool, lengths: Lengths, pending: Collection[str]
) -> PanelLine:
    mark = _mark(is_shown=is_shown)
    if isinstance(entry, RunRequest):
        return PanelLine(text=f"{mark} {cut(entry.name, COLUMNS - 2)}")
    name = f"{cut(entry.name, 20):<20}"
    if entry.name in pending:
        return PanelLine(text=f"{mark} {name} {PENDING:>19}", style="faint")
    chosen = entry.tube_in_place
    if chosen is None:
        words = "left out" if entry.candidates else "no route"
        return PanelLine(text=f"{mark} {name} {words:>19}", style="warning")
    bends = counted(chosen.bends, "bend") if entry.built is None else "built"
    length = lengths.plain(chosen.length)
    return PanelLine(text=f"{mark} {name}{bends:>9}{length:>11}")


def run_list(
    subject: Subject,
    selection: ViewSelection,
    *,
    most: int,
    pending: Collection[str] = (),
) -> Section:
    """Return the list of runs, at most so many, those round the one shown.

    `pending` are the names of those that are still being routed.
    """
    lengths = lengths_for(scene_of(subject).units)
    rows = [
        replace(
            _run_row(
                entry, is_shown=place == selection.run, lengths=lengths, pending=pending
            ),
            leads_to=ToRun(place=place),
        )
        for place, entry in enumerate(runs_of(subject))
    ]

    def shown(most: int) -> tuple[PanelLine, ...]:
        head, some = _windowed("runs", rows, at=selection.run, most=most)
        return (PanelLine(text=head, style="faint"), *some)

    return Section(lines=shown(most), yields=3, brief=Section(lines=shown(BRIEF_LIST)))


BRIEF_LIST: Final = 3
"""Runs that are listed where room is short."""


def candidate_list(
    run: PlannedRun, rank: int | None, *, most: int, lengths: Lengths
) -> Section:
    """Return the list of a run's candidates, at most so many, those round the one shown.

    Where room is short their ranks stand in one row.
    """
    ranks = ranks_of(run)
    rows = []
    for number in ranks:
        one = run.candidate(number)
        mark = _mark(is_shown=number == rank)
        words = f"{mark} {_rank_name(number):<8}{counted(one.bends, 'bend'):>9}"
        chosen = "  chosen" if number == run.chosen else ""
        text = f"{words}{lengths.plain(one.length):>11}{chosen}"
        rows.append(PanelLine(text=text, leads_to=ToCandidate(rank=number)))
    at = ranks.index(rank) if rank in ranks else 0
    head, shown = _windowed("candidates", rows, at=at, most=most)
    _, some = _windowed("", ranks, at=at, most=MOST_RANKS)
    brief, column = [PanelLine(text="candidates", style="faint")], 12
    for number in some:
        text = f"{_mark(is_shown=number == rank)}{_rank_name(number)}"
        brief.append(
            PanelLine(
                text=text,
                style="heading" if number == rank else "plain",
                column=column,
                leads_to=ToCandidate(rank=number),
            )
        )
        column += max(RANK_COLUMNS, len(text) + 1)
    return Section(
        lines=(PanelLine(text=head, style="faint"), *shown),
        yields=4,
        brief=Section(lines=tuple(brief)),
    )


def _rank_name(rank: int) -> str:
    return "built" if rank == AS_BUILT else str(rank)


RANK_COLUMNS: Final = 5
MOST_RANKS: Final = 6
"""Columns of a rank in a row of them, and how many such a row has room for.

As many as a search finds where nothing else is asked for.
"""


def _mark(*, is_shown: bool) -> str:
    return "▸" if is_shown else " "


def _windowed(
    name: str, whole: Sequence[Item], *, at: int, most: int
) -> tuple[str, Sequence[Item]]:
    """Return the head of a list and at most so many of it, those round a place."""
    first = max(0, min(at - most // 2, len(whole) - most))
    some = whole[first : first + most]
    if len(some) == len(whole):
        return name, some
    return f"{name} {first + 1} to {first + len(some)}", some
