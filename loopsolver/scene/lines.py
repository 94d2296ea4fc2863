"""Where in a scene file a key stands: from a key's path to its line.

tomllib gives lines for syntax errors only. This scanner walks a text that tomllib has
already accepted and notes the line of every key and every array element; it reads no
values, and so needs only the bare bones of the grammar (TOML 1.0.0, toml.io).
"""

from __future__ import annotations

import contextlib
import itertools
import json
import re
from collections.abc import Iterator, Mapping
from typing import Final

KeyPath = tuple[str | int, ...]
"""Keys by name and array elements by index from 0, as in the parsed data."""

_DEEPEST: Final = 12
"""Levels that are noted; a scene has eight at most, longer paths are wrong anyway."""

_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_SPACE: Final = re.compile(r"[ \t]*")
_BLANK: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_QUOTED: Final = r"""(?:"(?:[^"\\\n]|\\.)*"(?!")|'[^'\n]*'(?!'))"""
_KEY: Final = re.compile(rf"{_BARE_KEY.pattern}|{_QUOTED}")
_PLAIN_VALUE: Final = re.compile(
    r'''"""(?:[^\\]|\\[\s\S])*?"{3,5}(?!")|'''
    r"""'''[\s\S]*?'{3,5}(?!')|"""
    rf"""{_QUOTED}|[^"',\]}}#\r\n][^,\]}}#\r\n]*"""
)


def written_path(path: KeyPath) -> str:
    """Return a key's path as one would write it, array elements counted from 1.

    Examples
    --------
    >>> written_path(("runs", 1, "from"))
    'runs[2].from'
    >>> written_path(("components", "top tank", "position", 0))
    'components."top tank".position[1]'
    """
    parts: list[str] = []
    for key in path:
        if isinstance(key, int):
            parts.append(f"[{key + 1}]")
            continue
        plain = _BARE_KEY.fullmatch(key) is not None
        name = key if plain else json.dumps(key, ensure_ascii=False)
        parts.append(f".{name}" if parts else name)
    return "".join(parts)


def key_lines(text: str) -> dict[KeyPath, int]:
    """Return the line of every key, table and array element, counted from 1.

    Parameters
    ----------
    text : str
        TOML that tomllib accepts. Of a text that it does not accept, the lines up to
        the first thing that cannot be followed are returned.
    """
    scanner = _Scanner(text)
    with contextlib.suppress(_LostError, RecursionError):
        scanner.document()
    return scanner.lines


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int | None:
    """Return the line of a key; of the nearest table round it where it is missing."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return None


class _LostError(Exception):
    """The scanner cannot follow the text any further."""


class _Scanner:
    """Walks a TOML text once; `lines` is what it found."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.counted_to = 0
        self.lines: dict[KeyPath, int] = {}
        self.array_lengths: dict[KeyPath, int] = {}

    def document(self) -> None:
        """Note every line of the text."""
        table: KeyPath = ()
        self._match(_BLANK)
        while self.at < len(self.text):
            if self._take("[["):
                table = self._next_element(self._keys())
                self._expect("]]")
            elif self._take("["):
                table = self._resolved(self._keys())
                self._note(table)
                self._expect("]")
            else:
                self._pair(table)
            self._match(_BLANK)

    def _pair(self, table: KeyPath) -> None:
        """Note ``key = value``."""
        start = self._line_here()
        path = (*table, *self._keys())
        self._note(path, line=start)
        self._expect("=")
        self._match(_SPACE)
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        """Walk over one value, noting what is inside it."""
        if self._take("["):
            for index in self._items("]"):
                self._note((*path, index))
                self._value((*path, index))
        elif self._take("{"):
            for _ in self._items("}"):
                self._pair(path)
        else:
            self._match(_PLAIN_VALUE)

    def _items(self, closing: str) -> Iterator[int]:
        """Yield the places of what stands between brackets, to be walked over."""
        for index in itertools.count():
            self._match(_BLANK)
            if self._take(closing):
                return
            yield index
            self._match(_BLANK)
            if not self._take(","):
                self._expect(closing)
                return

    def _keys(self) -> KeyPath:
        """Return a dotted key as a path."""
        keys: list[str] = []
        while not keys or self._take("."):
            self._match(_SPACE)
            key = self._match(_KEY)
            keys.append(_unescaped(key) if key.startswith('"') else key.strip("'"))
            self._match(_SPACE)
        return tuple(keys)

    def _resolved(self, keys: KeyPath) -> KeyPath:
        """Return a header's path with the newest element of every array it passes."""
        path: KeyPath = ()
        for key in keys:
            path = (*path, key)
            if path in self.array_lengths:
                path = (*path, self.array_lengths[path] - 1)
        return path

    def _next_element(self, keys: KeyPath) -> KeyPath:
        """Return the path of the element that an ``[[header]]`` opens, noted."""
        array = (*self._resolved(keys[:-1]), keys[-1])
        index = self.array_lengths.get(array, 0)
        self.array_lengths[array] = index + 1
        if index == 0:
            self._note(array)
        self._note((*array, index))
        return (*array, index)

    def _note(self, path: KeyPath, *, line: int | None = None) -> None:
        """Note a key's line, and that of tables which it opens in passing."""
        here = self._line_here() if line is None else line
        for length in range(1, min(len(path), _DEEPEST)):
            self.lines.setdefault(path[:length], here)
        if len(path) <= _DEEPEST:
            self.lines[path] = here

    def _line_here(self) -> int:
        self.line += self.text.count("\n", self.counted_to, self.at)
        self.counted_to = self.at
        return self.line

    def _match(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            raise _LostError
        self.at = match.end()
        return match[0]

    def _take(self, sign: str) -> bool:
        if not self.text.startswith(sign, self.at):
            return False
        self.at += len(sign)
        return True

    def _expect(self, sign: str) -> None:
        if not self._take(sign):
            raise _LostError


def _unescaped(quoted: str) -> str:
    """Return what a basic string says; a TOML key is near enough to a JSON string."""
    long_escape = re.sub(
        r"\\U([0-9A-Fa-f]{8})", lambda found: chr(int(found[1], 16)), quoted
    )
    try:
        return str(json.loads(long_escape, strict=False))
    except ValueError:
        return quoted[1:-1]
