"""Exit statuses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

from loopsolver.cli.output import tell

if TYPE_CHECKING:
    from loopsolver.plan import PlannedRun

DONE: Final = 0
FAILED: Final = 1
WRONG_INPUT: Final = 2
NO_ROUTE: Final = 3

INTERRUPTED: Final = 130
"""As shells report a program that was stopped by Ctrl-C (128 + signal 2)."""

READER_GONE: Final = 141
"""As shells report a program whose reader went away (128 + signal 13)."""

STATUS_HELP: Final = """\
exit status:
  0    done
  1    loopsolver itself failed
  2    the input is wrong, or the output has no place; nothing is written
  3    at least one run that was asked for has no chosen tube; it says why
  130  stopped by Ctrl-C
  141  what read the output went away (as in `loopsolver ... | head`)"""


def status_of(runs: Iterable[PlannedRun]) -> int:
    """Return the exit status of a command that is about these runs."""
    return DONE if all(run.tube_in_place is not None for run in runs) else NO_ROUTE


def told_status(runs: Sequence[PlannedRun]) -> int:
    """Tell which runs have no chosen tube, a line each; return the exit status."""
    from loopsolver.report.lacking import unchosen_words

    for run in runs:
        if run.tube_in_place is None:
            tell(unchosen_words(run))
    return status_of(runs)
