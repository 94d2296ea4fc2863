"""The blanks of a plan: spares counted, and those that no stock tube holds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from loopsolver.cutting.cut_plan import cut_plan
from loopsolver.plan import Plan
from loopsolver.workshop.blanks import blanks, too_long_messages


@pytest.mark.parametrize(("spares", "count"), [(0, 1), (2, 3)])
def test_a_run_that_no_stock_holds_is_said_once(
    make_plan: Callable[..., Plan], spares: int, count: int
) -> None:
    """470 mm of tube and twice 30 mm of trim: 30 mm more than 500, 15 at each end."""
    plan = make_plan(routes=[((20.0, 20.0, 28.0), (20.0, 20.0, 498.0))], names=["far"])
    cuts = cut_plan(blanks(plan, spares=spares), stock_length=500.0, kerf=1.0)
    assert len(cuts.too_long) == count
    (message,) = too_long_messages(plan, cuts)
    for said in ("far: the blank of 530.0 mm", "30.0 mm longer", "at most 15.0 mm"):
        assert said in message
    inches = replace(plan, scene=replace(plan.scene, units="in"))
    (message,) = too_long_messages(inches, cuts)
    assert " mm" not in message
    assert "20.866 in" in message  # 530 / 25.4
