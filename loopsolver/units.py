"""Lengths at the edges: from what people write to millimetres.

Inside loopsolver every length is in millimetres; only files and screens know others.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from loopsolver.tolerances import TIDY_DECIMALS

LengthUnit = Literal["mm", "cm", "in"]
"""The units that a scene may be written in."""

MM_PER: Final[dict[LengthUnit, float]] = {"mm": 1.0, "cm": 10.0, "in": 25.4}
"""Millimetres in one of each unit; the inch is exact by definition (ISO 80000-3)."""

WANTED_LENGTH: Final = (
    'a length: a plain number, or a text with its unit such as "12.5 mm", "1.2 cm", '
    '"3.5 in" or "3 1/2 in"'
)
"""What every message about an unreadable length asks for."""

_LONGEST_TEXT: Final = 40

_SPELLINGS: Final[dict[str, LengthUnit]] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres"), "mm"),
    **dict.fromkeys(("cm", "centimetre", "centimetres"), "cm"),
    **dict.fromkeys(("in", "in.", "inch", "inches", '"', "″", "”"), "in"),
}

_ONE_SIGN_FRACTIONS: Final = "¼½¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚"

_TEXT: Final = re.compile(
    r"""
    (?P<sign>[-+]?)\s*
    (?:
        (?:(?P<whole>[0-9]+)(?:\s+|-))?   # 3 1/2 and 3-1/2
        (?P<above>[0-9]+)\s*/\s*(?P<below>[0-9]+)
      | (?P<decimal>[0-9]+\.?[0-9]*|\.[0-9]+)
    )
    \s*(?P<unit>[^\s0-9]*)
    """,
    re.VERBOSE,
)


_BARE: Final = re.compile(
    rf"""
    (?<![^\s=\[,{{])                          # after nothing, a blank or an opening
    [-+\N{{MINUS SIGN}}]?
    [0-9.{_ONE_SIGN_FRACTIONS}]
    [0-9./\N{{FRACTION SLASH}}{_ONE_SIGN_FRACTIONS}\s-]*?
    (?:{"|".join(re.escape(word) for word in sorted(_SPELLINGS, reverse=True))})
    (?=[\s,\]}}#]|$)                         # before nothing, a blank or a closing
    """,
    re.VERBOSE | re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BareLength:
    """A length with its unit that stands without quotes in a line of TOML.

    Attributes
    ----------
    text : str
        As it stands there.
    start, end : int
        Where it begins, and where it has ended, counted from 0.
    """

    text: str
    start: int
    end: int

    @property
    def quoted(self) -> str:
        """As it should stand there."""
        return f'"{re.sub(r""" *["″”]$""", " in", self.text)}"'


def bare_lengths(line: str) -> Iterator[BareLength]:
    """Yield every length with its unit that stands without quotes in a line of TOML.

    Examples
    --------
    >>> [one.quoted for one in bare_lengths('box = [60mm, "3 in", 3 1/2 in, 4"]')]
    ['"60mm"', '"3 1/2 in"', '"4 in"']
    """
    for match in _BARE.finditer(line):
        try:
            _text_mm(match[0])
        except LengthError:
            continue
        yield BareLength(text=match[0], start=match.start(), end=match.end())


class LengthError(ValueError):
    """Something that is no length: `trouble` says why, the text also what is wanted."""

    def __init__(self, trouble: str) -> None:
        super().__init__(f"{trouble}; wanted {WANTED_LENGTH}")
        self.trouble = trouble


def length_mm(value: object, *, unit: LengthUnit) -> float:
    """Return a length as millimetres.

    Parameters
    ----------
    value : number or str
        A plain number in `unit`, or a text that carries its own unit:
        ``12 mm``, ``1.5cm``, ``3.5 in``, ``3 1/2 in``, ``3-1/2 in``, ``1/4 in``,
        ``4"``, ``3½ in``. May be negative.
    unit : LengthUnit
        Unit of plain numbers.

    Raises
    ------
    LengthError
        A ValueError, if it is no finite length; its text says what is the matter and
        what is wanted.

    Examples
    --------
    >>> length_mm(3.5, unit="in")
    88.9
    >>> length_mm("3 1/2 in", unit="mm")
    88.9
    >>> length_mm('4"', unit="cm")
    101.6
    """
    if isinstance(value, str):
        return _text_mm(value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        msg = "not a length"
        raise LengthError(msg)
    try:
        number = float(value) * MM_PER[unit]
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        msg = "not a finite number"
        raise LengthError(msg)
    return _tidy(number)


def unit_of(text: str) -> LengthUnit | None:
    """Return the unit that a length's text carries; None where it is no length with one.

    >>> unit_of('3 1/2"'), unit_of("14"), unit_of("acrylic")
    ('in', None, None)
    """
    match = _TEXT.fullmatch(_plain(text))
    return None if match is None else _SPELLINGS.get(match["unit"].lower())


def _text_mm(text: str) -> float:
    """Return the millimetres of a length written as text."""
    plain = _plain(text)
    if len(plain) > _LONGEST_TEXT:
        msg = f"longer than {_LONGEST_TEXT} characters"
        raise LengthError(msg)
    match = _TEXT.fullmatch(plain)
    if match is None:
        raise LengthError(_hint(plain))
    named = match["unit"].lower()
    if named not in _SPELLINGS:
        msg = (
            f"the unit {match['unit']!r} is not known"
            if named
            else "a text without a unit"
        )
        raise LengthError(msg)
    per = MM_PER[_SPELLINGS[named]]
    number = float(_amount(match)) * per
    return _tidy(-number if match["sign"] == "-" else number)


def _plain(text: str) -> str:
    """Return the text with one kind of minus, fraction and space."""
    for sign in _ONE_SIGN_FRACTIONS:
        text = text.replace(sign, f" {unicodedata.normalize('NFKC', sign)}")
    text = text.replace("\N{MINUS SIGN}", "-").replace("\N{FRACTION SLASH}", "/")
    return " ".join(text.split())


def _hint(plain: str) -> str:
    """Return what is probably the matter with a text that is no length, or ''."""
    if not plain:
        return "an empty text"
    if re.search(r"[0-9],[0-9]", plain):
        return "a decimal comma in place of a point"
    return "not a number with a unit"


def _amount(match: re.Match[str]) -> Fraction:
    """Return the number that was written, without sign and unit."""
    if match["decimal"] is not None:
        return Fraction(match["decimal"])
    above, below = int(match["above"]), int(match["below"])
    whole = match["whole"]
    if below == 0:
        msg = "a fraction with 0 below its line"
        raise LengthError(msg)
    if whole is not None and above >= below:
        msg = f"{above}/{below} after a whole number is one or more"
        raise LengthError(msg)
    return int(whole or 0) + Fraction(above, below)


def _tidy(number: float) -> float:
    """Return the number without the last bits that a unit's factor leaves behind.

    3.45 * 25.4 is 87.63 on paper and 87.63000000000001 in float64; what is equal on
    paper has to be equal here, or ports in line would not be. Nine decimals of a
    millimetre are far below anything measured.
    """
    return round(number, TIDY_DECIMALS) + 0.0
