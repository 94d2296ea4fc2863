"""``python -m loopsolver``: the same as the command ``loopsolver``."""

from __future__ import annotations

from loopsolver.cli.main import run

run()
