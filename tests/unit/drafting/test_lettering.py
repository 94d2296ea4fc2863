"""Lettering: measured against the font's own file as FreeType reads it through Pillow."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
import reportlab
from PIL import ImageFont

from loopsolver.drafting.drawing import Face
from loopsolver.drafting.lettering import (
    CAPITAL,
    broken,
    cut_to_width,
    drawable,
    printable,
    text_width,
)

FILES = {Face.REGULAR: "Vera.ttf", Face.STRONG: "VeraBd.ttf"}


def advance(text: str, face: Face) -> float:
    """Return how wide a text is for letters of size 1, without kerning."""
    file = Path(reportlab.__file__).parent / "fonts" / FILES[face]
    font = ImageFont.truetype(str(file), size=2048)
    return sum(font.getlength(letter) for letter in text) / 2048.0


@pytest.mark.parametrize("face", FILES)
def test_a_text_is_as_wide_as_its_letters(face: Face) -> None:
    """Capitals of 2.4 mm are of letters whose size is 2.4 / 0.729."""
    wanted = advance("pump to card, 3/8", face) * 2.4 / 0.729
    assert text_width("pump to card, 3/8", 2.4, face) == pytest.approx(wanted, rel=0.01)


def test_capitals_are_so_high() -> None:
    file = Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"
    font = ImageFont.truetype(str(file), size=2048)
    left, top, right, bottom = font.getbbox("H")
    assert (bottom - top) / 2048.0 == pytest.approx(CAPITAL, abs=0.002)
    del left, right


@pytest.mark.parametrize(
    ("text", "font"),
    [
        ("Kühler, 3 mm", "Vera"),
        ("насос", "DejaVuSans"),
        ("Kühler → насос", "DejaVuSans"),
    ],
)
def test_letters_that_the_first_font_lacks_come_from_the_wider_one(
    text: str, font: str
) -> None:
    assert drawable(text, Face.REGULAR) == (font, text)
    bold = {"Vera": "VeraBd", "DejaVuSans": "DejaVuSans-Bold"}[font]
    assert drawable(text, Face.STRONG) == (bold, text)


def test_a_letter_that_no_font_has_is_a_box() -> None:
    """Where the wider font has no more of a text, the first one stays, with lozenges."""
    assert drawable("насос 水", Face.REGULAR) == ("DejaVuSans", "насос □")
    assert drawable("pump 水", Face.REGULAR) == ("Vera", "pump ◊")


def test_a_text_is_cut_to_as_many_letters_as_fit() -> None:
    """Found by trying every length: the longest that fits with its ellipsis."""
    text = "pump to card by way of the reservoir"
    for width in (3.0, 10.0, 24.9, 25.0, 40.0):
        fitting = [
            text[:count].rstrip() + "…"
            for count in range(len(text))
            if text_width(text[:count] + "…", 2.4) <= width
        ]
        assert cut_to_width(text, width=width, size=2.4) == (fitting or ["…"])[-1]


def test_a_text_that_just_fits_is_not_cut() -> None:
    width = text_width("pump to card", 2.4)
    assert cut_to_width("pump  to\ncard", width=width, size=2.4) == "pump to card"
    assert cut_to_width("pump to card", width=width - 0.01, size=2.4).endswith("…")


def test_no_line_is_longer_than_400_letters() -> None:
    assert len(cut_to_width("i" * 401, width=1e6, size=2.4)) == 400


def test_lines_are_broken_as_late_as_can_be() -> None:
    """By the rule itself: no line's next word would have fitted on it."""
    text = "one tube goes from the pump to the card and back to the reservoir"
    for width in (20.0, 33.0, 50.0):
        lines = broken(text, width=width, size=2.4)
        assert " ".join(lines) == text
        for line, after in itertools.pairwise(lines):
            assert text_width(line, 2.4) <= width
            assert text_width(f"{line} {after.split()[0]}", 2.4) > width


def test_a_line_may_be_exactly_as_wide_as_there_is_room() -> None:
    width = text_width("pump to card", 2.4)
    assert broken("pump to card", width=width, size=2.4) == ("pump to card",)
    assert len(broken("pump to card", width=width - 0.01, size=2.4)) == 2


def test_a_word_that_is_too_wide_is_shortened_in_its_place() -> None:
    first, second, third = broken(f"a {'W' * 50} b", width=30.0, size=2.4)
    assert (first, third) == ("a", "b")
    assert second.endswith("W…")


def test_a_text_becomes_one_line_of_what_can_be_seen() -> None:
    """A letter and its accent are one letter (Unicode's form NFC)."""
    assert printable(" u\u0308ber\t\n x ") == "über x"
    assert printable("") == ""
