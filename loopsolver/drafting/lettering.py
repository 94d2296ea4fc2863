"""Lettering: what a line of text measures, how it is shortened and broken, which font.

Text comes from scene files and may hold anything: 500 characters, line breaks, markup,
any alphabet. `printable` makes one clean line of it; `cut_to_width` and `broken` make it
fit. The fonts are those that the PDF library brings along (Latin alphabets); where the
plotting library that the 3D window needs is installed, its wider font stands in for
other alphabets. What neither can draw becomes a visible placeholder.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

import reportlab
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from loopsolver.drafting.drawing import Anchor, Face
from loopsolver.letters import visible

CAPITAL: Final = 0.729
"""Height of the capitals of the lettering font over its size in points.

Of DejaVu Sans and Bitstream Vera Sans, which share their outlines: 1493 / 2048.
"""

ELLIPSIS: Final = "…"

ANCHOR: Final[dict[Anchor, float]] = {"start": 0.0, "middle": 0.5, "end": 1.0}
"""How much of a line of lettering stands before its anchor."""

_NARROW: Final = {Face.REGULAR: "Vera.ttf", Face.STRONG: "VeraBd.ttf"}
_WIDE: Final = {Face.REGULAR: "DejaVuSans.ttf", Face.STRONG: "DejaVuSans-Bold.ttf"}


def printable(text: str) -> str:
    r"""Return text as one clean line: single spaces, and all its letters visible.

    Examples
    --------
    >>> printable("pump\n to\tcard\x00")
    'pump to card'
    """
    shown = "".join(
        " " if unicodedata.category(letter) == "Cc" else letter
        for letter in unicodedata.normalize("NFC", text)
    )
    return visible(" ".join(shown.split()))


@lru_cache(maxsize=8)
def _font(file: str, folder: str) -> Any | None:
    """Return a TrueType font, known to the PDF library, or None if there is none."""
    try:
        font = TTFont(Path(file).stem, str(Path(folder) / file))
    except (TTFError, OSError):
        return None
    pdfmetrics.registerFont(font)
    return font


def _wide_font(face: Face) -> Any | None:
    """Return the font with more alphabets, or None where it is not installed."""
    spec = find_spec("matplotlib")
    if spec is None or spec.origin is None:
        return None
    folder = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"
    return _font(_WIDE[face], str(folder))


def _covered(font: Any, text: str) -> int:
    """Return how many characters of a text a font can draw."""
    return sum(ord(letter) in font.face.charWidths for letter in text)


@lru_cache(maxsize=4096)
def drawable(text: str, face: Face) -> tuple[str, str]:
    """Return the name of the PDF font for a text, and the text as it can draw it.

    Characters that no font at hand has are replaced by a box, or by a lozenge where
    the wider font is not installed.
    """
    font: Any = _font(_NARROW[face], str(Path(reportlab.__file__).parent / "fonts"))
    if _covered(font, text) < len(text):
        wide = _wide_font(face)
        if wide is not None and _covered(wide, text) > _covered(font, text):
            font = wide
    widths = font.face.charWidths
    stand_in = "\u25a1" if 0x25A1 in widths else "\u25ca"
    shown = "".join(
        letter if ord(letter) in widths else stand_in for letter in printable(text)
    )
    return font.fontName, shown


@lru_cache(maxsize=8192)
def text_width(text: str, size: float, face: Face = Face.REGULAR) -> float:
    """Return the width of a line of lettering whose capitals are `size` high [mm]."""
    font, shown = drawable(text, face)
    return float(pdfmetrics.stringWidth(shown, font, size / CAPITAL))


def cut_to_width(
    text: str, *, width: float, size: float, face: Face = Face.REGULAR
) -> str:
    """Return a text as one clean line no wider than `width`, cut with an ellipsis.

    Parameters
    ----------
    width : float
        Room there is [mm].
    size : float
        Height of the capitals [mm].
    """
    line = printable(text)[:400]
    if text_width(line, size, face) <= width:
        return line
    fits, fails = 0, len(line)
    while fails - fits > 1:
        middle = (fits + fails) // 2
        if text_width(line[:middle] + ELLIPSIS, size, face) <= width:
            fits = middle
        else:
            fails = middle
    return line[:fits].rstrip() + ELLIPSIS


def broken(
    text: str, *, width: float, size: float, face: Face = Face.REGULAR
) -> tuple[str, ...]:
    """Return a text broken between words into lines no wider than `width` [mm].

    A word that is wider by itself is shortened.
    """
    lines: list[str] = []
    for word in printable(text).split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, face) <= width:
            lines[-1] = longer
        else:
            lines.append(cut_to_width(word, width=width, size=size, face=face))
    return tuple(lines)
