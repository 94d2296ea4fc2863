"""What takes longer than some 5 s: a few cases every time, all of them when asked for.

``LOOPSOLVER_FULL=1`` before a command of pytest asks for all. Of each kind of case one
that is quick stays in every run, so that nothing goes untested without it.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Final, TypeVar

import pytest

Case = TypeVar("Case")

IS_FULL: Final = os.environ.get("LOOPSOLVER_FULL") == "1"
"""Whether all cases are asked for."""

only_in_full = pytest.mark.skipif(
    not IS_FULL, reason="takes long: runs with LOOPSOLVER_FULL=1"
)
"""Marks a test that has a quick one of its kind beside it."""


def few_or_all(few: Sequence[Case], every: Sequence[Case]) -> Sequence[Case]:
    """Return the few cases of every run, or all where they are asked for."""
    assert set(few) <= set(every)
    return every if IS_FULL else few
