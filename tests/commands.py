"""Commands, run in a process of their own, and the demonstration scenes to run them on."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[1]
SCENES: Final = ROOT / "scenes"
PATIENCE: Final = 300.0
"""After so long a process is taken for one that hangs [s]."""


def python(
    *words: str | Path,
    folder: Path | None = None,
    env: Mapping[str, str] | None = None,
) -> subprocess.CompletedProcess[str]:
    """Return what Python printed in a folder, and its status.

    `env` is the environment; this process's own where none is given.
    """
    return subprocess.run(
        [sys.executable, *words],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=PATIENCE,
        check=False,
        env=env,
    )


def program(
    *words: str | Path, folder: Path, env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Return what a command of loopsolver printed in a folder, 80 columns wide.

    What is in `env` is added to this process's own environment.
    """
    whole = {**os.environ, "COLUMNS": "80", **(env or {})}
    return python("-m", "loopsolver", *words, folder=folder, env=whole)
