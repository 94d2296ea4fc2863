"""Puts the words beside the build: the panel on the left, the footer, the key help."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final, Literal

from vtkmodules.vtkRenderingCore import vtkRenderer, vtkTextActor

from loopsolver.letters import visible
from loopsolver.view import palette, panel_lines
from loopsolver.view.palette import Colour
from loopsolver.view.panel_lines import PanelLine, Section, Style, Target

Weight = Literal["regular", "bold"]

ADVANCE: Final = 0.602
"""Width of a letter as a share of the letters' size (DejaVu Sans Mono: 1233 / 2048)."""

_FILES: Final[dict[Weight, str]] = {
    "regular": "DejaVuSansMono.ttf",
    "bold": "DejaVuSansMono-Bold.ttf",
}

LETTERS: Final = 15.0
"""Size of the panel's letters in a window of the usual height [pixels]."""

USUAL_HEIGHT: Final = 1000.0
SMALLEST_LETTERS: Final = 10.0
LINE_PITCH: Final = 1.36
"""Height of a row as a share of the letters' size."""

PANEL_MARGIN: Final = 1.2
"""Space round the words as a share of the letters' size."""

_STYLES: Final[dict[Style, tuple[Colour, Weight]]] = {
    "title": (palette.FAINT_INK, "bold"),
    "heading": (palette.INK, "bold"),
    "plain": (palette.INK, "regular"),
    "faint": (palette.FAINT_INK, "regular"),
    "warning": (palette.WARNING_INK, "bold"),
}


def letter_width(size: float) -> int:
    """Return the width of every letter of a size, a whole number as VTK draws them."""
    return round(round(size) * ADVANCE)


@dataclass(frozen=True, slots=True, kw_only=True)
class PageLayout:
    """How a window's area is shared out [pixels].

    Attributes
    ----------
    width, height : int
        Of the whole window.
    letters : float
        Size of the letters, whole pixels as they are drawn.
    panel_width, footer_height : float
        What the words take at the left and at the bottom.
    """

    width: int
    height: int
    letters: float
    panel_width: float
    footer_height: float

    @property
    def row(self) -> float:
        """Height of a row of text."""
        return self.letters * LINE_PITCH

    @property
    def margin(self) -> float:
        """Space round the words."""
        return self.letters * PANEL_MARGIN

    @property
    def panel_rows(self) -> float:
        """Rows of text that fit the panel."""
        return (self.height - self.footer_height - 2 * self.margin) / self.row

    @property
    def footer_columns(self) -> int:
        """Letters that fit the footer."""
        return int((self.width - 2 * self.margin) / letter_width(self.letters * 0.9))

    @property
    def scene_viewport(self) -> WindowShare:
        """Left, bottom, right and top of the build's part, as shares of the window."""
        return (
            self.panel_width / self.width,
            self.footer_height / self.height,
            1.0,
            1.0,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Furniture:
    """What stands round the build.

    Attributes
    ----------
    columns : int
        Letters in a line of the panel; 0 for no panel.
    footer_rows : float
        Height of the footer; 0 for none.
    """

    columns: int
    footer_rows: float


IN_WINDOW: Final = Furniture(columns=panel_lines.COLUMNS, footer_rows=2.0)
ON_PICTURE: Final = Furniture(columns=panel_lines.COLUMNS, footer_rows=0.0)
BARE: Final = Furniture(columns=0, footer_rows=0.0)


def page_layout(
    width: int, height: int, *, scale: float, furniture: Furniture
) -> PageLayout:
    """Return how the window is shared out.

    Parameters
    ----------
    width, height : int
        Of the window [pixels].
    scale : float
        Pixels for each pixel of a usual screen.
    furniture : Furniture
    """
    usual = LETTERS * height / USUAL_HEIGHT
    largest = max(SMALLEST_LETTERS * scale, min(usual, LETTERS * 1.6 * scale))

    def laid(letters: int) -> PageLayout:
        columns = furniture.columns
        panel = columns * letter_width(letters) + 2 * PANEL_MARGIN * letters
        return PageLayout(
            width=width,
            height=height,
            letters=letters,
            panel_width=panel if columns else 0.0,
            footer_height=furniture.footer_rows * letters * LINE_PITCH,
        )

    layouts = map(laid, range(math.ceil(largest - 0.5), 0, -1))
    return next((one for one in layouts if one.panel_width <= 0.4 * width), laid(1))


WindowShare = tuple[float, float, float, float]
"""Left, bottom, right and top of a part of the window, as shares of it."""


def halves(whole: WindowShare) -> tuple[WindowShare, WindowShare]:
    """Return the left and the right half of a part of the window, a little apart."""
    left, bottom, right, top = whole
    middle = (left + right) / 2.0
    return (left, bottom, middle - 0.002, top), (middle + 0.002, bottom, right, top)


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


def text_actor(
    text: str, *, at: tuple[float, float], size: float, weight: Weight, colour: Colour
) -> vtkTextActor:
    """Return a text whose first letter's lower left corner is at a place [pixels].

    In the window's font; in VTK's own Courier where that is not installed.
    """
    actor = vtkTextActor()
    actor.SetInput(visible(text))
    actor.SetTextScaleModeToNone()
    actor.SetPosition(*at)
    style = actor.GetTextProperty()
    file = font_file(weight)
    if file is None:
        style.SetFontFamilyToCourier()
        style.SetBold(weight == "bold")
    else:
        style.SetFontFamily(4)  # VTK_FONT_FILE
        style.SetFontFile(str(file))
    style.SetFontSize(max(1, round(size)))
    style.SetColor(*palette.as_fractions(colour))
    style.SetVerticalJustificationToBottom()
    style.SetJustificationToLeft()
    return actor


class WindowWords:
    """The words of a window, on a renderer that covers all of it."""

    def __init__(self, renderer: vtkRenderer) -> None:
        self._renderer = renderer
        self._actors: list[Any] = []
        self._lines: list[LaidLine] = []
        self._layout: PageLayout | None = None

    def target_at(self, x: float, y: float) -> Target | None:
        """Return what the words at a place lead to, from the lower left [pixels]."""
        layout = self._layout
        if layout is None or x > layout.panel_width:
            return None
        return target_in(self._lines, x, y, layout=layout)

    def draw(
        self, sections: Sequence[Section], *, footer: str, layout: PageLayout
    ) -> None:
        """Replace all words by these."""
        for actor in self._actors:
            self._renderer.RemoveViewProp(actor)
        self._actors = []
        if footer:
            at = (layout.margin, (layout.footer_height - layout.row) / 2.0)
            size, colour = layout.letters * 0.9, palette.FAINT_INK
            words = text_actor(
                footer, at=at, size=size, weight="regular", colour=colour
            )
            self._actors.append(words)
        self._layout = layout
        self._lines = laid_lines(sections, layout) if layout.panel_width else []
        self._actors += [
            one for line in self._lines for one in _line_actors(line, layout=layout)
        ]
        for actor in self._actors:
            self._renderer.AddViewProp(actor)


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidLine:
    """A line of the panel, and where its lower left corner is [pixels]."""

    line: PanelLine
    x: float
    y: float


def laid_lines(sections: Sequence[Section], layout: PageLayout) -> list[LaidLine]:
    """Return the lines that fit the panel, from top to bottom, each in its place."""
    laid: list[LaidLine] = []
    y, width = layout.height - layout.margin, letter_width(layout.letters)
    for section in panel_lines.fitted(sections, rows=layout.panel_rows):
        for line in section.lines:
            y -= 0.0 if line.column else layout.row
            x = layout.margin + width * line.column
            laid.append(LaidLine(line=line, x=x, y=y))
        y -= panel_lines.SECTION_SPACE * layout.row
    return laid


def target_in(
    lines: Sequence[LaidLine], x: float, y: float, *, layout: PageLayout
) -> Target | None:
    """Return what the line at a place leads to: the last one that begins left of it."""
    here = [one for one in lines if one.y <= y < one.y + layout.row]
    within = [one for one in here if not one.line.column or one.x <= x]
    return within[-1].line.leads_to if within else None


def _line_actors(laid: LaidLine, *, layout: PageLayout) -> list[vtkTextActor]:
    line, x, y = laid.line, laid.x, laid.y
    colour, weight = _STYLES[line.style]
    actors = []
    if line.swatch is not None:
        size, tint = layout.letters * 1.2, line.swatch
        square = text_actor("■", at=(x, y), size=size, weight="regular", colour=tint)
        actors.append(square)
        x += letter_width(layout.letters) * panel_lines.SWATCH_COLUMNS
    if line.text:
        words = text_actor(
            line.text, at=(x, y), size=layout.letters, weight=weight, colour=colour
        )
        actors.append(words)
    return actors
