"""A folder of sheets: written whole or not at all, nothing foreign overwritten.

Beside the sheets lies a list of what was written, each file with its hash and that of
the plan it was drawn from. A file that is not on the list, or is no longer as it was
written, is somebody else's.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from loopsolver.errors import OutputError

LIST_NAME: Final = "loopsolver-sheets.json"
"""Name of the list of what was written."""

_ADVICE: Final = {
    errno.ENOSPC: "make room on the disk, or write to another one",
    errno.EDQUOT: "make room on the disk, or write to another one",
    errno.EFBIG: "write to a disk that takes larger files",
    errno.EROFS: "choose a folder that can be written to",
    errno.EACCES: "choose a folder that can be written to",
    errno.EPERM: "choose a folder that can be written to",
    errno.ENAMETOOLONG: "choose shorter names",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What the list says of one file."""

    sha256: str
    plan_sha256: str


def write_folder(
    folder: Path, files: Mapping[str, bytes], *, plan_sha256: str, force: bool = False
) -> tuple[str, ...]:
    """Write files to a folder, all of them or none.

    The folder is made if only itself is missing. Everything is written to a hidden
    folder inside it first and moved from there, so that a full disk changes nothing.

    Parameters
    ----------
    files : mapping of name to content
    plan_sha256 : str
        Of the plan that the files are drawn from.
    force : bool
        Whether files that loopsolver did not write may be overwritten.

    Returns
    -------
    tuple of str
        Names of sheets of another plan that still lie there.

    Raises
    ------
    OutputError
        If the folder cannot be written to, or foreign files are in the way.
    """
    had_folder = folder.exists()
    before = _checked(folder, files, force=force)
    try:
        _make(folder)
        _write_all(folder, files, before, plan_sha256=plan_sha256)
    except OSError as error:
        if not had_folder:
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise OutputError(_trouble(folder, error)) from error
    return tuple(
        name
        for name, written in sorted(before.items())
        if name not in files
        and written.plan_sha256 != plan_sha256
        and (folder / name).exists()
    )


def check_folder(folder: Path) -> None:
    """Do nothing where sheets can be written; asked before any work is done.

    Raises
    ------
    OutputError
        If there can be no such folder, or it cannot be written to.
    """
    if not folder.exists():
        if not folder.parent.is_dir():
            msg = f"{folder}: there is no folder {folder.parent}; make it first"
            raise OutputError(msg)
        place = folder.parent
    elif not folder.is_dir():
        msg = f"{folder}: found a file; wanted a folder"
        raise OutputError(msg)
    else:
        place = folder
    if not os.access(place, os.W_OK | os.X_OK):
        msg = f"{folder}: {place} is read-only; {_ADVICE[errno.EACCES]}"
        raise OutputError(msg)


def _checked(
    folder: Path, files: Mapping[str, bytes], *, force: bool
) -> dict[str, Written]:
    """Return what the list says, once it is clear that the files may be written."""
    check_folder(folder)
    before = _listed(folder)
    blocked = [name for name in files if (folder / name).is_dir()]
    if blocked:
        msg = f"{folder / blocked[0]}: found a folder where a file is to be written"
        raise OutputError(msg)
    foreign = [
        name
        for name, content in files.items()
        if _is_foreign(folder / name, content, before)
    ]
    if foreign and not force:
        names = ", ".join(foreign[:5]) + (", ..." if len(foreign) > 5 else "")
        msg = (
            f"{folder}: {names} stand there already and are not as loopsolver wrote "
            "them; choose another folder with -o, or overwrite them with --force"
        )
        raise OutputError(msg)
    return before


def _is_foreign(path: Path, content: bytes, before: Mapping[str, Written]) -> bool:
    """Return whether a file is there that is neither ours nor equal to the new one."""
    if not path.exists() and not path.is_symlink():
        return False
    try:
        found = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return True
    ours = before.get(path.name)
    known = {hashlib.sha256(content).hexdigest(), ours.sha256 if ours else ""}
    return found not in known


def _listed(folder: Path) -> dict[str, Written]:
    """Return what was written to a folder before, empty where nothing says."""
    try:
        document = json.loads((folder / LIST_NAME).read_text(encoding="utf-8"))
        return {
            str(name): Written(
                sha256=str(entry["sha256"]), plan_sha256=str(entry["plan_sha256"])
            )
            for name, entry in document["files"].items()
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _make(folder: Path) -> None:
    """Make the folder if it is missing."""
    if not folder.exists():
        folder.mkdir()


@contextmanager
def _hidden(folder: Path) -> Iterator[Path]:
    """Give a hidden folder inside a folder, gone afterwards whatever happens."""
    hidden = Path(tempfile.mkdtemp(prefix=".loopsolver-", dir=folder))
    try:
        yield hidden
    finally:
        shutil.rmtree(hidden, ignore_errors=True)


def _write_all(
    folder: Path,
    files: Mapping[str, bytes],
    before: Mapping[str, Written],
    *,
    plan_sha256: str,
) -> None:
    """Write all files beside their places, then move them there, the list last."""
    now = {
        name: Written(
            sha256=hashlib.sha256(content).hexdigest(), plan_sha256=plan_sha256
        )
        for name, content in files.items()
    }
    listed = _list_text({**before, **now}).encode()
    with _hidden(folder) as hidden:
        for name, content in {**files, LIST_NAME: listed}.items():
            with (hidden / name).open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        for name in (*files, LIST_NAME):
            (hidden / name).replace(folder / name)


def _list_text(files: Mapping[str, Written]) -> str:
    """Return the text of the list."""
    document: dict[str, Any] = {
        "format": 1,
        "files": {
            name: {"sha256": one.sha256, "plan_sha256": one.plan_sha256}
            for name, one in sorted(files.items())
        },
    }
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _trouble(folder: Path, error: OSError) -> str:
    """Return what went wrong and what would help."""
    reason = error.strerror or str(error)
    msg = f"{folder}: the sheets could not be written, nothing was changed: {reason}"
    advice = _ADVICE.get(error.errno or 0)
    return msg if advice is None else f"{msg}; {advice}"
