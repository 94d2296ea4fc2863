"""How the window is shared out, worked out by hand, and the words that are put on it."""

from __future__ import annotations

from typing import Any

import pytest
import vtkmodules.vtkRenderingFreeType  # noqa: F401 - registers VTK's maker
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkTextRenderer

from loopsolver.view import palette, panel, panel_lines
from loopsolver.view.palette import Colour
from loopsolver.view.panel import (
    BARE,
    IN_WINDOW,
    ON_PICTURE,
    Furniture,
    PageLayout,
    Weight,
    WindowWords,
    page_layout,
    text_actor,
)
from loopsolver.view.panel_lines import PanelLine, Section, Style

TEN = Furniture(columns=10, footer_rows=2.0)

LAYOUT = PageLayout(
    width=1000, height=800, letters=10.0, panel_width=300.0, footer_height=40.0
)


def test_a_page_by_hand() -> None:
    """Letters of 10: rows of 13.6, margins of 12; those of 9 below are 5 wide."""
    assert LAYOUT.row == pytest.approx(13.6)
    assert LAYOUT.margin == pytest.approx(12.0)
    assert LAYOUT.panel_rows == pytest.approx((800 - 40 - 24) / 13.6)
    assert LAYOUT.footer_columns == 195  # 976 / 5, and a bit over
    assert LAYOUT.scene_viewport == pytest.approx((0.3, 0.05, 1.0, 1.0))


@pytest.mark.parametrize(
    ("height", "scale", "letters", "wide"),
    [
        (1000, 1.0, 15.0, 9),  # the usual height
        (1080, 1.0, 16.0, 10),  # 16.2 are drawn as 16, each ten wide
        (1200, 1.0, 18.0, 11),
        (500, 1.0, 10.0, 6),  # never smaller than can be read
        (500, 2.0, 20.0, 12),
        (4000, 1.0, 24.0, 14),  # never more than 1.6 of the usual
        (4000, 2.0, 48.0, 29),
    ],
)
def test_letters_grow_with_the_window_within_limits(
    height: int, scale: float, letters: float, wide: int
) -> None:
    page = page_layout(9000, height, scale=scale, furniture=TEN)
    assert page.letters == pytest.approx(letters)
    # Ten letters, and a margin of 1.2 of their size on either side.
    assert page.panel_width == pytest.approx(10 * wide + 2.4 * letters)
    assert page.footer_height == pytest.approx(letters * 2 * 1.36)
    assert (page.width, page.height) == (9000, height)


def test_the_panel_takes_two_fifths_of_a_narrow_window_at_most() -> None:
    """Letters of 10 would take 60 + 24 of the 80; those of 9 are 5 wide."""
    page = page_layout(200, 1000, scale=1.0, furniture=TEN)
    assert page.panel_width == pytest.approx(50 + 9 * 2.4)
    assert page.letters == 9


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_letters_are_as_wide_as_vtk_draws_them(weight: Weight) -> None:
    """Whole pixels, as hinted: forty more letters are forty widths more."""
    renderer = vtkTextRenderer.GetInstance()
    for size in range(9, 49):
        style = text_actor(
            "m", at=(0, 0), size=size, weight=weight, colour=palette.INK
        ).GetTextProperty()
        few, many = [0] * 4, [0] * 4
        renderer.GetBoundingBox(style, "m" * 10, few, 72)
        renderer.GetBoundingBox(style, "m" * 50, many, 72)
        assert (many[1] - few[1]) / 40 == panel.letter_width(size)


def test_without_furniture_the_build_has_all_of_it() -> None:
    page = page_layout(200, 1000, scale=1.0, furniture=BARE)
    assert page.scene_viewport == (0.0, 0.0, 1.0, 1.0)
    assert page.letters == pytest.approx(15.0)


def test_only_a_window_has_a_footer() -> None:
    assert (IN_WINDOW.footer_rows, ON_PICTURE.footer_rows) == (2.0, 0.0)
    assert IN_WINDOW.columns == ON_PICTURE.columns > 30


@pytest.mark.parametrize(("size", "whole"), [(14.4, 14), (14.6, 15), (0.2, 1)])
def test_letters_are_of_whole_pixels_and_never_none(size: float, whole: int) -> None:
    text = text_actor("a", at=(0, 0), size=size, weight="bold", colour=(0, 0, 0))
    style = text.GetTextProperty()
    assert style.GetFontSize() == whole
    assert style.GetFontFile().endswith("DejaVuSansMono-Bold.ttf")
    assert style.GetFontFamilyAsString() == "File"


@pytest.mark.parametrize(("weight", "is_bold"), [("bold", True), ("regular", False)])
def test_without_the_font_there_is_a_courier(
    monkeypatch: pytest.MonkeyPatch, weight: Any, is_bold: bool
) -> None:
    monkeypatch.setattr(panel, "font_file", lambda _weight: None)
    text = text_actor("a", at=(0, 0), size=12.0, weight=weight, colour=(0, 0, 0))
    style = text.GetTextProperty()
    assert style.GetFontFamilyAsString() == "Courier"
    assert bool(style.GetBold()) == is_bold


def test_a_text_hangs_on_its_lower_left_corner() -> None:
    text = text_actor(
        "a\x1b", at=(7.0, 9.0), size=12.0, weight="regular", colour=(255, 51, 0)
    )
    assert text.GetInput() == r"a\x1b"
    assert text.GetPosition() == (7.0, 9.0)
    assert text.GetTextScaleMode() == 0  # VTK's "none": as large as it says
    style = text.GetTextProperty()
    assert style.GetColor() == pytest.approx((1.0, 0.2, 0.0))
    assert style.GetFontSize() == 12
    assert style.GetJustificationAsString() == "Left"
    assert style.GetVerticalJustificationAsString() == "Bottom"


def words_on(renderer: vtkRenderer) -> list[Any]:
    props = renderer.GetViewProps()
    return [props.GetItemAsObject(at) for at in range(props.GetNumberOfItems())]


SECTIONS = (
    Section(lines=(PanelLine(text="first", style="heading"), PanelLine(text=""))),
    Section(
        lines=(
            PanelLine(text="bends", style="faint", swatch=palette.BEND),
            PanelLine(text="beside", column=14),
        ),
    ),
)


def test_lines_go_down_from_the_top_and_the_footer_stands_below() -> None:
    """Rows of 13.6 from 800 - 12 down; the swatch is three letters of 6 wide."""
    renderer = vtkRenderer()
    words = WindowWords(renderer)
    words.draw(SECTIONS, footer="q closes", layout=LAYOUT)
    footer, first, square, second, beside = words_on(renderer)
    assert footer.GetInput() == "q closes"
    assert footer.GetPosition() == pytest.approx((12.0, (40.0 - 13.6) / 2.0))
    assert footer.GetTextProperty().GetFontSize() == 9
    assert (first.GetInput(), square.GetInput(), second.GetInput()) == (
        "first",
        "■",
        "bends",
    )
    assert first.GetPosition() == pytest.approx((12.0, 788.0 - 13.6))
    y = 788.0 - (3.0 + panel_lines.SECTION_SPACE) * 13.6
    assert square.GetPosition() == pytest.approx((12.0, y))
    assert square.GetTextProperty().GetFontSize() == 12
    bend = [one / 255 for one in palette.BEND]
    assert square.GetTextProperty().GetColor() == pytest.approx(bend)
    assert second.GetPosition() == pytest.approx((12.0 + 3 * 6, y))
    assert beside.GetPosition() == pytest.approx((12.0 + 14 * 6, y))
    words.draw((), footer="", layout=LAYOUT)
    assert words_on(renderer) == []


def test_without_a_panel_there_is_the_footer_alone() -> None:
    renderer = vtkRenderer()
    layout = page_layout(
        800, 600, scale=1.0, furniture=Furniture(columns=0, footer_rows=1)
    )
    WindowWords(renderer).draw(SECTIONS, footer="q closes", layout=layout)
    assert [one.GetInput() for one in words_on(renderer)] == ["q closes"]


STYLES: dict[Style, tuple[Colour, bool]] = {
    "title": (palette.FAINT_INK, True),
    "heading": (palette.INK, True),
    "plain": (palette.INK, False),
    "faint": (palette.FAINT_INK, False),
    "warning": (palette.WARNING_INK, True),
}


@pytest.mark.parametrize("style", STYLES)
def test_each_style_has_its_ink(style: Style) -> None:
    renderer = vtkRenderer()
    section = Section(lines=(PanelLine(text="says", style=style),))
    WindowWords(renderer).draw((section,), footer="", layout=LAYOUT)
    (text,) = words_on(renderer)
    colour, is_bold = STYLES[style]
    found = text.GetTextProperty()
    assert found.GetColor() == pytest.approx([one / 255 for one in colour])
    assert ("Bold" in found.GetFontFile()) == is_bold
    assert found.GetFontSize() == 10


def test_halves_are_as_wide_and_leave_a_line_between_them() -> None:
    left, right = panel.halves((0.2, 0.1, 1.0, 1.0))
    assert (left[0], right[2]) == (0.2, 1.0)
    assert left[2] - left[0] == pytest.approx(right[2] - right[0])
    assert 0.0 < right[0] - left[2] < 0.01
    assert (left[1], left[3]) == (right[1], right[3]) == (0.1, 1.0)
