"""Some files of a folder exchanged for others: all or none, even when it is killed.

New files are first written to a hidden folder inside, then a journal that names what
goes and what comes. The renaming of the journal decides: killed before it, everything
is old and the next command drops the hidden folder; killed after it, the next command
does the rest of what the journal says, and everything is new. Old files leave before
the first new one comes, so the folder never shows both; whoever opens it meanwhile
finds a note that some are missing. After a failure that is no kill all is put back.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final, Literal

from loopsolver.errors import OutputError
from loopsolver.files import told, write_through

HIDDEN: Final = ".loopsolver-sheets"
"""Name of the hidden folder."""

NOTE: Final = "NOT-FINISHED.txt"
"""Name of the note that lies in the folder while files move."""

_NOTE_TEXT: Final = b"""\
Sheets in this folder are being exchanged for new ones. If this note stays, loopsolver
was stopped in between and some are missing: print nothing from here. The next
`loopsolver sheets` that writes to this folder finishes the exchange.
"""
_JOURNAL: Final = "journal.json"
_INSIDE: Final = re.compile(r"[0-9]+\.(old|new)|journal\.(part|json)|note")
"""Names of the files that a hidden folder may hold."""

_NAME: Final = re.compile(r"[^./\\\x00-\x1f\x7f][^/\\\x00-\x1f\x7f]*")
_SHA256: Final = re.compile(r"[0-9a-f]{64}")


_Journal = Mapping[Literal["gone", "fresh"], Mapping[str, str]]
"""What goes and what comes: names with the SHA-256 of what they hold."""


def sha256(data: bytes) -> str:
    """Return the SHA-256 of some bytes, as hex digits."""
    return hashlib.sha256(data).hexdigest()


def sha256_of_file(path: Path) -> str | None:
    """Return the SHA-256 of what a file holds; None if it is none or cannot be read."""
    try:
        return sha256(path.read_bytes()) if path.is_file() else None
    except OSError:
        return None


def is_table_of_sums(value: Any) -> bool:
    """Return whether a JSON value is a table from plain file names to SHA-256."""
    return isinstance(value, dict) and all(
        _NAME.fullmatch(name)
        and isinstance(found, str)
        and _SHA256.fullmatch(found) is not None
        for name, found in value.items()
    )


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Keep other commands from writing to a folder meanwhile.

    The lock is the system's own, on the folder itself, and ends with the process; where
    the system or the disk knows none, nothing is kept.

    Raises
    ------
    OutputError
        If another command is writing there.
    """
    descriptor = _locked(folder)
    try:
        yield
    finally:
        if descriptor is not None:
            os.close(descriptor)


def mend(folder: Path) -> None:
    """Finish or drop the exchange of a command that was killed; to be `locked`.

    Raises
    ------
    OutputError
        If the system does not let it, if the hidden folder is not as loopsolver left
        it, or if a file of somebody else stands where a new one is to go.
    """
    hidden = folder / HIDDEN
    if not os.path.lexists(hidden):
        return
    if hidden.is_symlink() or not hidden.is_dir():
        raise _strange(hidden)
    try:
        if (hidden / _JOURNAL).exists():
            _do(folder, _read(hidden))
        _drop(hidden)
    except OSError as error:
        msg = (
            f"{hidden}: what a command that was stopped has left there could not be "
            f"put in order: {told(error)}"
        )
        raise OutputError(msg) from error


def exchange(
    folder: Path, *, gone: Mapping[str, str], fresh: Mapping[str, bytes]
) -> None:
    """Take some files out of a folder and put others in; to be `locked` and mended.

    Parameters
    ----------
    gone : mapping of name to SHA-256
        What is taken out; what no longer has this sum stays.
    fresh : mapping of name to content
        What is put in.

    Raises
    ------
    OSError
        If the system does not let it; nothing is changed then.
    OutputError
        If a file of somebody else stands where a new one is to go, and nothing is
        changed; or if what was changed could not be put back.
    """
    sums = {name: sha256(content) for name, content in fresh.items()}
    same = {name for name in fresh if gone.get(name) == sums[name]}
    journal: _Journal = {
        "gone": {name: found for name, found in gone.items() if name not in same},
        "fresh": {name: found for name, found in sums.items() if name not in same},
    }
    hidden = folder / HIDDEN
    hidden.mkdir()
    try:
        for place, name in enumerate(journal["fresh"]):
            write_through(hidden / f"{place}.new", fresh[name])
        write_through(hidden / "note", _NOTE_TEXT)
        part = hidden / "journal.part"
        write_through(part, json.dumps(journal).encode())
        part.replace(hidden / _JOURNAL)
        _sync(hidden)
        _do(folder, journal)
    except BaseException:
        if (hidden / _JOURNAL).exists():
            _put_back(folder, journal)
        raise
    finally:
        with contextlib.suppress(OSError, OutputError):
            _drop(hidden)


def _locked(folder: Path) -> int | None:
    """Return what holds the lock on a folder until it is closed; None without locks."""
    try:
        import fcntl

        descriptor = os.open(folder, os.O_RDONLY)
    except (ImportError, OSError):
        return None
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(descriptor)
        msg = (
            f"{folder}: another loopsolver is writing to this folder; run the command "
            "again when it is done"
        )
        raise OutputError(msg) from None
    except OSError:  # a disk that knows no locks
        os.close(descriptor)
        return None
    return descriptor


def _do(folder: Path, journal: _Journal) -> None:
    """Make the moves that are left; then remove the journal, and the exchange is over."""
    for source, target in _moves(folder, journal):
        source.replace(target)
    _sync(folder)
    (folder / HIDDEN / _JOURNAL).unlink()


def _moves(folder: Path, journal: _Journal) -> Iterator[tuple[Path, Path]]:
    """Yield the moves that are left, each once those before it are made.

    What lies in the hidden folder tells how far it has come, after a kill as well.
    """
    hidden = folder / HIDDEN
    note, shown = hidden / "note", folder / NOTE
    if note.exists() and not os.path.lexists(shown):
        yield note, shown
    for place, (name, found) in enumerate(journal["gone"].items()):
        away = hidden / f"{place}.old"
        if not away.exists() and sha256_of_file(folder / name) == found:
            yield folder / name, away
    for place, name in enumerate(journal["fresh"]):
        waiting = hidden / f"{place}.new"
        if waiting.exists():
            if os.path.lexists(folder / name):
                msg = (
                    f"{folder / name}: was put there or changed while sheets were "
                    "being exchanged; move it away and run the command again"
                )
                raise OutputError(msg)
            yield waiting, folder / name
    if not note.exists() and sha256_of_file(shown) == sha256(_NOTE_TEXT):
        yield shown, note


def _put_back(folder: Path, journal: _Journal) -> None:
    """Undo all moves that were made, then remove the journal.

    Raises
    ------
    OutputError
        If the system does not let it; the journal stays for the next command.
    """
    hidden = folder / HIDDEN
    try:
        for place, (name, found) in enumerate(journal["fresh"].items()):
            waiting = hidden / f"{place}.new"
            if not waiting.exists() and sha256_of_file(folder / name) == found:
                (folder / name).replace(waiting)
        for place, name in enumerate(journal["gone"]):
            away = hidden / f"{place}.old"
            if away.exists():
                away.replace(folder / name)
        if not (hidden / "note").exists():
            (folder / NOTE).replace(hidden / "note")
        (hidden / _JOURNAL).unlink()
    except OSError as error:
        msg = (
            f"{folder}: some sheets are missing, since they could neither be exchanged "
            f"nor put back: {told(error)}. The next `loopsolver sheets` that writes to "
            "this folder finishes it"
        )
        raise OutputError(msg) from error


def _read(hidden: Path) -> _Journal:
    """Return the journal in a hidden folder.

    Raises
    ------
    OutputError
        If it is not as it was written.
    """
    try:
        found = json.loads((hidden / _JOURNAL).read_bytes())
    except (ValueError, RecursionError):
        raise _strange(hidden) from None
    if (
        not isinstance(found, dict)
        or set(found) != {"gone", "fresh"}
        or not all(is_table_of_sums(table) for table in found.values())
    ):
        raise _strange(hidden)
    return {"gone": found["gone"], "fresh": found["fresh"]}


def _strange(hidden: Path) -> OutputError:
    msg = (
        f"{hidden}: is not as loopsolver leaves it; look at what is in it, move it away "
        "and run the command again"
    )
    return OutputError(msg)


def _drop(hidden: Path) -> None:
    """Remove a hidden folder that has no journal, but nothing that is not ours."""
    if (hidden / _JOURNAL).exists():
        return
    paths = list(hidden.iterdir())
    if not all(_INSIDE.fullmatch(path.name) for path in paths):
        raise _strange(hidden)
    for path in paths:
        path.unlink()
    hidden.rmdir()


def _sync(folder: Path) -> None:
    """Have the system write down which files a folder holds, where it can."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
