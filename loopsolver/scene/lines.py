"""Where in a scene file a key stands: from a key's path to its line.

tomllib gives lines for syntax errors only. This scanner walks a text that tomllib has
already accepted and notes the line of every key and every array element; it reads no
values, and so needs only the bare bones of the grammar (TOML 1.0.0, toml.io).
"""

from __future__ import annotations

import contextlib
import json
import re
from collections.abc import Mapping
from typing import Final

KeyPath = tuple[str | int, ...]
"""Keys by name and array elements by index from 0, as in the parsed data."""

_DEEPEST: Final = 12
"""Levels that are noted; a scene has eight at most, longer paths are wrong anyway."""

_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_SPACE: Final = re.compile(r"[ \t]*")
_BLANK: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BASIC: Final = re.compile(r'"(?:[^"\\\n]|\\.)*"')
_LITERAL: Final = re.compile(r"'[^'\n]*'")
_LONG_BASIC: Final = r'''"""(?:[^\\]|\\[\s\S])*?"{3,5}(?!")'''
_LONG_LITERAL: Final = r"""'''[\s\S]*?'{3,5}(?!')"""
_PLAIN_VALUE: Final = re.compile(r"[^,\]}#\r\n]*")


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
        self._skip(_BLANK)
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
            self._skip(_BLANK)

    def _pair(self, table: KeyPath) -> None:
        """Note ``key = value``."""
        start = self._line_here()
        path = (*table, *self._keys())
        self._note(path, line=start)
        self._expect("=")
        self._skip(_SPACE)
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        """Walk over one value, noting what is inside it."""
        if self._take("["):
            self._array(path)
        elif self._take("{"):
            self._inline_table(path)
        elif self.text.startswith(('"', "'"), self.at):
            self._string()
        else:
            self._skip(_PLAIN_VALUE)

    def _array(self, path: KeyPath) -> None:
        index = 0
        while True:
            self._skip(_BLANK)
            if self._take("]"):
                return
            element = (*path, index)
            self._note(element)
            self._value(element)
            index += 1
            self._skip(_BLANK)
            if not self._take(","):
                self._expect("]")
                return

    def _inline_table(self, path: KeyPath) -> None:
        while True:
            self._skip(_BLANK)
            if self._take("}"):
                return
            self._pair(path)
            self._skip(_BLANK)
            if not self._take(","):
                self._expect("}")
                return

    def _keys(self) -> KeyPath:
        """Return a dotted key as a path."""
        keys: list[str] = []
        while True:
            self._skip(_SPACE)
            keys.append(self._key())
            self._skip(_SPACE)
            if not self._take("."):
                return tuple(keys)

    def _key(self) -> str:
        if self.text.startswith("'", self.at):
            return self._match(_LITERAL)[1:-1]
        if self.text.startswith('"', self.at):
            return _unescaped(self._match(_BASIC))
        return self._match(_BARE_KEY)

    def _string(self) -> None:
        for opening, pattern in (
            ('"""', _LONG_BASIC),
            ("'''", _LONG_LITERAL),
            ('"', _BASIC),
            ("'", _LITERAL),
        ):
            if self.text.startswith(opening, self.at):
                self._match(pattern)
                return

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

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        self.at = self.at if match is None else match.end()

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
