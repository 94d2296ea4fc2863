"""The letters of the window: a font of one width that comes with the libraries."""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Final, Literal

Weight = Literal["regular", "bold"]

ADVANCE: Final = 0.602
"""Width of a letter as a share of the letters' size (DejaVu Sans Mono: 1233 / 2048)."""

_FILES: Final[dict[Weight, str]] = {
    "regular": "DejaVuSansMono.ttf",
    "bold": "DejaVuSansMono-Bold.ttf",
}


@cache
def font_file(weight: Weight) -> Path | None:
    """Return the font's file, or None where it is not installed.

    It lies among the files of matplotlib, which pyvista brings along; matplotlib itself
    is not loaded.
    """
    found = find_spec("matplotlib")
    for folder in (found and found.submodule_search_locations) or ():
        file = Path(folder) / "mpl-data" / "fonts" / "ttf" / _FILES[weight]
        if file.is_file():
            return file
    return None
