"""Words without signs, held against what a person reads in them."""

from __future__ import annotations

import pytest

from loopsolver.scene.side_words import (
    SideWordsError,
    along,
    length_in_words,
    offsets_in_words,
    side_in_words,
)
from loopsolver.units import LengthError, length_mm, unit_of

READ = {
    # Read by hand: right and left are one axis, away and near, up and down the others.
    "83 right, 112 up": (83.0, 0.0, 112.0),
    "83 left and 112 down": (-83.0, 0.0, -112.0),
    "  7.5 near ,and 2 cm  up ": (0.0, -7.5, 20.0),
    '3 1/2 in left, 4"up': (-88.9, 0.0, 101.6),
    "1/4 in away,.5 right": (0.5, 6.35, 0.0),
    "10mm Right": (10.0, 0.0, 0.0),
    "10 right, 0 up": (10.0, 0.0, 0.0),
}


@pytest.mark.parametrize(("words", "parts"), READ.items())
def test_words_are_read_as_a_person_reads_them(words, parts):
    offsets = offsets_in_words(words)
    read = [along(side, offsets) for side in ("right", "away", "up")]
    assert [length_mm(one, unit="mm") for one in read] == list(parts)
    opposite = [along(side, offsets) for side in ("left", "near", "down")]
    assert [-length_mm(one, unit="mm") for one in opposite] == list(parts)


WRONG = {
    "-83 right": "a length with a sign; the other way is left",
    "+5 near": "the other way is away",
    "\N{MINUS SIGN}5 up": "the other way is down",
    "83": "a length without its way",
    "83 mm": "a length without its way",
    "right": "a way without its length",
    "": "no length with a way",
    "83 right,": "no length with a way",
    "83 right, , 4 up": "no length with a way",
    "3,5 in right": "a decimal comma",
    "83 right, 4 left": "right and left; wanted one length for both",
    "83 up, 4 up": "up and up; wanted one length for both",
    "three right": "not a number with a unit",
    "83 km right": "the unit 'km' is not known",
    "3/0 in up": "a fraction with 0 below its line",
    "1e3 up": "not a number",
    "nan up": "not a number",
    "83 rihgt": "nearest: 'right'",
    "83 behind": "'behind', which names no way; wanted right, left, away (from you)",
    "0 right, 0 in up": "both ports at one place",
}


@pytest.mark.parametrize(("words", "told"), WRONG.items())
def test_wrong_words_are_told_with_what_is_wanted(words, told):
    with pytest.raises(SideWordsError) as caught:
        offsets_in_words(words)
    message = str(caught.value)
    assert told in message
    assert "wanted" in message
    assert "front" in message


def test_a_way_is_one_word_in_any_letters():
    assert [side_in_words(word) for word in ("up", " Away", "NEAR ")] == [
        "up",
        "away",
        "near",
    ]
    with pytest.raises(SideWordsError, match="nearest: 'down'"):
        side_in_words("dwn")
    with pytest.raises(SideWordsError, match="found 'north', which names no way"):
        side_in_words("north")


def test_a_length_keeps_its_own_unit():
    assert length_in_words("14") == 14.0
    assert length_in_words("9/16 in") == "9/16 in"
    for words in ("-14", "14 miles", "", "any"):
        with pytest.raises(LengthError):
            length_in_words(words)


def test_the_unit_of_a_text():
    read = {"3 in": "in", "4″": "in", "1.5cm": "cm", "2 millimetres": "mm", "3": None}
    assert {text: unit_of(text) for text in read} == read
