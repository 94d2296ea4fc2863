"""Letters that can be seen, and visible escapes for those that cannot.

Names of files and texts from files may hold anything: control characters that a
terminal obeys, marks that turn the direction of reading, letters without a width.
"""

from __future__ import annotations

import re
import shlex
from typing import Final

_SEEN_AS_NOTHING: Final = re.compile(
    "[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u3164\ufe00-\ufe0f\uffa0"
    "\U000e0100-\U000e01ef]"
)
"""What Python calls printable, but is drawn as nothing.

The Unicode property Default_Ignorable_Code_Point (Unicode 15, DerivedCoreProperties),
less what is not printable anyway.
"""

_BYTES: Final = 0xDC00
"""Python's stand-in for a byte of a file name that is not UTF-8 is this and the byte."""


def is_visible(text: str) -> bool:
    """Return whether every letter of a text can be seen, or is a plain blank.

    Control characters, line breaks, marks of direction, letters without a width, and
    bytes that are no letter cannot.
    """
    return text.isprintable() and not _SEEN_AS_NOTHING.search(text)


def visible(text: str) -> str:
    r"""Return a text with an escape for every letter that cannot be seen.

    Examples
    --------
    >>> print(visible("pump\u202e\x1b[31m to\ncard"))
    pump\u202e\x1b[31m to\ncard
    """
    if is_visible(text):
        return text
    return "".join(one if is_visible(one) else _escape(one) for one in text)


def visible_lines(text: str) -> str:
    """Return a text with such escapes in each line; its line breaks are our own."""
    return "\n".join(visible(line) for line in text.split("\n"))


def shell_word(text: str) -> str:
    r"""Return a text as one word of a command line that can be pasted into a shell.

    Examples
    --------
    >>> print(shell_word("my case.toml"), shell_word("my\ncase.toml"))
    'my case.toml' $'my\ncase.toml'
    """
    if is_visible(text):
        return shlex.quote(text)
    escaped = text.replace("\\", "\\\\").replace("'", "\\'")
    return f"$'{visible(escaped)}'"


def _escape(letter: str) -> str:
    """Return a letter as an escape; a byte of a file name as that byte."""
    number = ord(letter)
    if _BYTES + 0x80 <= number <= _BYTES + 0xFF:
        return f"\\x{number - _BYTES:02x}"
    return ascii(letter)[1:-1]
