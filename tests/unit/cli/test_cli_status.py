"""The statuses a command ends with, as README and shells have them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.cli import status
from loopsolver.cli.status import status_of, told_status
from tests.builders.short_runs import STRAIGHT, made, run_of

CHOSEN = run_of(made(STRAIGHT))
BARE = replace(run_of(), name="b to a", chosen=None, why="no room;\nmove the card")
LEFT_OUT = replace(CHOSEN, name="c to d", chosen=None)


def test_numbers_are_those_of_the_help_and_of_shells() -> None:
    """A shell tells 128 and the signal's number: 2 is SIGINT, 13 SIGPIPE (POSIX)."""
    numbers = [
        status.DONE,
        status.FAILED,
        status.WRONG_INPUT,
        status.NO_ROUTE,
        status.INTERRUPTED,
        status.READER_GONE,
    ]
    assert numbers == [0, 1, 2, 3, 128 + 2, 128 + 13]
    rows = status.STATUS_HELP.splitlines()[1:]
    assert [int(row.split()[0]) for row in rows] == numbers


@pytest.mark.parametrize(
    ("runs", "number"),
    [
        ([], 0),
        ([CHOSEN], 0),
        ([CHOSEN, BARE], 3),
        ([BARE, CHOSEN], 3),
        ([LEFT_OUT], 3),
    ],
)
def test_every_run_that_is_asked_for_must_have_a_tube(runs, number: int) -> None:
    assert status_of(runs) == number
    assert status_of(iter(runs)) == number


def test_each_run_without_a_tube_is_told_on_a_line(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert told_status([BARE, CHOSEN, LEFT_OUT]) == 3
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.splitlines() == [
        "no tube is chosen for run 'b to a': no room",
        "no tube is chosen for run 'c to d': no reason was kept",
    ]
    assert told_status([CHOSEN]) == 0
    assert capsys.readouterr().err == ""
