"""A table in words and numbers, for whoever prints it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class TextTable:
    """A table to be printed.

    Attributes
    ----------
    headings : sequence of str
    rows : sequence of sequences of str
    words : frozenset of int
        Columns that hold words: set left and wrapped where the line is too narrow. All
        others hold numbers: set right and never cut.
    strong : frozenset of int
        Rows that stand out.
    least_width : int or None
        Of the columns that hold numbers.
    """

    headings: Sequence[str]
    rows: Sequence[Sequence[str]]
    words: frozenset[int] = frozenset()
    strong: frozenset[int] = frozenset()
    least_width: int | None = None
