"""A file that is followed: written in pieces, exchanged, deleted, and back."""

from __future__ import annotations

import os

import pytest
import trimesh

from loopsolver.errors import SceneError
from loopsolver.view import follower
from loopsolver.view.saves import SAME_GOOD, SAME_WRONG
from tests.builders.followed_case import FOLLOWED

MOVED = FOLLOWED.replace("position = [90, 205, 0]", "position = [85, 205, 0]")
MOVED_WORDS = ("tank moved 5.0 mm right",)  # x points left in it


class Asked:
    """A search that is only asked, and never tells anything."""

    def __init__(self):
        self.scenes = []
        self.is_closed = False

    def begin(self, scene):
        self.scenes.append(scene)

    def news(self):
        return iter(())

    def close(self):
        self.is_closed = True


@pytest.fixture
def path(here, monkeypatch):
    monkeypatch.setattr(follower, "SearchProcess", Asked)
    file = here / "followed.toml"
    file.write_text(FOLLOWED, encoding="utf-8")
    return file


def asked_by(follows) -> Asked:
    assert isinstance(follows._search, Asked)
    return follows._search


def looks(follows, count):
    """Look so many times; whether anything was new."""
    return [follows.follow() for _ in range(count)]


def test_a_save_is_seen_at_its_second_look_and_searched_once(path):
    follows = follower.Follower(path)
    asked = asked_by(follows)
    assert not any(looks(follows, 5))
    path.write_text(MOVED, encoding="utf-8")
    assert looks(follows, SAME_GOOD) == [False] * (SAME_GOOD - 1) + [True]
    assert follows.now.changes == MOVED_WORDS
    assert not any(looks(follows, 5))
    assert len(asked.scenes) == 2
    assert asked.scenes[-1] == follows.now.scene
    follows.close()
    assert asked.is_closed


def test_a_file_in_its_place_of_the_same_size_and_time_is_seen(path):
    """Its own number, or not even that: what counts is what stands in it."""
    follows = follower.Follower(path)
    status = path.stat()
    assert len(MOVED) == len(FOLLOWED)
    other = path.with_suffix(".new")
    other.write_text(MOVED, encoding="utf-8")
    os.utime(other, ns=(status.st_atime_ns, status.st_mtime_ns))
    other.replace(path)
    looks(follows, SAME_GOOD)
    assert follows.now.changes == MOVED_WORDS
    path.write_text(FOLLOWED, encoding="utf-8")
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))
    looks(follows, SAME_GOOD)
    assert follows.now.changes == ("tank moved 5.0 mm left",)


def write_mesh(path, height: float) -> None:
    trimesh.creation.box((40.0, 30.0, height)).export(path)


@pytest.fixture
def mesh(path):
    """A mesh file that the followed scene has as a body."""
    (path.parent / "parts").mkdir()
    file = path.parent / "parts" / "tall.stl"
    write_mesh(file, 20.0)
    body = 'mesh = "parts/tall.stl"\nunit = "mm"\ncorner = [0, 0, 0]\n'
    part = "[components.tall]\nposition = [10, 10, 0]\n[[components.tall.bodies]]\n"
    path.write_text(FOLLOWED + part + body, encoding="utf-8")
    return file


def test_a_mesh_that_is_saved_anew_is_seen_and_searched_once(path, mesh):
    follows = follower.Follower(path)
    assert not any(looks(follows, 3))
    write_mesh(mesh, 25.0)
    assert looks(follows, SAME_GOOD) == [False] * (SAME_GOOD - 1) + [True]
    assert follows.now.changes == ("tall: its bodies",)
    assert not any(looks(follows, 3))
    assert len(asked_by(follows).scenes) == 2
    assert asked_by(follows).scenes[-1].meshes != asked_by(follows).scenes[0].meshes
    os.utime(mesh)  # the same mesh, written once more
    assert follows.now.scene == asked_by(follows).scenes[-1]
    looks(follows, SAME_GOOD)
    assert len(asked_by(follows).scenes) == 2


def test_half_a_mesh_for_a_moment_is_not_told_and_a_broken_one_is(path, mesh):
    follows = follower.Follower(path)
    whole = mesh.read_bytes()
    mesh.write_bytes(whole[: len(whole) // 2])
    assert not any(looks(follows, SAME_WRONG - 1))
    write_mesh(mesh, 25.0)
    looks(follows, SAME_GOOD)
    assert follows.now.faults == ()
    assert follows.now.changes == ("tall: its bodies",)
    mesh.unlink()
    looks(follows, SAME_WRONG)
    assert "no such file" in str(follows.now.faults)
    write_mesh(mesh, 30.0)
    looks(follows, SAME_GOOD)
    assert follows.now.faults == ()


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9])
def test_half_a_file_for_a_moment_is_not_told(path, share):
    follows = follower.Follower(path)
    half = MOVED[: int(share * len(MOVED))]
    path.write_text(half, encoding="utf-8")
    assert not any(looks(follows, 1))
    path.write_text(MOVED, encoding="utf-8")
    looks(follows, SAME_GOOD)
    assert follows.now.changes == MOVED_WORDS
    assert follows.now.faults == ()


def test_a_file_that_is_gone_and_back_is_followed_on(path):
    follows = follower.Follower(path)
    scene = follows.now.scene
    path.unlink()
    assert looks(follows, SAME_WRONG) == [False] * (SAME_WRONG - 1) + [True]
    assert [fault.found for fault in follows.now.faults] == ["no such file"]
    assert follows.now.scene == scene
    path.write_text(FOLLOWED, encoding="utf-8")
    looks(follows, SAME_GOOD)
    assert follows.now.faults == ()
    assert len(asked_by(follows).scenes) == 1  # nothing changed: the tubes stay
    path.unlink()
    looks(follows, SAME_WRONG)
    path.write_text(MOVED, encoding="utf-8")
    looks(follows, SAME_GOOD)
    assert follows.now.changes == MOVED_WORDS
    assert len(asked_by(follows).scenes) == 2


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (FOLLOWED.replace("clearance = 3", 'clearance = "three"'), '"three"'),
        (FOLLOWED.replace("[tube]", "[tube"), "a TOML syntax error"),
        ("\n", "an empty file"),
        ("format = 1\0", "a binary file"),
    ],
)
def test_what_is_wrong_with_the_file_is_told_and_the_last_scene_stays(
    path, text, found
):
    follows = follower.Follower(path)
    path.write_text(text, encoding="utf-8")
    looks(follows, SAME_WRONG)
    (fault, *_) = follows.now.faults
    assert fault.found.startswith(found)
    assert follows.now.scene.title.startswith("Dotterel")
    assert len(asked_by(follows).scenes) == 1
    path.write_text(MOVED, encoding="utf-8")
    looks(follows, SAME_GOOD)
    assert follows.now.faults == ()
    assert follows.now.changes == MOVED_WORDS


@pytest.mark.parametrize("make", [os.mkdir, os.mkfifo], ids=["folder", "pipe"])
def test_what_takes_its_place_and_is_no_file_is_told(path, make):
    follows = follower.Follower(path)
    path.unlink()
    make(path)
    looks(follows, SAME_WRONG)
    assert follows.now.faults[0].found in {"a folder", "a device or pipe"}


def test_a_file_that_cannot_be_used_at_first_is_refused(path):
    path.write_text("format = 1", encoding="utf-8")
    with pytest.raises(SceneError, match="wanted"):
        follower.Follower(path)
