"""A scene file's bytes, text and TOML, or in plain words why there are none."""

from __future__ import annotations

import hashlib
import re
import stat
from pathlib import Path
from typing import Any, Final

from loopsolver.errors import Fault, SceneError
from loopsolver.scene import limits
from loopsolver.units import bare_lengths
from loopsolver.words import in_commas

_WANTED_FILE: Final = "a scene file: TOML text in UTF-8"

_MOST_DOTS: Final = 200
"""Dots in one line outside comments; a line of readings has a few dozen."""

_WANTED_BY_MESSAGE: Final = {
    "Invalid value": 'a number, a text in "quotes" or a list in [brackets]',
    "Cannot overwrite a value": "every key once",
    "Cannot mutate immutable": "every key once",
    "Cannot declare": "every table once (several of a kind in [[double brackets]])",
    "Expected '=' after a key": "key = value",
    "Expected newline or end of document": "one key = value on a line",
    "Invalid statement": "key = value, or a [table] header",
    "Unclosed array": "a closing ] for every [",
    "Unclosed inline table": "a closing } for every {",
    "Unterminated string": "a closing quote for every opening one",
    "Illegal character": "a text that closes its quote on the same line",
    "Expected ']'": "a closing ] for every [",
}
"""What is wanted, by how Python's message about a TOML error begins."""


def read_source(path: Path, *, file: str) -> tuple[str, str]:
    """Return a scene file's text and the hash of its bytes; `file` is as messages name it.

    Raises
    ------
    SceneError
        If it is missing, no file, empty, too large, binary or not UTF-8. A file that
        is too large is refused before it is read.
    """
    data = _bytes(path, file=file)
    if not data.strip():
        raise _file_error(file, "an empty file", _WANTED_FILE)
    if b"\0" in data:
        raise _file_error(
            file, "a binary file, or text that is not UTF-8", _WANTED_FILE
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"a byte that is not UTF-8 (0x{data[error.start]:02x})"
        raise _file_error(file, found, _WANTED_FILE, line=line) from None
    return text, hashlib.sha256(data).hexdigest()


def parse_toml(text: str, *, file: str) -> dict[str, Any]:
    """Return the data in a TOML text.

    Raises
    ------
    SceneError
        If it is no TOML; the message names the line.
    """
    import tomllib

    for number, line in enumerate(text.split("\n"), start=1):
        # keys of very many parts, for which tomllib needs the square of memory
        if line.partition("#")[0].count(".") > _MOST_DOTS:
            found = f"a line with more than {_MOST_DOTS} dots"
            raise _file_error(file, found, "shorter keys", line=number)
    try:
        return tomllib.loads(text)
    except RecursionError:
        found, wanted = "brackets nested too deeply", "lists of lists at most"
        raise _file_error(file, found, wanted) from None
    except tomllib.TOMLDecodeError as error:
        raise _syntax_error(str(error), text, file=file) from None
    except ValueError:
        found, wanted = "a number with too many digits", "numbers that fit a case"
        raise _file_error(file, found, wanted) from None


def _bytes(path: Path, *, file: str) -> bytes:
    """Return a file's bytes; never more of it than a scene may have is read."""
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise _file_error(file, "a folder", _WANTED_FILE)
        if not stat.S_ISREG(status.st_mode):
            raise _file_error(file, "a device or pipe", _WANTED_FILE)
        if status.st_size > limits.FILE_BYTES:
            raise _too_large(file, status.st_size)
        with path.open("rb") as stream:
            data = stream.read(limits.FILE_BYTES + 1)
    except FileNotFoundError:
        raise _file_error(file, "no such file", _WANTED_FILE) from None
    except PermissionError:
        raise _file_error(file, "no permission to read it", _WANTED_FILE) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        found = f"a path that cannot be read ({reason})"
        raise _file_error(file, found, _WANTED_FILE) from None
    if len(data) > limits.FILE_BYTES:  # it has grown in between
        raise _too_large(file, len(data))
    return data


def _too_large(file: str, size: int) -> SceneError:
    found = f"a file of {size / 1e6:.1f} MB"
    wanted = f"{_WANTED_FILE}, at most {limits.FILE_BYTES / 1e6:g} MB"
    return _file_error(file, found, wanted)


def _file_error(
    file: str, found: str, wanted: str, *, line: int | None = None
) -> SceneError:
    fault = Fault(file=file, line=line, key_path="", found=found, wanted=wanted)
    return SceneError((fault,))


def _syntax_error(message: str, text: str, *, file: str) -> SceneError:
    """Return Python's TOML message as an error with its line."""
    place = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    bare = message if place is None else message[: place.start()]
    bare = re.sub(r"\(('[^()]*)\)", _dotted, bare)
    line = text.rstrip().count("\n") + 1
    column = ""
    if place is not None and place[1] is not None:
        line, column = int(place[1]), f", column {place[2]}"
        lengths = _bare_lengths_at(text, line, int(place[2]))
        if lengths is not None and not bare.startswith("Expected '='"):
            return _file_error(file, *lengths, line=line)
    wanted = next(
        (said for start, said in _WANTED_BY_MESSAGE.items() if bare.startswith(start)),
        "TOML 1.0 (toml.io)",
    )
    found = f"a TOML syntax error{column} ({bare[:1].lower()}{bare[1:]})"
    return _file_error(file, found, wanted, line=line)


def _bare_lengths_at(text: str, line: int, column: int) -> tuple[str, str] | None:
    """Return lengths that lack their quotes and how to write them, if TOML stops there."""
    written = text.split("\n")[line - 1].partition("#")[0]
    lengths = [one for one in bare_lengths(written) if one.end >= column - 1]
    if not lengths or lengths[0].start >= column:
        return None
    texts, quoted = [one.text for one in lengths], [one.quoted for one in lengths]
    kind = "a length with its unit" if len(texts) == 1 else "lengths with their units"
    found = f"{in_commas(texts)}: {kind} but without quotes"
    wanted = f"{in_commas(quoted)}, or a plain number in the scene's unit"
    return found, wanted


def _dotted(keys: re.Match[str]) -> str:
    """Return Python's tuple of keys as one would write it."""
    return ".".join(re.findall(r"'([^']*)'", keys[1]))
