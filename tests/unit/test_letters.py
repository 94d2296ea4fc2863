"""Letters that cannot be seen: which those are, and what stands in their place.

Which letters turn the direction of reading: Unicode Standard Annex 9, table 4 (from
memory). General categories are those of Python's `unicodedata`, a second reading.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import unicodedata

import pytest

from loopsolver.letters import is_visible, shell_word, visible, visible_lines

TURNING = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
WIDTHLESS = "\u00ad\u034f\u200b\u200c\u200d\u2060\u3164\ufe0f\ufeff"
UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


@pytest.mark.parametrize("letter", [*TURNING, *WIDTHLESS, "\x1b", "\x7f", "\x9b"])
def test_letters_without_a_look_become_escapes(letter: str):
    assert not is_visible(letter)
    shown = visible(f"a{letter}b")
    assert shown.isascii()
    assert shown.isprintable()
    assert ascii(letter)[1:-1] in shown


def test_nothing_of_an_unseen_category_stays_anywhere_in_unicode():
    for number in range(sys.maxunicode + 1):
        if unicodedata.category(chr(number)) in UNSEEN:
            assert not is_visible(chr(number)), hex(number)


def test_words_of_any_alphabet_stay_as_they_are():
    text = "Ärmel 3½″ насос 水泵 مضخة e\u0301 \U0001f527"
    assert is_visible(text)
    assert visible(text) == text


def test_a_byte_that_is_no_utf_8_is_shown_as_that_byte():
    name = b"w\xffren".decode("utf-8", errors="surrogateescape")
    assert visible(name) == r"w\xffren"


@pytest.mark.parametrize(
    ("number", "shown"),
    [
        (0xDC7F, r"\udc7f"),
        (0xDC80, r"\x80"),
        (0xDC8A, r"\x8a"),
        (0xDCFF, r"\xff"),
        (0xDD00, r"\udd00"),
    ],
)
def test_only_halves_of_letters_that_stand_for_bytes_become_bytes(
    number: int, shown: str
) -> None:
    """Python has U+DC80 to U+DCFF stand for the bytes 0x80 to 0xff (PEP 383)."""
    assert visible(chr(number)) == shown


def test_line_breaks_of_our_own_stay():
    assert visible_lines("one\x1b\ntwo") == "one\\x1b\ntwo"
    assert visible("one\ntwo") == r"one\ntwo"


BASH = shutil.which("bash")


@pytest.mark.skipif(BASH is None, reason="needs bash to read the word back")
@pytest.mark.parametrize("name", [b"w\xff'r\\en", b"a b", b"it's\nme", b"\x1b[31m"])
def test_bash_reads_the_pasted_word_as_the_name(name: bytes):
    word = shell_word(name.decode("utf-8", errors="surrogateescape"))
    assert visible(word) == word
    done = subprocess.run(
        [str(BASH), "-c", f"printf %s {word}"], capture_output=True, check=True
    )
    assert done.stdout == name


def test_pages_and_the_window_hold_visible_letters_alone():
    import vtkmodules.vtkRenderingFreeType  # noqa: F401

    from loopsolver.drafting.lettering import printable
    from loopsolver.view.panel import text_actor
    from loopsolver.view.panel_lines import wrapped

    bad = "to\u202e\ufe0f card"
    assert printable(f"pump\n {bad}") == r"pump to\u202e\ufe0f card"
    assert [line.text for line in wrapped(bad)] == [r"to\u202e\ufe0f card"]
    actor = text_actor(bad, at=(0, 0), size=9, weight="regular", colour=(0, 0, 0))
    assert actor.GetInput() == r"to\u202e\ufe0f card"
