"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
from pathlib import Path
from typing import Final

from loopsolver.errors import OutputError

_ADVICE: Final = {
    errno.ENOSPC: "make room on the disk, or write to another one",
    errno.EDQUOT: "make room on the disk, or write to another one",
    errno.EFBIG: "write to a disk that takes larger files",
    errno.EROFS: "choose a folder that can be written to",
    errno.EACCES: "choose a folder that can be written to",
    errno.EPERM: "choose a folder that can be written to",
    errno.ENAMETOOLONG: "choose a shorter name",
}


def check_place(path: Path) -> None:
    """Do nothing where a file can stand at `path`; raise where it cannot.

    Asked before long work as well: nobody should wait for a result that has no place.

    Raises
    ------
    OutputError
        If its folder is missing or read-only, or if what stands there is no file.
    """
    target = _target(path)
    reason = _reason_against(target)
    if reason is not None:
        msg = f"{path}: {reason}"
        raise OutputError(msg)


def _reason_against(target: Path) -> str | None:
    """Return why no file can stand there, and what would help; None if one can."""
    if not target.parent.is_dir():
        return f"there is no folder {target.parent}; make it first"
    try:
        kind = target.stat().st_mode
    except FileNotFoundError:
        is_open = os.access(target.parent, os.W_OK | os.X_OK)
        return None if is_open else f"the folder is read-only; {_ADVICE[errno.EACCES]}"
    except OSError as error:
        return _told(error)
    return _reason_to_keep(target, kind)


def _reason_to_keep(target: Path, kind: int) -> str | None:
    """Return why what stands there cannot be replaced; None if it can."""
    if stat.S_ISDIR(kind):
        return "found a folder; wanted the name of a file"
    if not stat.S_ISREG(kind):
        return "found a device or pipe; wanted the name of an ordinary file"
    if not os.access(target, os.W_OK):
        return "the file is read-only; allow writing, or choose another name"
    return None


def _told(error: OSError) -> str:
    """Return what the system said, and what would help."""
    reason = error.strerror or str(error)
    advice = _ADVICE.get(error.errno or 0)
    return reason if advice is None else f"{reason}; {advice}"


def write_whole(path: Path, text: str) -> None:
    """Write a UTF-8 text file, whole or not at all.

    The text goes to a file beside the target first, which then takes its place in one
    step: whoever reads it sees the old text or the new one.

    Raises
    ------
    OutputError
        If it cannot be written; the message says why and what would help.
    """
    check_place(path)
    target = _target(path)
    part = target.with_name(f".loopsolver-{os.getpid()}.part")
    try:
        with part.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, part)
        part.replace(target)
    except OSError as error:
        msg = f"{path}: could not be written, nothing was changed: {_told(error)}"
        raise OutputError(msg) from error
    finally:
        with contextlib.suppress(OSError):
            part.unlink()


def _target(path: Path) -> Path:
    """Return the file itself where `path` is a link to it."""
    return Path(os.path.realpath(path))
