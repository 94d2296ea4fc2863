"""The DXF library, taken in without its look round the user's home folder.

On import it reads settings from there, lists every font of the system and keeps the
list there. None of that has a place in a drawing: it costs a second or more the first
time, and equal drawings could come out different. So while it is imported it is shown
an empty folder with a list of no fonts.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

_PLACES: Final = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME")
_NO_FONTS: Final = '{"version": 2, "font-faces": []}'


@contextmanager
def _elsewhere() -> Iterator[None]:
    """Let an empty folder stand for the user's folders of settings and caches.

    Where there is no room for one, the library finds its own way.
    """
    before = {name: os.environ.get(name) for name in _PLACES}
    with ExitStack() as stack:
        with suppress(OSError):
            folder = stack.enter_context(TemporaryDirectory(ignore_cleanup_errors=True))
            os.environ.update(dict.fromkeys(_PLACES, folder))
            own = Path(folder) / "ezdxf"
            own.mkdir()
            (own / "font_manager_cache.json").write_text(_NO_FONTS, encoding="utf-8")
        try:
            yield
        finally:
            for name, value in before.items():
                os.environ.pop(name, None)
                if value is not None:
                    os.environ[name] = value


with _elsewhere():
    import ezdxf
    from ezdxf import units
    from ezdxf.colors import rgb2int
    from ezdxf.enums import TextEntityAlignment
    from ezdxf.filemanagement import new
    from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS
    from ezdxf.sections.classes import REQ_R2004

options = ezdxf.options  # type: ignore[attr-defined]

__all__ = [
    "REQ_R2004",
    "VALID_DXF_LINEWEIGHTS",
    "TextEntityAlignment",
    "new",
    "options",
    "rgb2int",
    "units",
]
