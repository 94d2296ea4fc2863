"""What `bends` says of one tube, reckoned by hand."""

from __future__ import annotations

import math

import pytest

from loopsolver.report.bending import (
    Setup,
    candidate_words,
    marks_table,
    stock_sentences,
)
from tests.builders.small_build import plan_with


def test_both_cuts_are_measured_from_the_first_end_of_the_blank() -> None:
    """Legs 132, 100, 152; a square bend takes 2 R off two and gives an arc of pi R / 2.

    So what is left is as long as the finished tube, and the blank 30 mm more at each end.
    """
    plan = plan_with()
    setup = Setup(run=plan.runs[0], rank=1, scene=plan.scene)
    finished = 384.0 - 2 * (2.0 - math.pi / 2.0) * 28.0
    words = " ".join(stock_sentences(setup))
    assert f"trim at 30.0 mm and at {30.0 + finished:.1f} mm from the blank's" in words
    assert f"Cut a blank of {finished + 60.0:.1f} mm" in words
    # The first bend begins 132 - 28 mm behind the first cut, so behind 30 mm of trim.
    assert setup.marks[0].start == pytest.approx(30.0 + 132.0 - 28.0)


def test_marks_stand_in_a_row_a_bend() -> None:
    """Trim 30 mm, legs 132, 100, 152 round 28 mm: bend 1 begins at 30 + 132 - 28.

    It is pi/2 x 28 mm long; 14 mm beside it get hot, a tube's diameter on either side.
    """
    plan = plan_with()
    setup = Setup(run=plan.runs[0], rank=1, scene=plan.scene)
    assert candidate_words(setup) == "candidate 1 of 1, chosen: 2 bends in 2 planes"
    table = marks_table(setup)
    arc = math.pi / 2.0 * 28.0
    ends = (134.0, 134.0 + arc / 2.0, 134.0 + arc, 134.0 - 14.0, 134.0 + arc + 14.0)
    assert len(table.rows) == 2
    assert table.rows[0] == ("1", *(f"{end:.1f}" for end in ends))
