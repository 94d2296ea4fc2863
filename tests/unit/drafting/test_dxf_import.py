"""The DXF library is taken in without fonts, and the user's folders stay theirs."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.commands import ROOT, python

SCRIPT = """\
import os
import loopsolver.drafting.writers.dxf
from ezdxf.fonts.fonts import font_manager
print([os.environ.get(f"XDG_{one}_HOME") for one in ("CACHE", "CONFIG")])
font_manager.print_available_fonts()
"""


@pytest.mark.parametrize(
    ("cache", "config"), [(None, "settings of mine"), ("caches of mine", None)]
)
def test_no_fonts_are_listed_and_folders_stay(
    tmp_path: Path, cache: str | None, config: str | None
) -> None:
    """What was set stays so, what was not stays out, and no folder is left behind."""
    mine = {"XDG_CACHE_HOME": cache, "XDG_CONFIG_HOME": config, "HOME": str(tmp_path)}
    own = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), "TMPDIR": str(tmp_path)}
    set_ones = {name: value for name, value in mine.items() if value is not None}
    done = python("-c", SCRIPT, env=own | set_ones, folder=ROOT)
    assert done.returncode == 0, done.stderr
    folders, *_, fonts = done.stdout.splitlines()
    assert folders == str([cache, config])
    assert fonts == "found 0 fonts"
    assert list(tmp_path.iterdir()) == []
