"""What is wrong in a scene, before it is known in which file and line."""

from __future__ import annotations

import datetime as dt
import difflib
import itertools
import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Final

from loopsolver.errors import Fault
from loopsolver.scene.lines import KeyPath, written_path

_LONGEST_SHOWN: Final = 48
_LARGEST_SHOWN: Final = 1e15
_MOST_COMPARED: Final = 1000
_LEAST_LIKENESS: Final = 0.6
"""Of 1: what difflib's own documentation calls a close match."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that is wrong at a key: what stands there and what is wanted.

    The texts complete the sentence "found ..., wanted ..."; `nearest` is the known
    name that is spelled most like the one found.
    """

    path: KeyPath = ()
    found: str
    wanted: str
    nearest: str | None = None

    def below(self, path: KeyPath) -> Finding:
        """Return the finding as seen from the table in which `path` leads to it."""
        return replace(self, path=(*path, *self.path))

    def fault(self, *, file: str, line: int | None, root: str = "") -> Fault:
        """Return what is wrong in a line of a file; `root` names the file as a whole."""
        return Fault(
            file=file,
            line=line,
            key_path=written_path(self.path) or root,
            found=self.found,
            wanted=self.wanted,
            nearest=self.nearest,
        )


def shown(value: Any) -> str:
    """Return a value of a scene file as one would write it, shortened where long."""
    match value:
        case bool():
            text = "true" if value else "false"
        case int() | float():
            text = _shown_number(value)
        case str():
            short = value if len(value) <= _LONGEST_SHOWN else _cut(value)
            text = json.dumps(short, ensure_ascii=False)
        case list():
            text = _shown_list(value)
        case dict():
            text = "a table" if value else "an empty table"
        case dt.date() | dt.time():
            text = f"the date or time {value.isoformat()}"
        case _:
            text = "nothing" if value is None else type(value).__name__
    return text


def nearest_name(name: object, known: Iterable[str]) -> str | None:
    """Return the known name that is spelled most like `name`; None if none is close.

    Capitals and blanks at the ends do not count; of equals, the one known first.
    """
    if not isinstance(name, str) or len(name) > _LONGEST_SHOWN:
        return None
    matcher = difflib.SequenceMatcher(autojunk=False)
    matcher.set_seq2(name.strip().lower())
    best, likeness = None, _LEAST_LIKENESS
    for candidate in itertools.islice(known, _MOST_COMPARED):
        matcher.set_seq1(candidate.lower())
        if matcher.quick_ratio() > likeness and matcher.ratio() > likeness:
            best, likeness = candidate, matcher.ratio()
    return best


def _cut(text: str) -> str:
    return f"{text[: _LONGEST_SHOWN - 3]}..."


def _shown_number(value: float) -> str:
    if isinstance(value, int) and abs(value) > _LARGEST_SHOWN:
        return f"a whole number of about {value.bit_length() * 3 // 10 + 1} digits"
    return str(value)


def _shown_list(value: list[Any]) -> str:
    if not value:
        return "an empty list"
    if any(isinstance(each, dict | list) for each in value):
        return f"a list of {len(value)}"
    text = f"[{', '.join(shown(each) for each in value[:12])}]"
    fits = len(value) <= 12 and len(text) <= 2 * _LONGEST_SHOWN
    return text if fits else f"a list of {len(value)}"
