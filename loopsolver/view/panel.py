"""Puts the words beside the build: the panel on the left, the footer, the key help."""

from __future__ import annotations

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
from loopsolver.view.panel_lines import PanelLine, Section, Style

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

_STYLES: Final[dict[Style, tuple[Colour, Weight]]] = {
    "title": (palette.FAINT_INK, "bold"),
    "heading": (palette.INK, "bold"),
    "plain": (palette.INK, "regular"),
    "faint": (palette.FAINT_INK, "regular"),
    "warning": (palette.WARNING_INK, "bold"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PageLayout:
    """How a window's area is shared out [pixels].

    Attributes
    ----------
    width, height : int
        Of the whole window.
    letters : float
        Size of the letters.
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
        return self.letters * 1.2

    @property
    def panel_rows(self) -> float:
        """Rows of text that fit the panel."""
        return (self.height - self.footer_height - 2 * self.margin) / self.row

    @property
    def footer_columns(self) -> int:
        """Letters that fit the footer."""
        return int((self.width - 2 * self.margin) / (self.letters * 0.9 * ADVANCE))

    @property
    def scene_viewport(self) -> tuple[float, float, float, float]:
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
    letters = max(SMALLEST_LETTERS * scale, min(usual, LETTERS * 1.6 * scale))
    # In letters' sizes, the margins included; never over two fifths of the width.
    panel = furniture.columns * ADVANCE + 2.4 if furniture.columns else 0.0
    if panel:
        letters = min(letters, 0.4 * width / panel)
    return PageLayout(
        width=width,
        height=height,
        letters=letters,
        panel_width=letters * panel,
        footer_height=furniture.footer_rows * letters * LINE_PITCH,
    )


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
        if layout.panel_width:
            self._actors += self._panel(sections, layout)
        for actor in self._actors:
            self._renderer.AddViewProp(actor)

    def _panel(self, sections: Sequence[Section], layout: PageLayout) -> list[Any]:
        actors: list[Any] = []
        y = layout.height - layout.margin
        for section in panel_lines.fitted(sections, rows=layout.panel_rows):
            for line in section.lines:
                y -= 0.0 if line.column else layout.row
                actors += _line_actors(line, y=y, layout=layout)
            y -= panel_lines.SECTION_SPACE * layout.row
        return actors


def _line_actors(
    line: PanelLine, *, y: float, layout: PageLayout
) -> list[vtkTextActor]:
    colour, weight = _STYLES[line.style]
    column = layout.letters * ADVANCE
    actors, x = [], layout.margin + column * line.column
    if line.swatch is not None:
        size, tint = layout.letters * 1.2, line.swatch
        square = text_actor("■", at=(x, y), size=size, weight="regular", colour=tint)
        actors.append(square)
        x += column * panel_lines.SWATCH_COLUMNS
    if line.text:
        words = text_actor(
            line.text, at=(x, y), size=layout.letters, weight=weight, colour=colour
        )
        actors.append(words)
    return actors
