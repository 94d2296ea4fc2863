"""Values that a notebook shows with a picture."""

from __future__ import annotations

from typing import Final

_DRAWN_IN: Final = "loopsolver.workshop.html_pictures"


class Shown:
    """A value that a notebook shows as the workshop draws it."""

    __slots__ = ()

    def _repr_html_(self) -> str:
        """Return it as HTML, every name in it escaped."""
        import importlib  # by name: what draws stands above what is drawn

        html: str = importlib.import_module(_DRAWN_IN).html_of(self)
        return html
