"""The window's letters: the font's own file says how wide they are."""

from __future__ import annotations

import string
from pathlib import Path
from types import SimpleNamespace

import pytest
from PIL import ImageFont

from loopsolver.view import panel as fonts

WEIGHTS: tuple[fonts.Weight, ...] = ("regular", "bold")


@pytest.mark.parametrize("weight", WEIGHTS)
def test_every_letter_is_as_wide_as_is_said(weight: fonts.Weight) -> None:
    """As FreeType measures them through Pillow."""
    file = fonts.font_file(weight)
    assert file is not None
    font = ImageFont.truetype(str(file), size=2048)
    assert font.getname() == (
        "DejaVu Sans Mono",
        "Bold" if weight == "bold" else "Book",
    )
    for letter in string.ascii_letters + string.digits + " ■→":
        assert font.getlength(letter) / 2048 == pytest.approx(fonts.ADVANCE, abs=5e-4)


@pytest.fixture
def _anew():
    fonts.font_file.cache_clear()
    yield
    fonts.font_file.cache_clear()


@pytest.mark.usefixtures("_anew")
def test_where_the_font_is_not_installed_there_is_none(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    for found in (
        None,
        SimpleNamespace(submodule_search_locations=None),
        SimpleNamespace(submodule_search_locations=[str(tmp_path)]),
    ):
        monkeypatch.setattr(fonts, "find_spec", lambda _name, found=found: found)
        fonts.font_file.cache_clear()
        assert fonts.font_file("bold") is None


@pytest.mark.usefixtures("_anew")
def test_the_font_is_looked_for_in_every_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    file = tmp_path / "two" / "mpl-data" / "fonts" / "ttf" / "DejaVuSansMono-Bold.ttf"
    file.parent.mkdir(parents=True)
    file.touch()
    folders = [str(tmp_path / "one"), str(tmp_path / "two")]
    found = SimpleNamespace(submodule_search_locations=folders)
    monkeypatch.setattr(fonts, "find_spec", lambda _name: found)
    assert fonts.font_file("bold") == file
