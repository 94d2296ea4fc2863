"""A screen of our own for windows under test."""

from __future__ import annotations

import pytest

from tests.e2e.seen_window import SCREEN, screen


@pytest.fixture(scope="module")
def display():
    """An X server of our own, on whichever number is free."""
    with screen(SCREEN) as name:
        yield name
