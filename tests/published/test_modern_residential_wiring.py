"""Goodheart-Willcox, *Modern Residential Wiring* (2021), pp. 144-145. Inches."""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from tests.published.trade_words import shrink


@pytest.mark.parametrize(
    ("angle_deg", "printed", "rounding", "exact"),
    [(30, 2.0, 0.15, 2.144), (45, 3.0, 0.32, 3.314)],
)
def test_shrink_of_an_eight_inch_offset(
    angle_deg: float, printed: float, rounding: float, exact: float
) -> None:
    """P. 145: 2 and 3 in, from 1/4 and 3/8 of the set."""
    found = shrink(8, math.radians(angle_deg))
    assert found == pytest.approx(printed, abs=rounding)
    assert found == pytest.approx(exact, abs=0.0005)


def test_stub_up() -> None:
    """P. 144: a rise of 10 with a take-up of 5 is marked at 5.

    A take-up of 5 at 90 degrees is a centre-line radius of 5.
    """
    tube = Centreline(vertices=((0, 0, 10), (0, 0, 0), (40, 0, 0)), radius=5)
    assert bend_table(tube).bends[0].straight == pytest.approx(10 - 5, abs=1e-12)
