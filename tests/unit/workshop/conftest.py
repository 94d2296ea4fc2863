"""The small build as a fixture."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loopsolver.plan import Plan
from tests.builders.small_build import plan_with


@pytest.fixture
def make_plan() -> Callable[..., Plan]:
    """Return the function that makes a plan of the small build."""
    return plan_with
