"""STEP files cut into triangles, in a process of its own that is held to limits.

A few lines of such a file may stand for millions of triangles, and what reads it may end
its process: how much it takes is known only afterwards.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final, NoReturn

from loopsolver.scene import limits
from loopsolver.scene.mesh_checks import FORMAT_WANTED, wrong

_CUT: Final = """
import contextlib, sys
source, target, seconds, memory, size = sys.argv[1:]
with contextlib.suppress(ImportError):  # Windows has no such limits
    import resource
    for what, most in (
        (resource.RLIMIT_CPU, seconds),
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_FSIZE, size),
        (resource.RLIMIT_CORE, 0),
    ):
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(what, (int(most), int(most)))
sys.modules["trimesh"] = None  # which takes longest to load, and is not needed here
import cascadio
sys.exit(cascadio.step_to_glb(source, target, use_parallel=False))
"""


def step_as_glb(data: bytes) -> bytes:
    """Return the triangles of a STEP file as a GLB file, in metres.

    Raises
    ------
    MeshFileError
        If it cannot be read, or not within the limits of time, memory and size.
    """
    with tempfile.TemporaryDirectory(prefix="loopsolver-") as folder:
        source, target = Path(folder) / "part.step", Path(folder) / "part.glb"
        source.write_bytes(data)
        held_to = (limits.STEP_SECONDS, limits.STEP_MEMORY, limits.MESH_BYTES)
        try:
            done = subprocess.run(
                [sys.executable, "-c", _CUT, source, target, *map(str, held_to)],
                env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},  # they ask for memory
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                timeout=limits.STEP_PATIENCE,
                check=False,
            )
        except subprocess.TimeoutExpired:
            _too_much()
        if done.returncode < 0:
            _too_much()
        if done.returncode or not target.is_file():
            wrong("a file that cannot be read as STEP", FORMAT_WANTED["step"])
        return target.read_bytes()


def _too_much() -> NoReturn:
    wrong(
        f"a STEP file that takes more than {limits.STEP_SECONDS} s, "
        f"{limits.STEP_MEMORY >> 30} GiB of memory or {limits.MESH_BYTES / 1e6:g} MB "
        "of triangles to be cut into triangles",
        "a simpler part, or the part written as a coarser STL",
    )
