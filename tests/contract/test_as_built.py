"""Tubes as they were built: read, judged, shown, and kept while others are routed.

The built tube is that of the true plan with its middle leg made too long: 97 mm instead
of 90, so its straight is 41 mm and its last leg lies at x = 167. The tank below that leg
is as near as before. A second tube is wanted straight along y at x = 182: 22 mm beside
the leg as drawn, which leaves 8 mm between two tubes of 14 mm, and 15 mm beside the leg
as built, which leaves 1 mm.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

import pytest

from loopsolver.cli.main import main
from loopsolver.cli.status import DONE, NO_ROUTE, WRONG_INPUT
from loopsolver.errors import PlanError
from loopsolver.plan import Plan, touches
from loopsolver.view import captions
from loopsolver.view.selection import (
    first_selection,
    shown_candidate,
    step_candidate,
)
from tests.builders.texts import part, port, run, table
from tests.contract.true_plan import (
    RUN,
    SCENE,
    Change,
    dropping,
    setting,
    several,
    written,
)

VERTICES: Final = [[70, 262, 70], [70, 202, 70], [167, 202, 70], [167, 62, 70]]
ROWS: Final = [
    {"straight": 32, "rotation": 0, "angle": 90},
    {"straight": 41, "rotation": 180, "angle": 90},
    {"straight": 112},
]
BUILT: Final = {"bend_table": ROWS, "vertices": VERTICES}

TWO_RUNS: Final = SCENE.replace('["pump.out", "pump.top"]', '"pump.out"') + "".join(
    [
        part(
            "fan",
            [0, 0, 0],
            port("a", [182, 298, 70], "-y"),
            port("b", [182, 2, 70], "+y"),
        ),
        run("fan.a", "fan.b", name="straight"),
        table("[rules]", {"max_bends": 4, "candidates": 2}),
    ]
)
HIGHER_TANK: Final = SCENE.replace("46.8", "47.8").replace(
    '["pump.out", "pump.top"]', '"pump.out"'
)


def built(value: Any = BUILT) -> Change:
    """Return what puts a built tube into the plan."""
    return setting(json.loads(json.dumps(value)), *RUN, "built")


def put_in(path: Path, value: Any = BUILT, *, run: int = 0) -> None:
    """Put a built tube into the plan file of the two runs, and write the plan anew."""
    content = json.loads(path.read_text(encoding="utf-8"))
    content["runs"][run]["built"] = value
    path.write_text(json.dumps(content), encoding="utf-8")
    Plan.read(path).write(path, scene_path=path.parent / "two.toml", force=True)


@pytest.fixture(scope="module")
def routed(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return what stands in the plan of both runs."""
    folder = tmp_path_factory.mktemp("two")
    scene, plan = folder / "two.toml", folder / "two.plan.json"
    scene.write_text(TWO_RUNS, encoding="utf-8")
    assert main(["route", str(scene), "-o", str(plan)]) == DONE
    return plan.read_text(encoding="utf-8")


@pytest.fixture
def two(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, routed: str) -> Path:
    """Return the plan of both runs, the first of them built."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "two.toml").write_text(TWO_RUNS, encoding="utf-8")
    (tmp_path / "two.plan.json").write_text(routed, encoding="utf-8")
    put_in(tmp_path / "two.plan.json")
    return tmp_path / "two.plan.json"


def test_a_built_tube_is_used_in_place_of_the_chosen_one(tmp_path: Path) -> None:
    (read,) = Plan.read(written(tmp_path, built())).runs
    tube = read.tube_in_place
    assert tube is not None
    assert tube is read.built
    assert tube.centreline.vertices == tuple(map(tuple, VERTICES))
    assert tube.centreline.radius == 28.0
    # The top of the tank at 56.8, the underside of the tube at 63.
    assert tube.gap.name == "tank"
    assert tube.gap.distance == pytest.approx(6.2, abs=1e-4)
    assert [end.port for end in tube.ends] == ["pump.out", "card.in"]
    assert read.chosen_candidate is not tube


def test_a_built_tube_is_written_and_read_again(tmp_path: Path) -> None:
    plan = Plan.read(written(tmp_path, built()))
    path = tmp_path / "again.plan.json"
    plan.write(path, scene_path=tmp_path / "invented.toml")
    again = Plan.read(path)
    assert not again.is_edited
    assert again.runs[0].built == plan.runs[0].built
    assert again.to_json(scene_path="invented.toml") == path.read_text()
    told = json.loads(path.read_text())["runs"][0]["built"]
    assert told["bend_table"] == ROWS
    assert told["vertices"] == VERTICES


def _row(number: int, key: str, value: float) -> dict[str, Any]:
    rows: list[dict[str, float]] = [dict(row) for row in ROWS]
    rows[number][key] = value
    return {**BUILT, "bend_table": rows}


FAULTS: Final[dict[str, tuple[Change, str]]] = {
    "table against vertices": (
        built(_row(1, "straight", 40)),
        "built.bend_table[2].straight: found 40 mm; wanted 41 mm, as the vertices give",
    ),
    "angle": (
        built(_row(0, "angle", 88.5)),
        "built.bend_table[1].angle: found 88.5 degrees; wanted 90 degrees, as the "
        "vertices give",
    ),
    "too few rows": (
        built({**BUILT, "bend_table": ROWS[:1]}),
        "built.bend_table: found 1 rows; wanted 3, one a bend and the closing straight",
    ),
    "gap": (
        built({**BUILT, "gap": 9.0}),
        "built.gap: found 9 mm; wanted 6.2 mm, to 'tank' (run 'pump to card')",
    ),
    "no vertices": (
        built({"bend_table": ROWS}),
        "built.vertices: found nothing; wanted tube end, bend vertices in order",
    ),
    "a leg too short": (
        built({**BUILT, "bend_radius": 60}),
        "built.vertices: found a leg 23 mm too short for its bends; wanted legs that "
        "leave room for bends of radius 60 mm",
    ),
    "another port": (
        built(
            {
                **BUILT,
                "ends": [
                    {"port": "card.in", "fitting": "collar", "outlet": [0, 1, 0]}
                    | {"mouth": [160, 74, 70]},
                    {"port": "pump.out", "fitting": "collar", "outlet": [0, -1, 0]}
                    | {"mouth": [70, 250, 70]},
                ],
            }
        ),
        "built.ends[1].port: found 'card.in'; wanted 'pump.out' or 'pump.top', as in "
        "the scene (run 'pump to card')",
    ),
    "no radius to be told": (
        several(
            built(),
            setting([], *RUN, "candidates"),
            setting(None, *RUN, "chosen"),
            setting("none was found", *RUN, "why"),
        ),
        "built.bend_radius: found nothing; wanted the radius of its bends, as the run "
        "has no candidate to tell it",
    ),
}


@pytest.mark.parametrize(("change", "told"), FAULTS.values(), ids=FAULTS)
def test_a_built_tube_that_is_not_what_it_says_is_refused(
    tmp_path: Path, change: Change, told: str
) -> None:
    with pytest.raises(PlanError) as caught:
        Plan.read(written(tmp_path, change))
    assert f"runs[1].{told}" in str(caught.value)


def test_a_run_without_candidates_has_its_built_tube(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        built({**BUILT, "bend_radius": 28}),
        setting([], *RUN, "candidates"),
        setting(None, *RUN, "chosen"),
        setting("none was found", *RUN, "why"),
    )
    plan = Plan.read(path)
    assert plan.runs[0].tube_in_place is plan.runs[0].built is not None
    assert main(["compare", str(path)]) == DONE


def test_compare_shows_the_built_tube_in_a_row_of_its_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path, built())
    assert main(["compare", str(path)]) == DONE
    out = capsys.readouterr().out
    (row,) = [line for line in out.splitlines() if " built " in f" {line} "][:1]
    # Straights of 32, 41 and 112 mm and two quarter arcs of 43.98 mm.
    assert "273.0" in row
    assert "built: the tube as it was measured, in place of candidate 1" in out
    assert "its bends of 90 90 degrees" in " ".join(out.split())
    assert main(["compare", str(path), "--json"]) == DONE
    told = json.loads(capsys.readouterr().out)
    assert told["runs"][0]["built"]["length"] == pytest.approx(272.964594)
    assert told["runs"][0]["chosen"] == 1
    assert told["loop"]["length"] == pytest.approx(272.964594)


def test_a_built_tube_that_is_too_near_is_told_not_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # A tank that is 4.2 mm higher is 2 mm below the tube, which wants 3.
    path = written(tmp_path, built(), dropping(*RUN, "candidates", 0), scene=SCENE)
    content = json.loads(path.read_text())
    assert content["runs"][0]["candidates"] == []
    scene = SCENE.replace("46.8", "51")
    path = written(
        tmp_path,
        built({**BUILT, "bend_radius": 28}),
        setting([], *RUN, "candidates"),
        setting(None, *RUN, "chosen"),
        setting("none was found", *RUN, "why"),
        scene=scene,
    )
    assert main(["compare", str(path)]) == DONE
    out = " ".join(capsys.readouterr().out.split())
    assert (
        "built: it comes within 2.00 mm of tank, against a clearance of 3.0 mm" in out
    )


def test_the_view_shows_the_built_tube_first(tmp_path: Path) -> None:
    plan = Plan.read(written(tmp_path, built()))
    selection = first_selection(plan, run=None, candidate=None)
    assert shown_candidate(plan, selection) is plan.runs[0].built
    words = [
        line.text
        for section in captions.sections(plan, selection, near=None)
        for line in section.lines
    ]
    assert "as built, in place of the chosen candidate" in words
    following = step_candidate(plan, selection, by=1)
    assert shown_candidate(plan, following) is plan.runs[0].candidates[0]
    assert step_candidate(plan, following, by=1) == selection
    assert step_candidate(plan, selection, by=-1) == following


def test_a_built_tube_that_touches_another_is_told(
    two: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (touch,) = touches(Plan.read(two))
    assert (touch.first, touch.second) == ("pump to card", "straight")
    assert touch.gap == pytest.approx(1.0, abs=1e-3)
    capsys.readouterr()
    assert main(["compare", str(two)]) == DONE
    out = " ".join(capsys.readouterr().out.split())
    assert "'pump to card' and 'straight' come within 1.00 mm of each other" in out
    # What is built is not chosen anew.
    assert "of 'pump to card' would keep clear" not in out


def test_others_are_routed_round_a_built_tube(
    two: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = Plan.read(two)
    assert before.run("straight").candidates[0].bends == 0
    assert main(["route", "two.toml", "--keep", "pump to card=built"]) == DONE
    after = Plan.read(two)
    assert after.run("pump to card").built == before.run("pump to card").built
    assert after.run("pump to card").chosen == 1
    assert not touches(after)
    chosen = after.run("straight").chosen_candidate
    assert chosen is not None
    assert chosen.bends > 0
    assert after.loop is not None
    assert after.loop.kept == ("pump to card",)
    assert not after.is_edited
    capsys.readouterr()


def test_a_built_tube_is_kept_where_the_scene_has_changed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = written(tmp_path, built())
    scene = tmp_path / "invented.toml"
    scene.write_text(HIGHER_TANK, encoding="utf-8")
    assert main(["compare", str(plan)]) == WRONG_INPUT
    assert "has changed since" in capsys.readouterr().err
    kept = ["route", str(scene), "-o", str(plan), "--keep", "pump to card=built"]
    assert main([*kept, "--force"]) == DONE
    after = Plan.read(plan)
    tube = after.run("pump to card").built
    assert tube is not None
    assert tube.centreline.vertices == tuple(map(tuple, VERTICES))
    assert tube.gap.distance == pytest.approx(5.2, abs=1e-4)


CHANGED: Final = {
    "other tube": (
        SCENE.replace("outer_diameter = 14", "outer_diameter = 13"),
        "its tubes are built of tube of 14 mm, and the scene now has tube of 13 mm",
    ),
    "no such run": (
        SCENE.replace("pump to card", "card feed"),
        "the scene has no run 'pump to card' any more; there are 'card feed'",
    ),
    "no such port": (
        SCENE.replace("ports.out", "ports.outlet").replace("pump.out", "pump.outlet"),
        "built.ends[1].port: found 'pump.out'; wanted 'pump.outlet' or 'pump.top'",
    ),
}


@pytest.mark.parametrize(("scene", "told"), CHANGED.values(), ids=CHANGED)
def test_what_a_changed_scene_does_not_offer_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], scene: str, told: str
) -> None:
    plan = written(tmp_path, built())
    before = plan.read_bytes()
    path = tmp_path / "invented.toml"
    path.write_text(scene, encoding="utf-8")
    command = ["route", str(path), "-o", str(plan), "--keep", "pump to card=built"]
    assert main([*command, "--force"]) == WRONG_INPUT
    assert told in capsys.readouterr().err
    assert plan.read_bytes() == before


def test_built_tubes_are_not_lost_unasked(
    two: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = two.read_bytes()
    assert main(["route", "two.toml"]) == WRONG_INPUT
    told = capsys.readouterr().err
    assert "holds tubes as built, which would be lost" in told
    assert "--keep 'pump to card=built'" in told
    assert two.read_bytes() == before
    assert main(["route", "two.toml", "--force"]) == DONE
    assert Plan.read(two).run("pump to card").built is None


KEEPS: Final = {
    "twice": (
        ("pump to card=built", "pump to card=1"),
        "--keep: found run 'pump to card' twice; a run keeps one tube",
    ),
    "built twice": (
        ("pump to card=built", "pump to card=built"),
        "--keep: found run 'pump to card' twice; a run keeps one tube",
    ),
    "not built": (
        ("pump to card=built", "straight=built"),
        "holds no built tube of run 'straight'; there are 'pump to card'",
    ),
    "no such run": (
        ("pump to card=built", "fan=built"),
        "holds no built tube of run 'fan'; there are 'pump to card'",
    ),
    "no word": (
        ("pump to card=bent",),
        "--keep: found 'pump to card=bent'; wanted NAME=RANK or NAME=built",
    ),
}


@pytest.mark.parametrize(("pairs", "told"), KEEPS.values(), ids=KEEPS)
def test_what_cannot_be_kept_is_named(
    two: Path, capsys: pytest.CaptureFixture[str], pairs: tuple[str, ...], told: str
) -> None:
    before = two.read_bytes()
    assert main(["route", "two.toml", "--keep", *pairs]) == WRONG_INPUT
    assert told in capsys.readouterr().err
    assert two.read_bytes() == before


def test_two_built_tubes_in_each_others_way_stay_and_are_told(
    two: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = json.loads(two.read_text())["runs"][1]["candidates"][0]
    put_in(two, {key: other[key] for key in BUILT}, run=1)
    keep = ["--keep", "pump to card=built", "straight=built"]
    assert main(["route", "two.toml", *keep]) in {DONE, NO_ROUTE}
    out = " ".join(capsys.readouterr().out.split())
    assert "come within 1.00 mm of each other" in out
    # Nothing but less clearance parts tubes that stay where they are, 1 mm apart.
    assert "with a clearance of 1 mm, all 2 would fit: 2 bends" in out
    after = Plan.read(two)
    assert all(run.built is not None for run in after.runs)


def test_a_built_tube_needs_no_blank_and_bends_says_so(
    two: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["bends", str(two)]) == DONE
    assert "run 'pump to card' is built already" in capsys.readouterr().err
    assert main(["sheets", str(two), "-o", str(two.parent / "out")]) == DONE
    from loopsolver.workshop.blanks import blanks

    assert [piece.run for piece in blanks(Plan.read(two))] == ["straight"]
