"""A machine without a graphics library, made by hiding one from a process of our own."""

from __future__ import annotations

import os
import pickle
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.builders import demo_build

DRAW = (
    "import pickle, sys, pathlib\n"
    "from loopsolver.view.window import screenshot\n"
    "scene = pickle.loads(pathlib.Path(sys.argv[1]).read_bytes())\n"
    "screenshot(scene, pathlib.Path(sys.argv[2]), size=(400, 300))\n"
)
# In a mount namespace of its own, /dev/null lies over the library.
HIDE = 'mount --bind /dev/null "$1" && shift && exec "$@"'
LIBRARY = "libEGL.so.1"


def real_library():
    for folder in (
        "/usr/lib/x86_64-linux-gnu",
        "/usr/lib/aarch64-linux-gnu",
        "/usr/lib64",
    ):
        path = Path(folder, LIBRARY)
        if path.exists():
            return path.resolve()
    return None


def hidden(library, *command, **options):
    return subprocess.run(
        ["unshare", "-m", "sh", "-c", HIDE, "sh", str(library), *command],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        **options,
    )


def may_hide():
    library = real_library()
    if library is None or shutil.which("unshare") is None:
        return False
    return hidden(library, "true").returncode == 0


@pytest.mark.skipif(not may_hide(), reason="may not make a mount namespace here")
def test_missing_library_is_named_with_its_package_and_nothing_is_written(tmp_path):
    held, path = tmp_path / "scene.pickle", tmp_path / "view.png"
    held.write_bytes(pickle.dumps(demo_build.scene()))
    no_display = {"DISPLAY", "WAYLAND_DISPLAY"}
    done = hidden(
        real_library(),
        *(sys.executable, "-c", DRAW, str(held), str(path)),
        env={k: v for k, v in os.environ.items() if k not in no_display},
    )
    # The child crashed, we did not: an ordinary error with what to do about it.
    assert done.returncode == 1
    last = done.stderr.strip().splitlines()[-2:]
    assert last[0].startswith("loopsolver.errors.MissingExtraError: ")
    assert "Missing: libegl1." in last[0]
    assert last[1].split() == ["apt-get", "install", "-y", "libegl1"]
    assert not path.exists()
