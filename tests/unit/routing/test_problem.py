"""A candidate's figures, and the same tube told from its other end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.routing.problem import EndFitting
from tests.builders.plans import candidate

VERTICES = ((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 80.0, 0.0), (100.0, 80.0, 90.0))
FIRST, LAST = (
    EndFitting(port=port, fitting="collar", outlet=out, mouth=at)
    for port, out, at in (
        ("pump.out", (1.0, 0.0, 0.0), (12.0, 0.0, 0.0)),
        ("block.in", (0.0, 0.0, -1.0), (100.0, 80.0, 78.0)),
    )
)


def test_from_its_other_end_a_tube_is_told_backwards() -> None:
    tube = replace(candidate(*VERTICES), ends=(FIRST, LAST))
    back = tube.from_other_end()
    assert back.centreline.vertices == VERTICES[::-1]
    assert back.ends == (LAST, FIRST)
    assert back.from_other_end() == tube
    assert (back.length, back.blank) == pytest.approx((tube.length, tube.blank))


def test_elbows_count_as_bends_do() -> None:
    """Two bends and one elbow cost three; without it two."""
    tube = replace(candidate(*VERTICES), ends=(FIRST, replace(LAST, is_elbow=True)))
    assert (tube.elbows, tube.cost[0], tube.cost[-1]) == (1, 3, 1)
    plain = replace(tube, ends=(FIRST, LAST))
    assert (plain.elbows, plain.cost[0], plain.cost[-1]) == (0, 2, 0)
