"""Angles and counts as the command line words them."""

from __future__ import annotations

from loopsolver.cli.lengths import counted, degrees, rotation


def test_angles() -> None:
    assert degrees(90.0) == "90 degrees"
    assert degrees(88.46) == "88.5 degrees"
    assert rotation(-179.99) == "180.0"
    assert rotation(-90.0) == "-90.0"


def test_one_and_many() -> None:
    assert counted(1, "bend") == "1 bend"
    assert counted(0, "bend") == "0 bends"
    assert counted(2, "body", "bodies") == "2 bodies"
