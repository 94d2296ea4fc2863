"""Whose files lie in a folder of sheets, and who may write there when."""

from __future__ import annotations

import errno
import fcntl
import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from loopsolver.errors import OutputError
from loopsolver.workshop.exchange import HIDDEN, NOTE
from loopsolver.workshop.folder import LIST_NAME, check_folder, write_folder
from loopsolver.workshop.sheets import set_of

FIRST, SECOND = "1" * 64, "2" * 64
OLD = {"a.pdf": b"old", "a-plane-1.svg": b"old 1", "b.pdf": b"b"}


def write(folder, files, *, plan=SECOND, **more):
    return write_folder(folder, files, plan_sha256=plan, set_of=set_of, **more)


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def sheets(folder):
    return {k: v for k, v in contents(folder).items() if k != LIST_NAME}


def test_a_set_is_exchanged_and_other_runs_stay(tmp_path):
    write(tmp_path, OLD, plan=FIRST)
    others = write(tmp_path, {"a.pdf": b"new"})
    assert sheets(tmp_path) == {"a.pdf": b"new", "b.pdf": b"b"}
    assert others.taken_away == ("a-plane-1.svg",)
    assert others.stale == ("b.pdf",)
    listed = json.loads((tmp_path / LIST_NAME).read_text())["files"]
    assert listed == {
        "a.pdf": {"sha256": hashlib.sha256(b"new").hexdigest(), "plan_sha256": SECOND},
        "b.pdf": {"sha256": hashlib.sha256(b"b").hexdigest(), "plan_sha256": FIRST},
    }


def test_an_old_sheet_that_was_written_on_stays_and_is_told(tmp_path):
    write(tmp_path, OLD, plan=FIRST)
    (tmp_path / "a-plane-1.svg").write_bytes(b"with my notes")
    others = write(tmp_path, {"a.pdf": b"new"}, plan=FIRST)
    assert sheets(tmp_path)["a-plane-1.svg"] == b"with my notes"
    assert others.stale == ("a-plane-1.svg",)
    assert others.taken_away == ()


def test_sheets_that_are_the_same_are_not_touched(tmp_path):
    write(tmp_path, OLD, plan=FIRST)
    before = (tmp_path / "a.pdf").stat()
    write(tmp_path, OLD, plan=FIRST)
    after = (tmp_path / "a.pdf").stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)


LISTS = {
    "of another kind": {"format": 1, "files": ["a.pdf"]},
    "of another format": {"format": 2, "files": {}},
    "with more in it": {"format": 1, "files": {}, "notes": "mine"},
    "a sum too short": {"a.pdf": {"sha256": "00", "plan_sha256": FIRST}},
    "a plan's sum missing": {"a.pdf": {"sha256": FIRST}},
    "a sum that is none": {"a.pdf": {"sha256": 3, "plan_sha256": FIRST}},
    "a key more": {"a.pdf": {"sha256": FIRST, "plan_sha256": FIRST, "x": 1}},
    "a way out": {"../a.pdf": {"sha256": FIRST, "plan_sha256": FIRST}},
    "a whole path": {"/a.pdf": {"sha256": FIRST, "plan_sha256": FIRST}},
    "a hidden file": {".a.pdf": {"sha256": FIRST, "plan_sha256": FIRST}},
}


@pytest.mark.parametrize("content", LISTS.values(), ids=LISTS.keys())
def test_a_list_is_ours_only_when_all_of_it_says_so(tmp_path, content):
    document = content if "files" in content else {"format": 1, "files": content}
    path = tmp_path / LIST_NAME
    path.write_text(json.dumps(document))
    before = path.read_bytes()
    with pytest.raises(OutputError, match=rf"{LIST_NAME} stand there already"):
        write(tmp_path, {"b.pdf": b"new"})
    assert contents(tmp_path) == {LIST_NAME: before}
    write(tmp_path, {"b.pdf": b"new"}, force=True)
    assert sheets(tmp_path) == {"b.pdf": b"new"}


def test_a_list_cannot_have_files_elsewhere_removed(tmp_path):
    outside = tmp_path / "a-plane-9.svg"
    outside.write_bytes(b"mine")
    folder = tmp_path / "out"
    write(folder, OLD)
    listed = json.loads((folder / LIST_NAME).read_text())
    listed["files"]["../a-plane-9.svg"] = {
        "sha256": hashlib.sha256(b"mine").hexdigest(),
        "plan_sha256": FIRST,
    }
    (folder / LIST_NAME).write_text(json.dumps(listed))
    write(folder, {"a.pdf": b"new"}, force=True)
    assert outside.read_bytes() == b"mine"


def test_two_commands_do_not_write_at_once(tmp_path):
    """A lock of another process on the folder: told at once, nothing is written."""
    code = (
        "import sys, pathlib\n"
        "from loopsolver.workshop.exchange import locked\n"
        "with locked(pathlib.Path(sys.argv[1])):\n"
        "    print('held', flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, tmp_path],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as other:
        assert other.stdin is not None
        assert other.stdout is not None
        assert other.stdout.readline() == b"held\n"
        with pytest.raises(OutputError, match="another loopsolver is writing"):
            write(tmp_path, OLD)
        assert contents(tmp_path) == {}
        (tmp_path / HIDDEN).mkdir()  # the other one's: not swept
        with pytest.raises(OutputError, match="another loopsolver is writing"):
            check_folder(tmp_path)
        assert (tmp_path / HIDDEN).is_dir()
        other.stdin.close()
    check_folder(tmp_path)  # its lock ended with it
    assert not (tmp_path / HIDDEN).exists()
    write(tmp_path, OLD)
    assert sheets(tmp_path) == OLD


def test_a_disk_without_locks_is_written_to_all_the_same(tmp_path, monkeypatch):
    def none(*_):
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(fcntl, "flock", none)
    write(tmp_path, OLD)
    assert sheets(tmp_path) == OLD


def half_way(folder, monkeypatch):
    """Leave a folder as a kill leaves it after the first old file has gone."""
    write(folder, OLD, plan=FIRST)
    done: list[Path] = []

    class Killed(BaseException):
        pass

    replace = type(folder).replace

    def kill(self, target):
        if len(done) == 3:  # the journal, the note, one old file
            raise Killed
        done.append(self)
        return replace(self, target)

    with monkeypatch.context() as patch:
        patch.setattr(type(folder), "replace", kill)
        patch.setattr("loopsolver.workshop.exchange._put_back", lambda *_: None)
        with pytest.raises(Killed):
            write(folder, {"a.pdf": b"new", "a-plane-1.svg": b"new 1"})
    assert (folder / NOTE).exists()


def test_a_foreign_file_put_where_a_new_one_goes_is_not_lost(tmp_path, monkeypatch):
    half_way(tmp_path, monkeypatch)
    gone = next(name for name in OLD if name not in contents(tmp_path))
    (tmp_path / gone).write_bytes(b"mine")
    with pytest.raises(OutputError, match=r"was put there.*move it away"):
        check_folder(tmp_path)
    assert (tmp_path / gone).read_bytes() == b"mine"
    (tmp_path / gone).rename(tmp_path / "mine")
    check_folder(tmp_path)
    assert sheets(tmp_path) == {
        "a.pdf": b"new",
        "a-plane-1.svg": b"new 1",
        "b.pdf": b"b",
        "mine": b"mine",
    }


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        '{"gone": {}}',
        json.dumps({"gone": {"../x": FIRST}, "fresh": {}}),
        '{"gone": {}, "fresh": {}, "more": {}}',
    ],
)
def test_a_journal_that_is_none_is_left_alone(tmp_path, monkeypatch, text):
    half_way(tmp_path, monkeypatch)
    (tmp_path / HIDDEN / "journal.json").write_text(text)
    before = contents(tmp_path)
    with pytest.raises(OutputError, match="is not as loopsolver leaves it"):
        write(tmp_path, OLD, force=True)
    assert contents(tmp_path) == before


def test_a_hidden_folder_with_somebody_elses_files_is_left_alone(tmp_path):
    (tmp_path / HIDDEN).mkdir()
    (tmp_path / HIDDEN / "1.new").write_text("ours")
    (tmp_path / HIDDEN / "mine").write_text("mine")
    with pytest.raises(OutputError, match="is not as loopsolver leaves it"):
        write(tmp_path, OLD)
    assert {path.name for path in (tmp_path / HIDDEN).iterdir()} == {"1.new", "mine"}


def test_a_hidden_link_leads_nowhere(tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "1.old").write_text("mine")
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / HIDDEN).symlink_to(elsewhere)
    with pytest.raises(OutputError, match="is not as loopsolver leaves it"):
        check_folder(folder)
    assert (elsewhere / "1.old").read_text() == "mine"


def test_what_cannot_be_put_back_is_told_and_finished_by_the_next(
    tmp_path, monkeypatch
):
    write(tmp_path, OLD, plan=FIRST)
    count = []
    replace = type(tmp_path).replace

    def broken(self, target):
        count.append(target)
        if len(count) > 3:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        return replace(self, target)

    with monkeypatch.context() as patch:
        patch.setattr(type(tmp_path), "replace", broken)
        with pytest.raises(OutputError, match="some sheets are missing"):
            write(tmp_path, {"a.pdf": b"new", "a-plane-1.svg": b"new 1"})
    assert (tmp_path / NOTE).exists()
    check_folder(tmp_path)
    assert sheets(tmp_path) == {
        "a.pdf": b"new",
        "a-plane-1.svg": b"new 1",
        "b.pdf": b"b",
    }
