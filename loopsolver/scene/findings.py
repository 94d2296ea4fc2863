"""What is wrong in a scene, before it is known in which file and line."""

from __future__ import annotations

import datetime as dt
import difflib
import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Final

from loopsolver.scene.lines import KeyPath

_LONGEST_SHOWN: Final = 48
_LARGEST_SHOWN: Final = 1e15


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
    """Return the known name that is spelled most like `name`; None if none is close."""
    names = sorted(set(known))
    if not isinstance(name, str) or len(name) > _LONGEST_SHOWN:
        return None
    lowered = {known_name.lower(): known_name for known_name in reversed(names)}
    close = difflib.get_close_matches(name.strip().lower(), lowered, n=1, cutoff=0.6)
    return lowered[close[0]] if close else None


def listed(names: Iterable[str]) -> str:
    """Return names as a list for reading, at most a dozen of them."""
    every = list(names)
    text = ", ".join(every[:12])
    return f"{text} and {len(every) - 12} more" if len(every) > 12 else text


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
