"""Files at the edges: what is refused, with which words, and what is left as it was."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from loopsolver import files
from loopsolver.errors import OutputError
from loopsolver.files import (
    check_not_read,
    check_own,
    check_place,
    is_open_folder,
    pasteable,
    sealed,
    sweep,
    told,
    write_whole,
)


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "on the disk; make room on the disk, or write to another one"),
        (errno.EDQUOT, "quota; make room on the disk, or write to another one"),
        (errno.EFBIG, "; write to a disk that takes larger files"),
        (errno.EROFS, "; choose a folder that can be written to"),
        (errno.EACCES, "; choose a folder that can be written to"),
        (errno.EPERM, "; choose a folder that can be written to"),
        (errno.ENAMETOOLONG, "; choose a shorter name"),
    ],
)
def test_what_the_system_says_comes_with_what_would_help(
    number: int, words: str
) -> None:
    said = told(OSError(number, f"{os.strerror(number)} on the disk, quota"))
    assert said.startswith(os.strerror(number))
    assert said.endswith(words.removeprefix("on the disk").removeprefix("quota"))


def test_what_has_no_remedy_is_told_as_it_is() -> None:
    assert told(OSError(errno.EIO, "Input/output error")) == "Input/output error"
    assert told(OSError("no number and no words")) == "no number and no words"


def refusal(path: Path) -> str:
    with pytest.raises(OutputError) as caught:
        check_place(path)
    return str(caught.value)


def test_a_place_is_refused_by_what_stands_there(here: Path) -> None:
    missing = here / "none" / "a.json"
    assert refusal(missing) == (
        f"{missing}: there is no folder {missing.parent}; make it first"
    )
    (here / "sheets").mkdir()
    assert refusal(here / "sheets").endswith(
        "found a folder; wanted the name of a file"
    )
    os.mkfifo(here / "pipe")
    assert refusal(here / "pipe").endswith(
        "found a device or pipe; wanted the name of an ordinary file"
    )
    assert refusal(here / ("x" * 300)).endswith("; choose a shorter name")
    (here / "a.json").touch()
    check_place(here / "a.json")
    check_place(here / "new.json")


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Path, int]]:
    """Let nothing be open, and note what is asked for: root may do all there is."""
    notes: list[tuple[Path, int]] = []

    def closed(path: Path, mode: int) -> bool:
        notes.append((Path(path), mode))
        return False

    monkeypatch.setattr(os, "access", closed)
    return notes


def test_what_is_read_only_is_told(here: Path, asked: list[tuple[Path, int]]) -> None:
    assert not is_open_folder(here)
    told_of_folder = "the folder is read-only; choose a folder that can be written to"
    assert refusal(here / "new.json").endswith(told_of_folder)
    # Files are made where a folder can be written to and be passed (POSIX).
    assert asked == [(here, os.W_OK | os.X_OK)] * 2
    (here / "a.json").touch()
    assert refusal(here / "a.json").endswith(
        "the file is read-only; allow writing, or choose another name"
    )
    assert asked[-1] == (here / "a.json", os.W_OK)


def test_no_file_that_is_read_is_written_by_whatever_name(here: Path) -> None:
    case, other = here / "case.toml", here / "other.toml"
    for file in (case, other):
        file.touch()
    (here / "link.toml").symlink_to(case)
    check_not_read(case, [other, here / "none.toml"])
    check_not_read(here / "none.toml", [case])
    lost = "would be lost, --force or not; choose another name for what is written"
    with pytest.raises(OutputError) as caught:
        check_not_read(case, [other, case])
    assert str(caught.value) == f"{case}: this is the file that is read and {lost}"
    with pytest.raises(OutputError) as caught:
        check_not_read(here / "link.toml", [other, case])
    assert str(caught.value) == (
        f"{here / 'link.toml'}: this is the file that is read ({case}) and {lost}"
    )


def test_a_file_is_exchanged_with_its_rights_and_behind_its_link(here: Path) -> None:
    (here / "real").mkdir()
    target = here / "real" / "plan.json"
    target.write_bytes(b"old")
    target.chmod(0o640)
    (here / "plan.json").symlink_to(target)
    write_whole(here / "plan.json", b"new")
    assert target.read_bytes() == b"new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    assert (here / "plan.json").is_symlink()
    assert [one.name for one in target.parent.iterdir()] == ["plan.json"]


def test_a_disk_that_is_full_leaves_the_old_file(
    here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_path: Path, _data: bytes) -> None:
        _path.write_bytes(b"half")
        raise OSError(errno.ENOSPC, "No space left on device")

    target = here / "plan.json"
    target.write_bytes(b"old")
    monkeypatch.setattr(files, "write_through", full)
    with pytest.raises(OutputError) as caught:
        write_whole(target, b"new")
    assert str(caught.value) == (
        f"{target}: could not be written, nothing was changed: No space left on device; "
        "make room on the disk, or write to another one"
    )
    assert [(one.name, one.read_bytes()) for one in here.iterdir()] == [
        ("plan.json", b"old")
    ]


def test_only_what_the_dead_left_half_written_is_swept(here: Path) -> None:
    dead = subprocess.Popen([sys.executable, "-c", ""])
    dead.wait()
    gone = [f".loopsolver-{number}.part" for number in (dead.pid, os.getpid())]
    stays = [
        f".loopsolver-{os.getppid()}.part",  # somebody is still writing
        f".loopsolver-0{dead.pid}.part",
        f".loopsolver-{dead.pid}.part.txt",
        f"x.loopsolver-{dead.pid}.part",
        "plan.json",
    ]
    for name in (*gone, *stays):
        (here / name).touch()
    sweep(here)
    assert sorted(one.name for one in here.iterdir()) == sorted(stays)
    for name in gone:
        (here / name).mkdir()
    (here / gone[0]).rmdir()
    (here / gone[0]).symlink_to("plan.json")
    sweep(here)  # a folder and a link are not ours
    assert {one.name for one in here.iterdir()} == {*gone, *stays}
    sweep(here / "no folder")


@pytest.mark.parametrize(
    ("failure", "goes"), [(ProcessLookupError, True), (PermissionError, False)]
)
def test_a_process_is_dead_when_the_system_knows_none(
    here: Path, monkeypatch: pytest.MonkeyPatch, failure: type[OSError], goes: bool
) -> None:
    """Signal 0 only asks (POSIX kill); somebody else's process may not be asked."""

    def kill(number: int, signal: int) -> None:
        assert (number, signal) == (4711, 0)
        raise failure

    monkeypatch.setattr(os, "kill", kill)
    (here / ".loopsolver-4711.part").touch()
    sweep(here)
    assert (here / ".loopsolver-4711.part").exists() != goes


def test_a_name_is_pasted_as_a_name_and_not_as_an_option() -> None:
    assert pasteable("a.toml") == "a.toml"
    assert pasteable(Path("my case.toml")) == "'my case.toml'"
    assert pasteable("-f.toml") == "./-f.toml"


def test_a_sealed_file_is_known_as_own_until_it_is_changed(tmp_path: Path) -> None:
    """The sum is that of hashlib over what stands before the closing comment."""
    path = tmp_path / "empty.toml"
    data = sealed(b"value = []\n", ending=".toml")
    digest = hashlib.sha256(b"value = []\n").hexdigest()
    assert data == f"value = []\n# loopsolver {digest}\n".encode()
    check_own(path, ending=".toml", read=(), force=False)  # nothing there yet
    path.write_bytes(data)
    check_own(path, ending=".toml", read=(), force=False)
    path.write_bytes(data.replace(b"[]", b"[3]"))
    with pytest.raises(OutputError, match="is not as loopsolver wrote it"):
        check_own(path, ending=".toml", read=(), force=False)
    check_own(path, ending=".toml", read=(), force=True)
    with pytest.raises(OutputError, match="is read"):
        check_own(path, ending=".toml", read=(path,), force=True)


@pytest.mark.parametrize("content", [b"", b"mine\n", b"# loopsolver\n"])
def test_files_without_a_sum_are_not_own(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "mine.toml"
    path.write_bytes(content)
    with pytest.raises(OutputError, match="is not as loopsolver wrote it"):
        check_own(path, ending=".toml", read=(), force=False)
