"""Files at the edges: written whole or not at all, and named as a shell takes them."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import shutil
import stat
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from loopsolver.errors import OutputError
from loopsolver.letters import shell_word

_ADVICE: Final = {
    errno.ENOSPC: "make room on the disk, or write to another one",
    errno.EDQUOT: "make room on the disk, or write to another one",
    errno.EFBIG: "write to a disk that takes larger files",
    errno.EROFS: "choose a folder that can be written to",
    errno.EACCES: "choose a folder that can be written to",
    errno.EPERM: "choose a folder that can be written to",
    errno.ENAMETOOLONG: "choose a shorter name",
}

READ_ONLY: Final = f"the folder is read-only; {_ADVICE[errno.EACCES]}"

_PART: Final = re.compile(r"\.loopsolver-([1-9][0-9]{0,8})\.part")
"""Name of a file that is being written, with the number of the process."""


def told(error: OSError) -> str:
    """Return what the system said, and what would help."""
    reason = error.strerror or str(error)
    advice = _ADVICE.get(error.errno or 0)
    return reason if advice is None else f"{reason}; {advice}"


def is_open_folder(folder: Path) -> bool:
    """Return whether files can be made in a folder."""
    return os.access(folder, os.W_OK | os.X_OK)


def check_place(path: Path) -> None:
    """Do nothing where a file can stand at `path`; raise where it cannot.

    Asked before long work as well: nobody should wait for a result that has no place.

    Raises
    ------
    OutputError
        If its folder is missing or read-only, or if what stands there is no file.
    """
    reason = _reason_against(_target(path))
    if reason is not None:
        msg = f"{path}: {reason}"
        raise OutputError(msg)


def check_not_read(path: Path, read: Iterable[Path]) -> None:
    """Raise where `path` is one of the files that are read, by whatever name.

    Links, other spellings of a path and of its letters all lead to the same file, so
    the files themselves are compared. No ``force`` allows it: what is read is lost.

    Raises
    ------
    OutputError
        If it is one of them.
    """
    for one in read:
        if _is_same(path, one):
            alias = "" if str(one) == str(path) else f" ({one})"
            msg = (
                f"{path}: this is the file that is read{alias} and would be lost, "
                "--force or not; choose another name for what is written"
            )
            raise OutputError(msg)


def check_free(path: Path, *, force: bool) -> None:
    """Raise where no new file can stand at `path`, or one does and is not to be lost.

    Raises
    ------
    OutputError
        As `check_place` does, or if a file stands there and nobody said `force`.
    """
    check_place(path)
    if path.is_file() and not force:
        msg = (
            f"{path}: stands there already; choose another name, or overwrite it "
            "with --force"
        )
        raise OutputError(msg)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file, whole or not at all.

    The data go to a file beside the target first, which then takes its place in one
    step: whoever reads it sees the old file or the new one. What commands that were
    killed left there is swept away.

    Raises
    ------
    OutputError
        If it cannot be written; the message says why and what would help.
    """
    check_place(path)
    target = _target(path)
    sweep(target.parent)
    part = target.with_name(f".loopsolver-{os.getpid()}.part")
    try:
        write_through(part, data)
        if target.exists():
            shutil.copymode(target, part)
        part.replace(target)
    except OSError as error:
        msg = f"{path}: could not be written, nothing was changed: {told(error)}"
        raise OutputError(msg) from error
    finally:
        with contextlib.suppress(OSError):
            part.unlink()


def write_over(path: Path, data: bytes, *, read: bytes) -> None:
    """Write a file anew that was read and changed, whole or not at all.

    Raises
    ------
    OutputError
        If it does not hold what was `read` any more, or as `write_whole` does.
    """
    try:
        is_same = path.read_bytes() == read
    except OSError:
        is_same = False
    if not is_same:
        msg = (
            f"{path}: has changed since it was read, so nothing was written; run the "
            "command again"
        )
        raise OutputError(msg)
    write_whole(path, data)


def sealed(data: bytes, *, ending: str) -> bytes:
    """Return a file's bytes with our mark and their own sum.

    It stands at the end, as a comment, where `ending` is one of `SEALS`; in other files
    it takes the place that they keep for it, `SUM_PLACE` after our name.
    """
    if ending not in SEALS:
        return data.replace(SUM_PLACE, _sum(data).encode(), 1)
    before, after = SEALS[ending]
    return data + _seal(data, before, after)


def is_sealed(path: Path, *, ending: str) -> bool:
    """Return whether a file is as loopsolver wrote it, unchanged since."""
    try:
        data = path.read_bytes()
    except OSError:
        return False
    if ending not in SEALS:
        held = _SUM_INSIDE.search(data)
        return held is not None and data == sealed(
            data[: held.start(1)] + SUM_PLACE + data[held.end(1) :], ending=ending
        )
    before, after = SEALS[ending]
    own = data.rfind(before.encode())
    return own >= 0 and data[own:] == _seal(data[:own], before, after)


def _seal(data: bytes, before: str, after: str) -> bytes:
    return f"{before}{_sum(data)}{after}".encode()


def _sum(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


SUM_PLACE: Final = b"0" * 64
"""What a file without comments holds where its sum will stand, a little after our name."""

_SUM_INSIDE: Final = re.compile(rb"loopsolver[^0-9a-f]{1,8}([0-9a-f]{64})")

SEALS: Final = {
    ".html": ("<!-- loopsolver ", " -->\n"),
    ".svg": ("<!-- loopsolver ", " -->\n"),
    ".pdf": ("% loopsolver ", "\n"),
    ".toml": ("# loopsolver ", "\n"),
}
"""By a file's ending, how a comment begins and ends in it."""

DRAWINGS: Final = (".svg", ".pdf")
"""How the names of drawings end."""


def check_own(path: Path, *, ending: str, read: Iterable[Path], force: bool) -> None:
    """Raise where a sealed file must not or cannot be put.

    Raises
    ------
    OutputError
        If no file can stand there, if it is one of those that are read, or if what
        stands there is not as loopsolver wrote it (unless `force`).
    """
    check_place(path)
    check_not_read(path, read)
    if path.exists() and not force and not is_sealed(path, ending=ending):
        msg = (
            f"{path}: stands there already and is not as loopsolver wrote it; give "
            "another name, or --force to write over it"
        )
        raise OutputError(msg)


def check_drawing(path: Path, *, read: Iterable[Path], force: bool) -> None:
    """Raise where a drawing must not or cannot be put.

    Raises
    ------
    OutputError
        If the name has none of the endings of `DRAWINGS`, or as `check_own` does.
    """
    ending = path.suffix.lower()
    if ending not in DRAWINGS:
        msg = (
            f"{path}: found a name that ends in {path.suffix or 'nothing'!r}; wanted "
            f"{' or '.join(DRAWINGS)}"
        )
        raise OutputError(msg)
    check_own(path, ending=ending, read=read, force=force)


def write_drawing(
    path: Path, data: bytes, *, read: Iterable[Path], force: bool
) -> None:
    """Write a drawing with our mark, whole or not at all.

    Raises
    ------
    OutputError
        As `check_drawing` and `write_whole` do.
    """
    check_drawing(path, read=read, force=force)
    write_whole(path, sealed(data, ending=path.suffix.lower()))


def write_through(path: Path, data: bytes) -> None:
    """Write a new file down to the disk itself."""
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def sweep(folder: Path) -> None:
    """Remove the half-written files of processes that are no more."""
    with contextlib.suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            match = _PART.fullmatch(entry.name)
            if match and entry.is_file(follow_symlinks=False) and _is_dead(match[1]):
                Path(entry.path).unlink()


def pasteable(path: Path | str) -> str:
    """Return a file's name as it can be pasted into a command line.

    Examples
    --------
    >>> pasteable("my case.toml"), pasteable("-rf.toml")
    ("'my case.toml'", './-rf.toml')
    """
    text = str(path)
    return shell_word(f"./{text}" if text.startswith("-") else text)


def _reason_against(target: Path) -> str | None:
    """Return why no file can stand there, and what would help; None if one can."""
    if not target.parent.is_dir():
        return f"there is no folder {target.parent}; make it first"
    try:
        kind = target.stat().st_mode
    except FileNotFoundError:
        return None if is_open_folder(target.parent) else READ_ONLY
    except OSError as error:
        return told(error)
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


def _target(path: Path) -> Path:
    """Return the file itself where `path` is a link to it."""
    return Path(os.path.realpath(path))


def _is_same(path: Path, other: Path) -> bool:
    """Return whether both names lead to one file that is there."""
    try:
        return path.samefile(other)
    except (OSError, ValueError):
        return False


def _is_dead(number: str) -> bool:
    """Return whether no other process of that number is alive, as far as can be told."""
    process = int(number)
    if process == os.getpid():
        return True
    if os.name == "nt":  # where signal 0 would end the process
        return False
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return True
    except OSError:
        return False
    return False
