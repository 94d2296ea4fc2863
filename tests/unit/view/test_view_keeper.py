"""Keeps that reach the plan file: written only over what was read, or after a yes."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
import trimesh

from loopsolver.plan import Plan
from loopsolver.report.planning import route_scene
from loopsolver.scene.reader import load_scene
from loopsolver.view import keeper as keeper_module
from loopsolver.view.keeper import Keeper
from loopsolver.view.selection import first_selection
from tests.builders.followed_case import FOLLOWED, routed_files


@pytest.fixture(scope="module")
def routed(tmp_path_factory):
    """A scene of two runs in a file, and its plan in another."""
    return routed_files(tmp_path_factory.mktemp("routed"))


@pytest.fixture
def files(routed, tmp_path):
    copies = [tmp_path / one.name for one in routed]
    for one, copy in zip(routed, copies, strict=True):
        copy.write_bytes(one.read_bytes())
    return copies


@cache
def solved(scene, kept):
    return route_scene(scene, keep=dict(kept))


class SearchHere:
    """In place of the process, which takes seconds to start: it tells the plan at once.

    The process itself has tests of its own, and the real window one with it.
    """

    def begin(self, scene, *, by, runs, keep, built):
        assert (by, runs, built) == ("bends", None, {})
        self._plan = solved(scene, tuple(keep.items()))

    def news(self):
        yield self._plan

    def close(self):
        pass


@pytest.fixture
def keeper(files, monkeypatch):
    monkeypatch.setattr(keeper_module, "SearchProcess", SearchHere)
    return Keeper(Plan.read(files[1]))


def second_kept(keeper: Keeper) -> None:
    """Keep the last candidate of the first run, and let the rest be solved."""
    run = keeper.now.plan.runs[0]
    rank = len(run.candidates)
    assert rank > 1
    shown = first_selection(keeper.now.plan, run=run.name, candidate=rank)
    assert keeper.keep(shown) == ""
    assert keeper.now.plan.runs[0].chosen == rank
    assert keeper.now.is_solving
    keeper.solve()
    assert keeper.follow()
    assert not keeper.now.is_solving


def sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def text_of(plan: Plan) -> str:
    return plan.to_json(scene_path="followed.toml")


def kept_in(path: Path) -> list[str]:
    loop = json.loads(path.read_text(encoding="utf-8"))["loop"]
    return list(loop.get("kept", []))


def test_the_rest_is_solved_round_what_is_kept_and_that_is_written(
    keeper, files
) -> None:
    tube = keeper.now.plan.runs[0].candidates[-1]
    assert keeper.write() == "nothing to write: no candidate was kept"
    second_kept(keeper)
    wanted = route_scene(
        load_scene(files[0]), keep={keeper.now.plan.runs[0].name: tube}
    )
    assert keeper.now.plan == wanted
    assert keeper.write() == f"written to {files[1].name}"
    again = Plan.read(files[1])
    assert text_of(again) == text_of(keeper.now.plan)
    assert kept_in(files[1]) == [again.runs[0].name]
    assert not again.is_edited
    # Taken back it is as it was read, but not what the file holds now.
    assert keeper.undo() == "taken back"
    assert keeper.undo() == "nothing to undo"
    assert keeper.write() == f"written to {files[1].name}"
    assert kept_in(files[1]) == []


def test_a_file_that_has_changed_is_written_after_a_yes_and_not_before(
    keeper, files
) -> None:
    second_kept(keeper)
    other = files[1].read_bytes() + b"\n"
    files[1].write_bytes(other)
    assert keeper.write().startswith(f"{files[1].name} has changed: y writes over it")
    assert files[1].read_bytes() == other
    assert keeper.on_yes is not None
    assert keeper.on_yes() == f"written to {files[1].name}"
    assert text_of(Plan.read(files[1])) == text_of(keeper.now.plan)


def test_a_file_that_is_gone_is_asked_about_as_well(keeper, files) -> None:
    second_kept(keeper)
    files[1].unlink()
    assert "has changed" in keeper.write()
    assert not files[1].exists()


def test_a_scene_that_has_changed_is_never_written_to_go_with(keeper, files) -> None:
    """Nobody could read that plan again."""
    second_kept(keeper)
    files[0].write_text(FOLLOWED + "\n# later\n", encoding="utf-8")
    before = files[1].read_bytes()
    assert keeper.write().startswith("not written: followed.toml has changed")
    assert files[1].read_bytes() == before


def test_a_save_that_no_tube_could_feel_leaves_what_is_kept(keeper, files) -> None:
    """As where a scene is followed: its plan is in no file, and `w` says so."""
    plan = replace(keeper.now.plan, files=())
    keeper = Keeper(plan)
    second_kept(keeper)
    kept = keeper.now.plan.runs
    renamed = replace(plan.scene, title="Renamed", sha256="other")
    assert keeper.go_on_with(replace(plan, scene=renamed))
    assert (keeper.now.plan.scene.title, keeper.now.plan.runs) == ("Renamed", kept)
    assert not keeper.now.is_written
    assert keeper.write() == (
        "not written: the plan is in no file: `route SCENE --keep NAME=RANK` writes one"
    )
    assert keeper.undo() == "taken back"
    assert keeper.now.plan.runs == plan.runs
    assert keeper.now.is_written


@pytest.mark.parametrize("is_solved", [True, False])
def test_a_save_that_tubes_feel_lets_go_of_what_is_kept(keeper, is_solved) -> None:
    plan = keeper.now.plan
    second_kept(keeper)
    fewer = replace(plan, runs=plan.runs[:1])
    assert not keeper.go_on_with(fewer if is_solved else None)
    assert not keeper.follow()


def test_while_the_rest_is_solved_nothing_is_written_and_undo_ends_it(
    keeper, files
) -> None:
    run = keeper.now.plan.runs[0]
    keeper.keep(first_selection(keeper.now.plan, run=run.name, candidate=1))
    keeper.solve()
    before = files[1].read_bytes()
    assert keeper.write() == "not written: the rest is still being solved"
    assert keeper.undo() == "taken back"
    assert not keeper.follow()
    assert files[1].read_bytes() == before


def test_a_mesh_that_has_changed_keeps_a_plan_from_being_written(
    tmp_path, monkeypatch
) -> None:
    """As with the scene: nobody could read it again. It is looked at when `w` writes."""
    monkeypatch.setattr(keeper_module, "SearchProcess", SearchHere)
    mesh = tmp_path / "parts" / "board.stl"
    mesh.parent.mkdir()
    trimesh.creation.box((2.0, 244.0, 244.0)).export(mesh)
    as_box, as_mesh = "box = [2, 244, 244]", 'mesh = "parts/board.stl"\nunit = "mm"'
    assert as_box in FOLLOWED
    _, path = routed_files(tmp_path, text=FOLLOWED.replace(as_box, as_mesh))
    keeper = Keeper(Plan.read(path))
    second_kept(keeper)
    before, drawn = path.read_bytes(), mesh.read_bytes()
    for other in (drawn[:-50] + bytes(50), None):
        mesh.unlink() if other is None else mesh.write_bytes(other)
        assert keeper.write() == "not written: board.stl has changed since it was read"
        assert path.read_bytes() == before
    mesh.write_bytes(drawn)
    assert keeper.write() == f"written to {path.name}"
    assert text_of(Plan.read(path)) == text_of(keeper.now.plan)


def test_a_plan_of_no_file_says_so(keeper) -> None:
    scene = keeper.now.plan.scene
    plan = Plan(scene=scene, runs=keeper.now.plan.runs)
    lone = Keeper(plan)
    lone.keep(first_selection(plan, run=plan.runs[0].name, candidate=1))
    lone.now = type(lone.now)(steps=lone.now.steps, written=plan)
    assert lone.write().startswith("not written: the plan is in no file")


def test_a_plan_that_was_edited_by_hand_is_written_after_a_yes(keeper, files) -> None:
    text = files[1].read_text(encoding="utf-8")
    files[1].write_text(text.replace('"rounds": ', '"rounds": 1'), encoding="utf-8")
    keeper = Keeper(Plan.read(files[1]))
    assert keeper.now.plan.is_edited
    second_kept(keeper)
    before = files[1].read_bytes()
    assert "was edited by hand: y writes over it" in keeper.write()
    assert files[1].read_bytes() == before


def test_leaving_asks_where_something_is_not_written(keeper) -> None:
    left: list[int] = []

    def leave() -> str:
        left.append(1)
        return ""

    second_kept(keeper)
    assert keeper.ask_to_leave(leave).startswith("the plan is not written")
    assert left == []
    assert keeper.on_yes is not None
    keeper.on_yes()
    assert left == [1]
