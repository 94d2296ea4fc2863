"""What stands in a plan file, and where one may be written."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import replace
from pathlib import Path

import pytest

from loopsolver.errors import OutputError, PlanError
from loopsolver.plan import Ended, LoopSummary, Plan
from loopsolver.scene.reader import load_scene
from tests.builders.plans import GAIN, candidate, ending, planned
from tests.builders.texts import BOUGHT, box, head, part, port, run

SCENE = "".join(
    [
        head(
            first={"title": "Invented: two parts"},
            inner=[300, 400, 300],
            case={"up": "+z"},
            tube=BOUGHT,
        ),
        part(
            "pump",
            [50, 330, 50],
            box([40, 40, 40], [20, 20, 20]),
            port("out", [20, 0, 20], "-y"),
            port("in", [20, 20, 40], "+z"),
        ),
        part(
            "card",
            [140, 74, 50],
            box([40, 40, 40], [20, 20, 20]),
            port("in", [20, 40, 20], "+y"),
            port("out", [20, 20, 40], "+z"),
        ),
        run("pump.out", "card.in"),
        run("card.out", "pump.in"),
    ]
)
# Legs of 60, 90 and 140 mm from seat to seat, 8 mm in front of the ports. What is nearest
# is the pump's face, 20 mm from where the collar lets go of the tube of radius 7 mm.
VERTICES = (
    (70.0, 322.0, 70.0),
    (70.0, 262.0, 70.0),
    (160.0, 262.0, 70.0),
    (160.0, 122.0, 70.0),
)


@pytest.fixture
def scene_path(tmp_path: Path) -> Path:
    path = tmp_path / "build" / "invented.toml"
    path.parent.mkdir()
    path.write_text(SCENE, encoding="utf-8")
    return path


@pytest.fixture
def plan(scene_path: Path) -> Plan:
    found = candidate(
        *VERTICES,
        gap=13.0,
        name="pump",
        at=(70.0, 310.0, 70.0),
        ends=(
            ending("pump.out", (0.0, -1.0, 0.0), (70.0, 310.0, 70.0)),
            ending("card.in", (0.0, 1.0, 0.0), (160.0, 134.0, 70.0)),
        ),
    )
    return Plan(
        scene=load_scene(scene_path),
        runs=(
            planned("pump to card", [found], ends=("pump.out", "card.in")),
            planned(
                "card to pump",
                [],
                ends=("card.out", "pump.in"),
                chosen=None,
                why="the tank stands in front of card.out",
            ),
        ),
    )


def test_every_key_that_is_promised_has_its_value(plan: Plan) -> None:
    content = json.loads(plan.to_json(scene_path="invented.toml"))
    assert content["format"] == 1
    assert content["loopsolver"] == "0.1.0"
    assert content["scene"] == "invented.toml"
    assert content["scene_sha256"] == hashlib.sha256(SCENE.encode()).hexdigest()
    assert content["units"] == "mm"
    first, second = content["runs"]
    assert (first["name"], first["from"], first["to"], first["chosen"]) == (
        "pump to card",
        "pump.out",
        "card.in",
        1,
    )
    (candidate,) = first["candidates"]
    length = 60.0 + 90.0 + 140.0 - 2.0 * GAIN
    assert candidate["rank"] == 1
    assert candidate["bends"] == 2
    assert candidate["planes"] == 1
    assert candidate["length"] == round(length, 6)
    assert candidate["blank"] == round(length + 60.0, 6)
    assert candidate["gap"] == 13.0
    assert candidate["nearest"] == {"name": "pump", "at": [70.0, 310.0, 70.0]}
    assert candidate["bend_radius"] == 28.0
    assert candidate["vertices"] == [list(vertex) for vertex in VERTICES]
    # Legs less the take-out of 28 mm at each bend; to the left, then to the right.
    assert candidate["bend_table"] == [
        {"straight": 32.0, "rotation": 0.0, "angle": 90.0},
        {"straight": 34.0, "rotation": 180.0, "angle": 90.0},
        {"straight": 112.0},
    ]
    assert second["candidates"] == []
    assert second["chosen"] is None
    assert second["why"] == "the tank stands in front of card.out"


def test_a_vertex_and_a_row_of_the_bend_table_stand_on_one_line_each(
    plan: Plan,
) -> None:
    lines = [
        line.strip() for line in plan.to_json(scene_path="invented.toml").splitlines()
    ]
    assert '{"straight": 34.0, "rotation": 180.0, "angle": 90.0},' in lines
    assert max(len(line) for line in lines) < 120


def test_the_same_plan_gives_the_same_bytes(plan: Plan, scene_path: Path) -> None:
    one, two = scene_path.with_name("1.json"), scene_path.with_name("2.json")
    plan.write(one, scene_path=scene_path)
    plan.write(two, scene_path=scene_path)
    assert one.read_bytes() == two.read_bytes()
    assert one.read_bytes().endswith(b"}\n")


@pytest.mark.parametrize(
    ("folder", "wanted"),
    [
        ("build", "invented.toml"),
        (".", "build/invented.toml"),
        ("build/deep/er", "../../invented.toml"),
        ("elsewhere", "../build/invented.toml"),
    ],
)
def test_the_scene_is_named_as_seen_from_the_plan(
    plan: Plan, scene_path: Path, tmp_path: Path, folder: str, wanted: str
) -> None:
    (tmp_path / folder).mkdir(parents=True, exist_ok=True)
    path = tmp_path / folder / "out.plan.json"
    plan.write(path, scene_path=scene_path)
    assert json.loads(path.read_text("utf-8"))["scene"] == wanted
    assert Plan.read(path) == Plan.read(path)
    assert Plan.read(path).runs[1] == plan.runs[1]


def test_a_plan_is_found_from_any_working_folder(
    plan: Plan, scene_path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    plan.write(Path("out.plan.json"), scene_path=Path("build/invented.toml"))
    monkeypatch.chdir(scene_path.parent)
    assert Plan.read(Path("../out.plan.json")).scene.title == "Invented: two parts"


def test_a_plan_of_ours_is_replaced_and_nothing_is_left_beside_it(
    plan: Plan, scene_path: Path
) -> None:
    path = scene_path.with_name("out.plan.json")
    plan.write(path, scene_path=scene_path)
    changed = Plan(scene=plan.scene, runs=plan.runs[:1])
    changed.write(path, scene_path=scene_path)
    assert Plan.read(path).runs == changed.runs
    assert sorted(one.name for one in path.parent.iterdir()) == [
        "invented.toml",
        "out.plan.json",
    ]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"my notes",
        b"{}",
        b"[1]",
        b'{"runs": []}',
        b'{"format": 1, "loopsolver": "mine", "runs": ["monday", "friday"]}',
        b"\xff\xfe",
        b"[" * 9999,
    ],
)
def test_a_file_that_is_no_plan_is_kept_unless_forced(
    plan: Plan, scene_path: Path, content: bytes
) -> None:
    path = scene_path.with_name("notes.json")
    path.write_bytes(content)
    with pytest.raises(OutputError, match=r"is no plan of loopsolver's,.*--force"):
        plan.write(path, scene_path=scene_path)
    assert path.read_bytes() == content
    plan.write(path, scene_path=scene_path, force=True)
    assert Plan.read(path).runs == plan.runs


def test_a_plan_knows_the_files_it_was_read_from(
    plan: Plan, scene_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(scene_path.parent)
    plan.write("one.plan.json", scene_path=scene_path)
    again = Plan.read("one.plan.json")
    assert again.files == (Path("one.plan.json"), Path(scene_path.name))
    assert plan.files == ()
    assert replace(again, files=()) == again


def test_a_key_that_has_nothing_to_say_is_left_out_and_no_other(plan: Plan) -> None:
    """As the table of the plan file has it: what is null or empty there, and what not."""
    content = json.loads(plan.to_json(scene_path="invented.toml"))
    assert "loop" not in content
    with_route, without = content["runs"]
    assert with_route.keys().isdisjoint({"why", "in_the_way"})
    assert without["refused"] == 0
    assert without["candidates"] == []
    assert without["chosen"] is None
    (candidate,) = with_route["candidates"]
    assert "departures" not in candidate
    assert candidate["elbows"] == 0
    assert [end["elbow"] for end in candidate["ends"]] == [False, False]


@pytest.mark.parametrize("force", [False, True])
@pytest.mark.parametrize("name", ["itself", "spelled", "link", "twin", "linked"])
def test_the_scene_itself_is_not_overwritten(
    plan: Plan, scene_path: Path, name: str, force: bool
) -> None:
    """Neither under its name, nor another spelling of it, nor through any link."""
    folder = scene_path.parent
    (folder / "link").symlink_to(scene_path.name)
    (folder / "twin").hardlink_to(scene_path)
    (folder / "linked").symlink_to(folder)
    other = {
        "itself": scene_path,
        "spelled": folder / ".." / folder.name / "." / scene_path.name,
        "linked": folder / "linked" / scene_path.name,
    }.get(name, folder / name)
    with pytest.raises(OutputError, match=r"is the file that is read.*--force or not"):
        plan.write(other, scene_path=scene_path, force=force)
    assert scene_path.read_text("utf-8") == SCENE


def test_a_link_stays_a_link(plan: Plan, scene_path: Path) -> None:
    real = scene_path.with_name("real.plan.json")
    link = scene_path.with_name("link.plan.json")
    plan.write(real, scene_path=scene_path)
    link.symlink_to(real.name)
    Plan(scene=plan.scene, runs=()).write(link, scene_path=scene_path)
    assert link.is_symlink()
    assert Plan.read(real).runs == ()


def test_a_replaced_file_keeps_its_permissions(plan: Plan, scene_path: Path) -> None:
    path = scene_path.with_name("out.plan.json")
    plan.write(path, scene_path=scene_path)
    path.chmod(0o640)
    plan.write(path, scene_path=scene_path)
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_plan_of_a_scene_made_in_python_has_no_file_to_name(
    plan: Plan, tmp_path: Path
) -> None:
    bare = Plan(scene=replace(plan.scene, sha256="", file_name=""), runs=())
    with pytest.raises(OutputError, match="not read from a file"):
        bare.write(tmp_path / "out.plan.json", scene_path=tmp_path / "none.toml")
    assert not (tmp_path / "out.plan.json").exists()


def test_a_missing_folder_is_told(plan: Plan, scene_path: Path) -> None:
    path = scene_path.parent / "not" / "there.plan.json"
    with pytest.raises(OutputError, match=r"there is no folder .*not; make it first"):
        plan.write(path, scene_path=scene_path)
    assert not path.parent.exists()


def test_a_file_in_the_folders_place_is_told(plan: Plan, scene_path: Path) -> None:
    with pytest.raises(OutputError, match="there is no folder"):
        plan.write(scene_path / "out.plan.json", scene_path=scene_path)


def test_a_folder_in_the_files_place_is_told(plan: Plan, scene_path: Path) -> None:
    with pytest.raises(OutputError, match="found a folder; wanted the name of a file"):
        plan.write(scene_path.parent, scene_path=scene_path, force=True)


def test_a_device_is_left_alone_even_by_force(plan: Plan, scene_path: Path) -> None:
    with pytest.raises(OutputError, match="device or pipe"):
        plan.write(Path("/dev/full"), scene_path=scene_path, force=True)
    assert Path("/dev/full").is_char_device()


def test_a_name_that_no_disk_takes_is_told(plan: Plan, scene_path: Path) -> None:
    path = scene_path.with_name("n" * 300)
    with pytest.raises(OutputError, match="choose a shorter name"):
        plan.write(path, scene_path=scene_path)


def test_a_folder_that_cannot_be_written_is_told(
    plan: Plan, scene_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Permissions do not stop the superuser, so the answer to the question is replaced.
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(OutputError, match="the folder is read-only; choose a folder"):
        plan.write(scene_path.with_name("out.plan.json"), scene_path=scene_path)


def test_a_full_disk_leaves_the_old_plan_and_nothing_else(
    plan: Plan, scene_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = scene_path.with_name("out.plan.json")
    plan.write(path, scene_path=scene_path)
    before = path.read_bytes()

    def full(descriptor: int) -> None:
        raise OSError(28, os.strerror(28))  # ENOSPC

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match=r"nothing was changed: No space.*make room"):
        Plan(scene=plan.scene, runs=()).write(path, scene_path=scene_path)
    assert path.read_bytes() == before
    assert len(list(path.parent.iterdir())) == 2


def test_a_changed_scene_is_refused(plan: Plan, scene_path: Path) -> None:
    path = scene_path.with_name("out.plan.json")
    plan.write(path, scene_path=scene_path)
    scene_path.write_text(SCENE + "# moved\n", encoding="utf-8")
    with pytest.raises(PlanError) as caught:
        Plan.read(path)
    assert "scene invented.toml has changed since this plan was written" in str(
        caught.value
    )
    assert "run `loopsolver route" in str(caught.value)


def test_a_scene_that_is_gone_is_told(plan: Plan, scene_path: Path) -> None:
    path = scene_path.with_name("out.plan.json")
    plan.write(path, scene_path=scene_path)
    scene_path.unlink()
    with pytest.raises(PlanError, match=r"invented.toml.*No such file.*put it back"):
        Plan.read(path)


def test_an_older_plan_without_a_sum_says_nothing_of_its_search(
    plan: Plan, scene_path: Path
) -> None:
    content = json.loads(plan.to_json(scene_path="invented.toml"))
    total = [2, 290.0 - 2.0 * GAIN, 0]
    content["loop"] = {
        "by": "bends",
        "total": total,
        "bound": total,
        "proven": True,
        "cut_short": False,
        "rounds": 0,
        "routes": 1,
    }
    del content["sum"]
    path = scene_path.with_name("older.plan.json")
    path.write_text(json.dumps(content), encoding="utf-8")
    read = Plan.read(path)
    assert read.is_edited
    assert read.loop is None
    assert read.runs[0] == plan.runs[0]


@pytest.mark.parametrize("ended", ["done", "time", "stopped", "stopped early"])
def test_how_the_search_ended_is_kept(
    plan: Plan, scene_path: Path, ended: Ended
) -> None:
    total = (2.0, 290.0 - 2.0 * GAIN, 0.0)
    summary = LoopSummary(
        by="bends",
        total=total,
        bound=total,
        is_proven=True,
        rounds=0,
        pool=1,
        ended=ended,
    )
    path = scene_path.with_name("kept.plan.json")
    replace(plan, loop=summary).write(path, scene_path=scene_path)
    loop = Plan.read(path).loop
    assert loop is not None
    assert loop.ended == ended
