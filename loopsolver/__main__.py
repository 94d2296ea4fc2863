"""``python -m loopsolver`` and the command ``loopsolver``: where both begin."""

from __future__ import annotations

import os
import time

BEGUN = time.monotonic()
"""When this process began, on the clock of `time.monotonic` [s]."""

try:
    from loopsolver.cli.stopping import leave_at_once
except KeyboardInterrupt:  # as `leave_at_once` would have it, could it be asked
    os._exit(130)


def run() -> None:
    """Run the command line of this process and leave with its exit status."""
    leave_at_once()  # before anything is imported that takes its time
    from loopsolver.cli.main import run as run_commands

    run_commands(begun=BEGUN)


if __name__ == "__main__":
    run()
