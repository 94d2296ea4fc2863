"""What helps where the stock is too short: lengths added up by hand.

A quarter turn round 28 mm between legs of 100 mm; 30 mm are trimmed off each end.
"""

from __future__ import annotations

import pytest

from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.diagnosis.stock import is_too_long, stock_remedies
from tests.builders.plans import GAIN, candidate
from tests.builders.scenes import tube

SHORT = candidate((0, 0, 0), (100, 0, 0), (100, 100, 0))
LENGTH = 200.0 - GAIN  # 187.98 mm; the blank is 247.98 mm


@pytest.mark.parametrize(
    ("spare", "wanted"), [(-1.0, True), (0.0, False), (1.0, False)]
)
def test_a_blank_as_long_as_the_stock_fits(spare: float, wanted: bool) -> None:
    stock = tube(stock_length=LENGTH + 60.0 + spare)
    assert is_too_long(SHORT, stock) is wanted


@pytest.mark.parametrize(
    ("stock", "trim"), [(240.0, 26.0), (217.0, 14.5), (216.0, 14.0), (215.9, None)]
)
def test_less_is_trimmed_off_or_the_stock_is_longer_by_half_millimetres(
    stock: float, trim: float | None
) -> None:
    """240 less 187.98 is twice 26.01. Less than one diameter, 14 mm, cannot be held."""
    found = stock_remedies(tube(stock_length=stock), SHORT)
    longer = Change(rule="stock length", before=stock, after=248.0)
    less = Change(rule="trim allowance", before=30.0, after=trim)
    assert found == ((longer,) if trim is None else (less, longer))
