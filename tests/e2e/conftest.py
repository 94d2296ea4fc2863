"""A screen of our own for windows under test."""

from __future__ import annotations

import os
import subprocess

import pytest

from tests.e2e.seen_window import SCREEN


@pytest.fixture(scope="module")
def display():
    """An X server of our own, on whichever number is free."""
    read_end, write_end = os.pipe()
    width, height = SCREEN
    with subprocess.Popen(
        [
            *("Xvfb", "-displayfd", str(write_end)),
            *("-screen", "0", f"{width}x{height}x24"),
            # Or it starts anew, deaf for a while, when the trial's window closes.
            "-noreset",
        ],
        pass_fds=[write_end],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as server:
        os.close(write_end)
        with os.fdopen(read_end) as numbers:
            number = numbers.readline().strip()
        assert number, "Xvfb did not start"
        yield f":{number}"
        server.terminate()
