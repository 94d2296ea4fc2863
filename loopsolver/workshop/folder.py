"""A folder of sheets: sets of files, each exchanged wholly or not at all.

A set is what is drawn of one run, or of all runs together; plain and mirrored sheets
of a run take each other's place. Beside the sheets lies a list of what was written,
each file with its hash and that of the plan it was drawn from. A file that is not on
the list, or is no longer as it was written, is somebody else's and stays.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from loopsolver.errors import OutputError
from loopsolver.files import READ_ONLY, check_not_read, is_open_folder, told
from loopsolver.workshop.exchange import (
    HIDDEN,
    exchange,
    is_table_of_sums,
    locked,
    mend,
    sha256,
    sha256_of_file,
)

LIST_NAME: Final = "loopsolver-sheets.json"
"""Name of the list of what was written."""


Written = Mapping[str, str]
"""What the list says of one file: its ``sha256``, and ``plan_sha256`` of its plan."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchanged:
    """What else there was when sheets were written.

    Attributes
    ----------
    taken_away : tuple of str
        Names of older sheets of the same sets that have no newer ones of their name.
    stale : tuple of str
        Names of older sheets that still lie there: of another plan, or of the same
        sets but changed since they were written.
    """

    taken_away: tuple[str, ...]
    stale: tuple[str, ...]


def write_folder(
    folder: Path,
    files: Mapping[str, bytes],
    *,
    plan_sha256: str,
    set_of: Callable[[str], str],
    read: Iterable[Path] = (),
    force: bool = False,
) -> Exchanged:
    """Write files to a folder, all of them or none, in place of their older sets.

    The folder is made if only itself is missing.

    Parameters
    ----------
    files : mapping of name to content
    plan_sha256 : str
        Of the plan that the files are drawn from, as hex digits.
    set_of : function
        From a file's name to the name of the set to which it belongs.
    read : iterable of Path
        Files that the plan was read from; none of them is ever written over.
    force : bool
        Whether files that loopsolver did not write may be overwritten.

    Raises
    ------
    OutputError
        If the folder cannot be written to, or foreign files are in the way.
    """
    had_folder = folder.exists()
    check_folder(folder)
    is_done = False
    try:
        if not had_folder:
            folder.mkdir()
        with locked(folder):
            mend(folder)
            for name in (*files, LIST_NAME):
                check_not_read(folder / name, read)
            found = _exchange(
                folder, files, plan_sha256=plan_sha256, set_of=set_of, force=force
            )
        is_done = True
    except OSError as error:
        msg = f"{folder}: the sheets could not be written, nothing was changed: "
        raise OutputError(msg + told(error)) from error
    finally:
        if not had_folder and not is_done:
            with contextlib.suppress(OSError):
                folder.rmdir()
    return found


def check_folder(folder: Path) -> None:
    """Do nothing where sheets can be written; asked before any work is done.

    What a command that was killed has left half exchanged is mended first.

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
    if not is_open_folder(place):
        msg = f"{place}: {READ_ONLY}"
        raise OutputError(msg)
    if (folder / HIDDEN).exists():
        with locked(folder):
            mend(folder)


def _exchange(
    folder: Path,
    files: Mapping[str, bytes],
    *,
    plan_sha256: str,
    set_of: Callable[[str], str],
    force: bool,
) -> Exchanged:
    """Put files in place of their older sets, and say what else there was."""
    new = _listing(files, plan_sha256)
    listed = _listed(folder)
    there = _sums(folder, (*files, LIST_NAME))
    if not force:
        _demand_own(folder, there, listed=listed, new=new)
    sets = {set_of(name) for name in files}
    others = {
        name: one
        for name, one in (listed or {}).items()
        if name not in files and os.path.lexists(folder / name)
    }
    older = {  # as they were written
        name: one["sha256"]
        for name, one in others.items()
        if set_of(name) in sets and sha256_of_file(folder / name) == one["sha256"]
    }
    kept = {name: one for name, one in others.items() if name not in older}
    listing = _listing_text({**kept, **new})
    exchange(
        folder, gone={**older, **there}, fresh={**files, LIST_NAME: listing.encode()}
    )
    return Exchanged(
        taken_away=tuple(sorted(older)),
        stale=tuple(
            name
            for name, one in sorted(kept.items())
            if one["plan_sha256"] != plan_sha256 or set_of(name) in sets
        ),
    )


def _listing(files: Mapping[str, bytes], plan_sha256: str) -> dict[str, dict[str, str]]:
    """Return what the list in the folder holds of new files."""
    return {
        name: {"sha256": sha256(content), "plan_sha256": plan_sha256}
        for name, content in files.items()
    }


def _listing_text(listed: Mapping[str, Mapping[str, str]]) -> str:
    """Return the list that lies in the folder."""
    document = {"format": 1, "files": dict(sorted(listed.items()))}
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _sums(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """Return the SHA-256 of those files that are there.

    Raises
    ------
    OutputError
        If something else stands there, or what cannot be read.
    """
    sums: dict[str, str] = {}
    for name in names:
        found = sha256_of_file(folder / name)
        if found is not None:
            sums[name] = found
        elif os.path.lexists(folder / name):
            msg = (
                f"{folder / name}: found a folder, or what cannot be read, where a "
                "file is to be written; move it away"
            )
            raise OutputError(msg)
    return sums


def _demand_own(
    folder: Path,
    there: Mapping[str, str],
    *,
    listed: Mapping[str, Written] | None,
    new: Mapping[str, Written],
) -> None:
    """Raise where a file would be lost that is neither ours nor equal to its new one.

    Raises
    ------
    OutputError
        With the names of the first few.
    """
    known = {
        (name, one["sha256"]) for name, one in (*(listed or {}).items(), *new.items())
    }
    foreign = [
        name
        for name, found in there.items()
        if (listed is None if name == LIST_NAME else (name, found) not in known)
    ]
    if foreign:
        names = ", ".join(foreign[:5]) + (", ..." if len(foreign) > 5 else "")
        msg = (
            f"{folder}: {names} stand there already and are not as loopsolver wrote "
            "them; choose another folder with -o, or overwrite them with --force"
        )
        raise OutputError(msg)


def _listed(folder: Path) -> dict[str, Written] | None:
    """Return what was written to a folder before; None where no list of ours says it."""
    try:
        document = json.loads((folder / LIST_NAME).read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(document, dict) or set(document) != {"format", "files"}:
        return None
    files = document["files"]
    if document["format"] != 1 or not isinstance(files, dict):
        return None
    columns = (
        {
            name: one.get(key) if isinstance(one, dict) and len(one) == 2 else None
            for name, one in files.items()
        }
        for key in ("sha256", "plan_sha256")
    )
    return files if all(map(is_table_of_sums, columns)) else None
