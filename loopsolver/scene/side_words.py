"""Ways, and lengths each with its way, in words without signs: ``83 right, 112 up``."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from loopsolver.scene.axes import OPPOSITE, SIDES, Side
from loopsolver.scene.findings import nearest_name
from loopsolver.units import LengthError, length_mm

WrittenLength = float | str
"""A length as a scene file may hold it: a plain number, or a text with its unit."""

_WAYS: Final = "right, left, away (from you), near (towards you), up or down"
_SIDES: Final = f"{_WAYS}, as seen from before the case's front"
_OFFSETS: Final = (
    'lengths without signs, each with its way, such as "83 right, 112 up" or '
    f'"3 1/2 in left": {_SIDES}'
)
OFF_A_SHEET: Final = (
    f'amounts without signs, each with its way, such as "4 right, 2 near": {_WAYS}, as '
    "the sheet is read"
)
"""What is wanted of words that say how something is off a printed sheet."""


class SideWordsError(ValueError):
    """Words that name no way, or no length with one; the text says what is wanted."""


def side_in_words(word: str) -> Side:
    """Return the way that a word names.

    Raises
    ------
    SideWordsError
        If it names none.
    """
    side = word.strip().lower()
    if side not in SIDES:
        near = nearest_name(side, SIDES)
        hint = "" if near is None else f"; nearest: {near!r}"
        msg = f"found {word!r}, which names no way; wanted {_SIDES}{hint}"
        raise SideWordsError(msg)
    return side


def length_in_words(text: str) -> WrittenLength:
    """Return a length without a sign, as a scene file may hold it.

    Raises
    ------
    LengthError
        If it is none.

    Examples
    --------
    >>> length_in_words("83"), length_in_words(" 3 1/2 in ")
    (83.0, '3 1/2 in')
    """
    plain = " ".join(text.split())
    if plain.startswith(("-", "+", "\N{MINUS SIGN}")):
        trouble = "a length with a sign"
        raise LengthError(trouble)
    bare = re.fullmatch(r"[0-9]+\.?[0-9]*|\.[0-9]+", plain) is not None
    written: WrittenLength = float(plain) if bare else plain
    length_mm(written, unit="mm")
    return written


def offsets_in_words(text: str) -> dict[Side, WrittenLength]:
    """Return how far it is each way, from words with commas or "and" between them.

    Raises
    ------
    SideWordsError
        If a way or a length is missing or wrong, one way is against another, or there
        is no way to go.

    Examples
    --------
    >>> offsets_in_words('83 right, 4.5 in up, 4" near')
    {'right': 83.0, 'up': '4.5 in', 'near': '4"'}
    """
    offsets = ways_in_words(text, wanted=_OFFSETS)
    if not any(length_mm(length, unit="mm") for length in offsets.values()):
        raise _wrong(text, "both ports at one place", _OFFSETS)
    return offsets


def ways_in_words(text: str, *, wanted: str) -> dict[Side, WrittenLength]:
    """Return how much it is each way, from words with commas or "and" between them.

    Parameters
    ----------
    text : str
    wanted : str
        What messages say is wanted.

    Raises
    ------
    SideWordsError
        If a way or an amount is missing or wrong, or one way is against another.

    Examples
    --------
    >>> ways_in_words("0 right", wanted="ways")
    {'right': 0.0}
    """
    if re.search("[0-9],[0-9]", text):
        raise _wrong(text, "a decimal comma in place of a point", wanted)
    offsets: dict[Side, WrittenLength] = {}
    for part in re.split(r"\s*,\s*(?:and\s+)?|\s+and\s+", text.strip()):
        side, length = _offset(part, wanted)
        for other in (side, OPPOSITE[side]):
            if other in offsets:
                trouble = f"{other} and {side}; wanted one length for both"
                raise _wrong(text, trouble, wanted)
        offsets[side] = length
    return offsets


def _offset(part: str, wanted: str) -> tuple[Side, WrittenLength]:
    """Return one way and how far it is."""
    if _is_length(part):
        raise _wrong(part, "a length without its way", wanted)
    match = re.fullmatch(r"(.*?)\s*([^\W\d]+)", part)
    if match is None:
        raise _wrong(part, "no length with a way", wanted)
    try:
        side = side_in_words(match[2])
        return side, length_in_words(match[1])
    except LengthError as error:
        trouble = error.trouble if match[1] else "a way without its length"
        if trouble.endswith("sign"):
            trouble += f"; the other way is {OPPOSITE[side]}"
        raise _wrong(part, trouble, wanted) from None
    except SideWordsError as error:
        msg = f"in {part!r}: {error}"
        raise SideWordsError(msg) from None


def _is_length(part: str) -> bool:
    try:
        length_in_words(part)
    except LengthError:
        return False
    return True


def _wrong(found: str, trouble: str, wanted: str) -> SideWordsError:
    return SideWordsError(f"found {found!r} ({trouble}); wanted {wanted}")


def along(side: Side, offsets: Mapping[Side, WrittenLength]) -> WrittenLength:
    """Return how far it is along an axis that points to a side, with the sign it needs.

    >>> along("right", {"left": "3 in"}), along("up", {"left": "3 in"})
    ('-3 in', 0.0)
    """
    if side in offsets:
        return offsets[side]
    back = offsets.get(OPPOSITE[side], 0.0)
    return f"-{back}" if isinstance(back, str) else 0.0 - back
