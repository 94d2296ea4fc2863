"""Angles as screens and sheets word them."""

from __future__ import annotations

import pytest

from loopsolver.report.angles import clock, degrees, rotation


def test_angles() -> None:
    assert degrees(90.0) == "90 degrees"
    assert degrees(88.46) == "88.5 degrees"
    assert rotation(-179.99) == "180.0"
    assert rotation(-90.0) == "-90.0"


@pytest.mark.parametrize(
    ("rotation_deg", "says"),
    [
        (90.0, "90° clockwise"),
        (-90.0, "90° anticlockwise"),
        (37.25, "37.2° clockwise"),
        (-0.5, "0.5° anticlockwise"),
    ],
)
def test_clock_words(rotation_deg: float, says: str) -> None:
    assert clock(rotation_deg) == says
