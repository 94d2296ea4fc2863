"""What each command prints, writes and returns."""

from __future__ import annotations

import json
import math
import shutil
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from loopsolver.cli.main import main
from loopsolver.plan import RANKINGS, Plan
from loopsolver.routing.diagnosis.no_route import FacingBlocked, Reason, Shortfall
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.routing.solve import Outcome
from tests.builders.plans import GAIN, candidate, ending
from tests.builders.texts import cylinder, head, part, port, run
from tests.commands import SCENES
from tests.unit.laid_down import LaidDown

SEARCH = "loopsolver.routing.loop.solving.solve_loop"
BOUGHT = {
    "material": "acrylic",
    "outer_diameter": "14 mm",
    "inner_diameter": "10 mm",
    "bend_radius": "28 mm",
    "stock_length": "500 mm",
    "trim_allowance": "30 mm",
}
COLLAR = {
    "height": "20 mm",
    "depth": "12 mm",
    "diameter": "22 mm",
    "straight_beyond": "5 mm",
}
Place = tuple[float, float, float]


def mm(*lengths: float) -> list[str]:
    """Return lengths in millimetres, whatever the scene's unit."""
    return [f"{length} mm" for length in lengths]


def scene_in(units: str, *, inner: list[int]) -> str:
    """Return the same scene, its case measured in a unit."""
    first = {"title": "Invented: three parts", "units": units}
    rules = {"straight_between_bends": "4 mm"}
    fittings = {"collar": COLLAR}
    return "".join(
        [
            head(first=first, inner=inner, tube=BOUGHT, rules=rules, fittings=fittings),
            *PARTS,
            *BODIES,
        ]
    )


PARTS = [
    part(
        "pump",
        [0, 0, 0],
        port("out", mm(100, 408, 100), "-y"),
        port("in", mm(208, 400, 300), "-x"),
        port("low", mm(158, 370, 116), "-x"),
    ),
    part(
        "card",
        [0, 0, 0],
        port("in", mm(190, 192, 100), "+y"),
        port("high", mm(160, 272, 160), "+y"),
        port("far", mm(408, 100, 100), "-x"),
        port("out", mm(92, 400, 300), "+x"),
        port("low", mm(42, 370, 116), "+x"),
    ),
    run("pump.out", ["card.in", "card.high", "card.far"], name="pump to card"),
    run(["card.out", "card.low"], ["pump.in", "pump.low"], name="card to pump"),
]
# Round bodies square across the tubes, so that one point of each tube is the nearest:
# its axis is the tube's radius of 7 mm, the gap and the body's radius of 10 mm away.
BODIES = [
    part(
        name,
        [0, 0, 0],
        cylinder(diameter="20 mm", height="20 mm", centre=mm(*centre), axis=axis),
    )
    for name, centre, axis in (
        ("tank", (190, 270, 100 - 7 - 6.2 - 10), "+x"),
        ("lamp", (160, 300, 160 + 7 + 9.3 + 10), "+x"),
        ("rail", (250, 100, 100 - 7 - 3.1 - 10), "+y"),
        ("bar", (150, 400, 300 - 7 - 10 - 10), "+y"),
    )
]
MILLIMETRES = scene_in("mm", inner=[500, 500, 500])
INCHES = scene_in("in", inner=[20, 20, 20])


def end(port: str, seat: Place, outlet: Place) -> EndFitting:
    """What holds a tube whose end sits 12 mm inside the mouth."""
    x, y, z = (at + 12.0 * along for at, along in zip(seat, outlet, strict=True))
    return ending(port, outlet, (x, y, z))


def made(
    *vertices: Place,
    ends: tuple[tuple[str, Place], tuple[str, Place]],
    gap: tuple[float, str, Place],
) -> Candidate:
    distance, name, at = gap
    (first, out), (last, back) = ends
    return candidate(
        *vertices,
        gap=distance,
        name=name,
        at=at,
        ends=(end(first, vertices[0], out), end(last, vertices[-1], back)),
    )


OUT = ("pump.out", (0, -1, 0))
# Legs 60 + 90 + 140, flat.
FLAT = made(
    (100, 400, 100),
    (100, 340, 100),
    (190, 340, 100),
    (190, 200, 100),
    ends=(OUT, ("card.in", (0, 1, 0))),
    gap=(6.2, "tank", (190, 270, 100)),
)
# Legs 60 + 60 + 60 + 60, every bend in a plane of its own.
STEEP = made(
    (100, 400, 100),
    (100, 340, 100),
    (160, 340, 100),
    (160, 340, 160),
    (160, 280, 160),
    ends=(OUT, ("card.high", (0, 1, 0))),
    gap=(9.3, "lamp", (160, 300, 160)),
)
# Legs 300 + 300: its blank of 648 mm is longer than the stock of 500 mm.
LONG = made(
    (100, 400, 100),
    (100, 100, 100),
    (400, 100, 100),
    ends=(OUT, ("card.far", (-1, 0, 0))),
    gap=(3.1, "rail", (250, 100, 100)),
)
FAR = made(
    (100, 400, 300),
    (200, 400, 300),
    ends=(("card.out", (1, 0, 0)), ("pump.in", (-1, 0, 0))),
    gap=(10.0, "bar", (150, 400, 300)),
)
# 16 mm above FLAT's first leg, so 5 mm above the collar of 22 mm on it, whose mouth is
# 18 mm away.
NEAR = made(
    (50, 370, 116),
    (150, 370, 116),
    ends=(("card.low", (1, 0, 0)), ("pump.low", (-1, 0, 0))),
    gap=(math.hypot(18, 5) - 7, "fitting on pump.out", (100, 370, 116)),
)

BLOCKED = Reason(
    facts=(
        FacingBlocked(
            ports=("card.out", "pump.in"), near=Shortfall(name="tank", by=4.0)
        ),
    ),
    suggestions=(),
)
WHY = (
    "the straight tube between card.out and pump.in comes 4 mm too near to tank; no "
    "change that was tried helps: there is none to try"
)

Outcomes = dict[str, Outcome]
BOTH: Outcomes = {
    "pump to card": Outcome(candidates=(LONG, FLAT, STEEP)),
    "card to pump": Outcome(candidates=(FAR,)),
}
ONE: Outcomes = {
    "pump to card": Outcome(candidates=(FLAT,)),
    "card to pump": Outcome(candidates=(), why=BLOCKED),
}
TOUCHING: Outcomes = {
    "pump to card": Outcome(candidates=(FLAT, STEEP)),
    "card to pump": Outcome(candidates=(NEAR, FAR)),
}


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a scene in it, which is the working folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    Path("invented.toml").write_text(MILLIMETRES, encoding="utf-8")
    return tmp_path


@pytest.fixture
def search(monkeypatch: pytest.MonkeyPatch) -> Callable[[Outcomes], None]:
    """What the search finds is laid down."""

    def lay_down(outcomes: Outcomes) -> None:
        monkeypatch.setattr(SEARCH, LaidDown(outcomes))

    return lay_down


@pytest.fixture
def routed(
    bench: Path,
    search: Callable[[Outcomes], None],
    capsys: pytest.CaptureFixture[str],
) -> Path:
    """The same folder with the plan in it."""
    search(BOTH)
    assert main(["route", "invented.toml"]) == 0
    capsys.readouterr()
    return bench


class Printed:
    """Runs a command and keeps what it printed."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, *argv: str, status: int = 0) -> Printed:
        assert main(list(argv)) == status
        captured = self._capsys.readouterr()
        self.out, self.err = captured.out, captured.err
        self.words = " ".join(self.out.split())
        return self

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def printed(capsys: pytest.CaptureFixture[str]) -> Printed:
    return Printed(capsys)


# ------------------------------------------------------------------------------- new


def test_new_writes_a_scene_that_check_likes(bench: Path, printed: Printed) -> None:
    printed("new", "mine.toml")
    assert printed.out == ""
    assert "mine.toml" in printed.err
    assert "Nothing wrong" in printed("check", "mine.toml").out


def test_new_overwrites_nothing_unless_forced(bench: Path, printed: Printed) -> None:
    printed("new", "invented.toml", status=2)
    assert "invented.toml: stands there already" in printed.err
    assert Path("invented.toml").read_text("utf-8") == MILLIMETRES
    printed("new", "invented.toml", "--force")
    assert Path("invented.toml").read_text("utf-8") != MILLIMETRES


def test_new_in_a_folder_that_is_not_there(bench: Path, printed: Printed) -> None:
    assert "there is no folder" in printed("new", "no/mine.toml", status=2).err


# ----------------------------------------------------------------------------- check


def test_check_sums_the_scene_up(bench: Path, printed: Printed) -> None:
    words = printed("check", "invented.toml").words
    assert "500.0 x 500.0 x 500.0 mm inside" in words
    assert "acrylic, 14.0 mm outside, 10.0 mm inside" in words
    assert "6 with 4 bodies and 8 ports; 0 keep-outs" in words
    assert "pump to card: pump.out to card.in or card.high or card.far" in words


def test_check_in_json(bench: Path, printed: Printed) -> None:
    content = printed("check", "invented.toml", "--json").json
    assert content["usable"] is True
    assert content["case"]["inner"] == [500.0, 500.0, 500.0]
    assert content["components"][0]["ports"] == ["pump.out", "pump.in", "pump.low"]
    assert [run["from"] for run in content["runs"]] == [
        ["pump.out"],
        ["card.out", "card.low"],
    ]
    assert content["faults"] == []


def test_a_doubt_is_printed_and_changes_no_status(
    bench: Path, printed: Printed
) -> None:
    # Two runs that end in one port cannot both be meant.
    text = MILLIMETRES.replace('["card.in", "card.high", "card.far"]', '"card.in"')
    text = text.replace('to = ["pump.in", "pump.low"]', 'to = "card.in"')
    Path("invented.toml").write_text(text, encoding="utf-8")
    assert "card.in: " in printed("check", "invented.toml").out
    doubts = printed("check", "invented.toml", "--json").json["doubts"]
    assert "card.in" in {doubt["where"] for doubt in doubts}
    assert all(doubt["message"] and doubt["kind"] for doubt in doubts)


def test_every_fault_of_a_scene_is_told(bench: Path, printed: Printed) -> None:
    text = MILLIMETRES.replace('"acrylic"', '"straw"').replace('"-y"', '"-w"')
    Path("invented.toml").write_text(text, encoding="utf-8")
    printed("check", "invented.toml", status=2)
    assert printed.out == ""
    assert "straw" in printed.err
    assert "components.pump.ports.out.direction" in printed.err
    content = printed("check", "invented.toml", "--json", status=2).json
    assert content["usable"] is False
    assert len(content["faults"]) == 2
    assert {"file", "line", "key_path", "found", "wanted", "nearest"} == set(
        content["faults"][0]
    )


# ----------------------------------------------------------------------------- route


def test_route_compares_writes_and_says_what_is_next(
    bench: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    search(BOTH)
    printed("route", "invented.toml")
    rows = [line.split() for line in printed.out.splitlines()]
    length = f"{290 - 2 * GAIN:.1f}"
    blank = f"{350 - 2 * GAIN:.1f}"
    # LONG has the fewest bends, so it is the first by the default ranking.
    assert ["2", "2", "1", "180", length, blank, "6.2", "tank"] in rows
    assert "* 1 1 1" in printed.words
    assert "Plan written to invented.plan.json: 2 of 2 runs with a route" in printed.err
    for command in ("compare", "view", "bends"):
        assert f"`loopsolver {command} invented.plan.json`" in printed.err
    assert Plan.read(Path("invented.plan.json")).runs[0].candidates[0].bends == 1


@pytest.mark.parametrize("by", RANKINGS)
def test_every_ranking_is_offered_by_name(
    by: str, bench: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    search(BOTH)
    assert by in printed("route", "--help").out
    printed("route", "invented.toml", "--by", by)
    best = Plan.read(Path("invented.plan.json")).runs[0].candidates[0]
    key = RANKINGS[by]
    assert key(best) == min(key(one) for one in (LONG, FLAT, STEEP))


def test_route_by_what_is_not_known(bench: Path, printed: Printed) -> None:
    printed("route", "invented.toml", "--by", "beauty", status=2)
    assert "found 'beauty'; wanted one of bends, length, gap" in printed.err


def test_route_only_some_runs(
    bench: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    search(BOTH)
    printed("route", "invented.toml", "--run", "card to pump", "-o", "part.json")
    assert [run.name for run in Plan.read(Path("part.json")).runs] == ["card to pump"]
    assert "leaves out run 'pump to card' of the scene" in printed.err
    printed("route", "invented.toml", "--run", "card to pump", "pump to card")
    assert len(Plan.read(Path("invented.plan.json")).runs) == 2
    assert "no run 'x'" in printed("route", "invented.toml", "--run", "x", status=2).err


def test_a_run_without_a_route_is_status_3_and_its_reason_is_everywhere(
    bench: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    search(ONE)
    why = WHY
    assert why in printed("route", "invented.toml", status=3).words
    assert "1 of 2 runs with a route" in printed.err
    assert Plan.read(Path("invented.plan.json")).runs[1].why == why
    plan = "invented.plan.json"
    assert why in printed("compare", plan, status=3).words
    assert why in printed("bends", plan, status=3).words
    assert printed("bends", plan, "--json", status=3).json["without_route"] == [
        {"name": "card to pump", "why": why}
    ]
    assert why not in printed("compare", plan, "--run", "pump to card").words
    assert why in printed("bends", plan, "--run", "card to pump", status=3).words


def test_touching_tubes_are_told_with_a_way_out(
    bench: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    search(TOUCHING)
    words = printed("route", "invented.toml").words
    # Axes 16 mm apart, less two radii of 7 mm: a gap of 2 mm where 3 are asked for.
    assert "come within 2.00 mm of each other" in words
    assert "1.00 mm less than the clearance of 3.0 mm" in words
    assert "candidate 2 of 'card to pump' would keep clear" in words
    (touch,) = printed("compare", "invented.plan.json", "--json").json["touches"]
    assert touch["gap"] == pytest.approx(2.0, abs=2e-4)
    assert {"run": "card to pump", "candidate": 2} in touch["ways_out"]
    # Nobody bends them, or prints their sheets, without being told.
    for command in (("bends",), ("sheets", "-o", "sheets")):
        printed(command[0], "invented.plan.json", *command[1:])
        assert "come within 2.00 mm of each other" in " ".join(printed.err.split())
    # Chosen as advised, in the file itself, they touch no more.
    path = Path("invented.plan.json")
    content = json.loads(path.read_text("utf-8"))
    content["runs"][1]["chosen"] = 2
    path.write_text(json.dumps(content), encoding="utf-8")
    assert printed("compare", path.name, "--json").json["touches"] == []
    printed("bends", path.name)
    assert "of each other" not in printed.err


def test_routes_that_failed_the_check_are_told(
    bench: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    search(
        {
            "pump to card": Outcome(candidates=(FLAT,), refused=2),
            "card to pump": Outcome(candidates=(FAR,)),
        }
    )
    assert (
        "2 routes. That is a fault of loopsolver"
        in printed("route", "invented.toml").err
    )


def test_route_in_json(
    bench: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    search(BOTH)
    content = printed("route", "invented.toml", "--json").json
    assert content["plan"] == "invented.plan.json"
    assert content["units"] == "mm"
    first = content["runs"][0]
    assert [one["rank"] for one in first["candidates"]] == [1, 2, 3]
    assert first["candidates"][1]["length"] == pytest.approx(290 - 2 * GAIN)
    assert [one["fits_stock"] for one in first["candidates"]] == [False, True, True]


def test_a_plan_is_written_over_but_nothing_else(
    routed: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    search(ONE)
    printed("route", "invented.toml", status=3)
    Path("notes.txt").write_text("mine", encoding="utf-8")
    printed("route", "invented.toml", "-o", "notes.txt", status=2)
    assert "notes.txt: stands there already and is no plan" in printed.err
    assert Path("notes.txt").read_text("utf-8") == "mine"
    printed("route", "invented.toml", "-o", "notes.txt", "--force", status=3)


def test_a_plan_that_was_edited_is_kept_unless_forced(
    routed: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    """Another choice is meant to be made by hand, and is no such edit."""
    path = Path("invented.plan.json")
    text = path.read_text("utf-8")
    path.write_text(text.replace('"chosen": 1', '"chosen": 2', 1), "utf-8")
    assert path.read_text("utf-8") != text
    search(ONE)
    printed("route", "invented.toml", status=3)
    edited = path.read_text("utf-8").replace('"title": "', '"title": "my own ', 1)
    path.write_text(edited, "utf-8")
    printed("route", "invented.toml", status=2)
    assert 'more than "chosen" was changed in it' in printed.err
    assert path.read_text("utf-8") == edited
    printed("route", "invented.toml", "--force", status=3)
    assert "my own" not in path.read_text("utf-8")


def test_nothing_is_searched_for_that_has_no_place(
    bench: Path, monkeypatch: pytest.MonkeyPatch, printed: Printed
) -> None:
    def never(*_: object, **__: object) -> None:
        pytest.fail("searched all the same")

    monkeypatch.setattr(SEARCH, never)
    printed("route", "invented.toml", "-o", "no/where.json", status=2)
    assert "there is no folder" in printed.err


# --------------------------------------------------------------------------- compare


def test_compare_says_what_is_better_in_which_respect(
    routed: Path, printed: Printed
) -> None:
    words = printed("compare", "invented.plan.json").words
    # Against LONG, 600 - GAIN: FLAT's 290 - 2 GAIN is 310 + GAIN shorter.
    shorter = f"{310 + GAIN:.1f} mm shorter"
    assert f"candidate 2: {shorter}, gap 3.1 mm larger (to tank), but 1 bend" in words
    over = f"candidate 1 by {600 - GAIN + 60 - 500:.1f} mm"
    assert f"blank longer than the stock of 500.0 mm: {over}" in words


def test_compare_by_another_figure_keeps_the_ranks(
    routed: Path, printed: Printed
) -> None:
    content = printed("compare", "invented.plan.json", "--by", "gap", "--json").json
    ranks = [one["rank"] for one in content["runs"][0]["candidates"]]
    gaps = [one["gap"] for one in content["runs"][0]["candidates"]]
    assert gaps == pytest.approx([9.3, 6.2, 3.1], abs=2e-4)
    assert ranks == [3, 2, 1]
    assert content["runs"][0]["chosen"] == 1


def test_compare_one_run(routed: Path, printed: Printed) -> None:
    printed("compare", "invented.plan.json", "--run", "card to pump")
    assert "pump to card" not in printed.out
    printed("compare", "invented.plan.json", "--run", "x", status=2)
    assert "there are 'pump to card', 'card to pump'" in printed.err


# ----------------------------------------------------------------------------- bends


def test_bends_of_the_chosen_candidate(routed: Path, printed: Printed) -> None:
    words = printed("bends", "invented.plan.json", "--run", "pump to card").words
    assert "candidate 1 of 3, chosen: 1 bend in 1 plane" in words
    assert "Closing straight: 272.0 mm" in words  # 300 - 28


def test_bends_plane_by_plane_with_marks(routed: Path, printed: Printed) -> None:
    name = ("--run", "pump to card", "--candidate", "3")
    printed("bends", "invented.plan.json", *name)
    lines = [line.split() for line in printed.out.splitlines()]
    # -y, +x, +z, -y. Normals: -y x +x = +z, +x x +z = -y, +z x -y = +x.
    # From +z to -y about +x: -y is a quarter turn on from +z (y to z is +90), so +90.
    # From -y to +x about +z: +x is a quarter turn on from -y (x to y is +90), so +90.
    assert ["1", "32.0", "0.0", "90.0"] in lines
    assert ["2", "4.0", "90.0", "90.0"] in lines
    assert ["3", "4.0", "90.0", "90.0"] in lines
    assert "Bend 2 points 90 degrees clockwise of bend 1." in printed.words
    assert printed.out.count("Plane ") == 3
    # Trim 30, straight 32, arc 28 pi / 2 = 43.98; one diameter of 14 heated each side.
    assert ["1", "62.0", "84.0", "106.0", "48.0", "120.0"] in lines
    assert "gloves" in printed.out
    assert "README.md" in printed.out


def test_bends_in_json(routed: Path, printed: Printed) -> None:
    name = ("--run", "pump to card", "--candidate", "2")
    (run,) = printed("bends", "invented.plan.json", *name, "--json").json["runs"]
    assert run["candidate"] == 2
    assert run["bend_table"] == [
        {"straight": 32.0, "rotation": 0.0, "angle": 90.0},
        {"straight": 34.0, "rotation": 180.0, "angle": 90.0},
        {"straight": 112.0},
    ]
    assert run["plane_stretches"] == [{"first": 1, "last": 2, "turn": 0.0}]
    arc = 14.0 * math.pi
    assert run["marks"][0]["start"] == 62.0
    assert run["marks"][0]["end"] == pytest.approx(62.0 + arc, abs=1e-6)
    assert run["marks"][1]["start"] == pytest.approx(96.0 + arc, abs=1e-6)
    assert run["fits_stock"] is True


def test_a_straight_tube_has_no_bends(routed: Path, printed: Printed) -> None:
    words = printed("bends", "invented.plan.json", "--run", "card to pump").words
    assert "No bends: a straight tube." in words
    assert "Cut a blank of 160.0 mm" in words


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--candidate", "2"], "candidate 2 of which run?"),
        (["--run", "pump to card", "--candidate", "4"], "it has candidates 1 to 3"),
        (["--run", "pump to card", "--candidate", "0"], "wanted the rank"),
        (["--run", "pump to card", "--candidate", "one"], "found 'one'"),
        (["--run", "x"], "no run 'x'"),
    ],
)
def test_bends_of_what_is_not_there(
    options: list[str], told: str, routed: Path, printed: Printed
) -> None:
    printed("bends", "invented.plan.json", *options, status=2)
    assert told in printed.err
    assert printed.out == ""


def test_a_candidate_of_the_only_run_needs_no_name(
    bench: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    search(BOTH)
    printed("route", "invented.toml", "--run", "pump to card")
    assert (
        "candidate 2 of 3"
        in printed("bends", "invented.plan.json", "--candidate", "2").out
    )


# ------------------------------------------------------------------------------ view


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """What would be shown and pictured."""
    seen: list[tuple[Any, ...]] = []

    def show(subject: object, *, run: str | None, candidate: int | None) -> None:
        seen.append(("window", type(subject).__name__, run, candidate))

    def screenshot(
        subject: object, path: Path, *, run: str | None, candidate: int | None, **_: Any
    ) -> None:
        seen.append((str(path), type(subject).__name__, run, candidate))

    monkeypatch.setattr("loopsolver.view.window.show", show)
    monkeypatch.setattr("loopsolver.view.window.screenshot", screenshot)
    return seen


def test_view_tells_scenes_from_plans_by_what_is_in_them(
    routed: Path, windows: list[tuple[Any, ...]], printed: Printed
) -> None:
    shutil.copy("invented.plan.json", "one")
    shutil.copy("invented.toml", "two")
    printed("view", "one")
    printed("view", "two")
    printed("view", "one", "--run", "pump to card", "--candidate", "2")
    printed("view", "one", "--screenshot", "a.png")
    assert windows == [
        ("window", "Plan", None, None),
        ("window", "Scene", None, None),
        ("window", "Plan", "pump to card", 2),
        ("a.png", "Plan", None, None),
    ]
    assert "a.png" in printed.err


def test_a_plan_is_parsed_once_by_what_must_not_write_over_it(
    routed: Path, printed: Printed, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`sheets` and `view` are told by the plan itself which files it was read from."""
    parsed: list[str] = []
    loads = json.loads

    def noted(text: str | bytes, **options: Any) -> Any:
        content = loads(text, **options)
        if isinstance(text, bytes):
            parsed.append(content["scene"])
        return content

    plan = Path("invented.plan.json")
    text = plan.read_text("utf-8").replace('"invented.toml"', '"scene.png"')
    plan.write_text(text, encoding="utf-8")
    shutil.copy("invented.toml", "scene.png")
    monkeypatch.setattr("json.loads", noted)
    printed("sheets", plan.name, "-o", "sheets", "--run", "pump to card")
    assert parsed == ["scene.png"]
    printed("view", plan.name, "--screenshot", "scene.png", "--force", status=2)
    assert parsed == ["scene.png"] * 2
    assert "is the file that is read" in printed.err


def test_a_page_is_written_and_nothing_else_written_over(
    routed: Path, printed: Printed
) -> None:
    for subject in ("invented.plan.json", "invented.toml"):
        printed("view", subject, "--html", "a.html", status=0)
        assert printed.err.endswith("Page written to a.html.\n")
        assert Path("a.html").read_bytes().startswith(b"<!DOCTYPE html>")
    Path("a.html").write_text("mine", encoding="utf-8")
    printed("view", "invented.plan.json", "--html", "a.html", status=2)
    assert "not as loopsolver wrote it" in printed.err
    assert Path("a.html").read_text(encoding="utf-8") == "mine"
    printed("view", "invented.plan.json", "--html", "a.html", "--force", status=0)
    printed("view", "invented.plan.json", "--html", "invented.toml", status=2)
    printed("view", "invented.plan.json", "--html", "b.html", "--run", "x", status=2)
    assert not Path("b.html").exists()


def test_tubes_and_scene_are_exported(routed: Path, printed: Printed) -> None:
    plan = "invented.plan.json"
    printed("export", plan, "-o", "a.glb", status=0)
    assert "written to a.glb, in metres" in printed.err
    printed("export", plan, "-o", "a.stl", "--only", "tubes", status=0)
    assert printed.err == (
        "2 parts written to a.stl, in mm, which the file itself cannot say: say so to "
        "what opens it.\n"
    )
    printed("export", plan, "-o", "a.obj", status=2)
    assert "wanted .glb or .stl" in printed.err
    printed("export", plan, "-o", "a.stl", "--run", "x", status=2)
    printed("export", "invented.toml", "-o", "b.stl", status=2)
    assert not Path("b.stl").exists()


# --------------------------------------------------------- scenes for plans, and units


def test_a_scene_is_no_plan_and_a_plan_no_scene(routed: Path, printed: Printed) -> None:
    for command in ("compare", "bends"):
        printed(command, "invented.toml", status=2)
        assert "run `loopsolver route invented.toml` first" in printed.err
    for command in ("route", "check"):
        printed(command, "invented.plan.json", status=2)
        assert "invented.plan.json: found JSON" in printed.err


@pytest.mark.parametrize(
    "command", ["check", "measure", "route", "compare", "bends", "view"]
)
def test_a_file_that_is_not_there(command: str, bench: Path, printed: Printed) -> None:
    printed(command, "none.such", status=2)
    assert "none.such" in printed.err
    assert printed.out == ""


@pytest.mark.parametrize("command", ["measure", "compare", "bends", "view"])
def test_a_plan_of_a_changed_scene_is_refused(
    command: str, routed: Path, printed: Printed
) -> None:
    with Path("invented.toml").open("a", encoding="utf-8") as file:
        file.write("# moved\n")
    printed(command, "invented.plan.json", status=2)
    assert "invented.toml has changed since this plan was written" in printed.err


def test_inches_for_who_measures_in_inches(
    bench: Path, search: Callable[[Outcomes], None], printed: Printed
) -> None:
    Path("invented.toml").write_text(INCHES, encoding="utf-8")
    search(BOTH)
    words = printed("route", "invented.toml").words
    length = (290 - 2 * GAIN) / 25.4
    assert f"2 2 1 180 {length:.3f}" in words
    bends = printed("bends", "invented.plan.json", "--run", "card to pump").words
    # 160 mm are 6.299 in.
    assert "Cut a blank of 6.299 in (160.0 mm)" in bends
    content = printed("bends", "invented.plan.json", "--json").json
    assert content["units"] == "mm"
    assert content["runs"][1]["blank"] == 160.0


# ---------------------------------------------------------------------------- schema


def test_schemas_one_by_one_and_together(printed: Printed) -> None:
    both = printed("schema").json
    assert set(both) == {"scene", "plan"}
    for name, schema in both.items():
        Draft202012Validator.check_schema(schema)
        assert printed("schema", name).json == schema
    assert "scene" in printed("schema", "tube", status=2).err


def test_a_plan_keeps_to_its_schema(routed: Path, printed: Printed) -> None:
    validator = Draft202012Validator(printed("schema", "plan").json)
    plan = json.loads(Path("invented.plan.json").read_text("utf-8"))
    assert list(validator.iter_errors(plan)) == []
    plan["runs"][0]["candidates"][0]["vertices"] = [[0, 0, 0]]
    assert len(list(validator.iter_errors(plan))) == 1


@pytest.mark.parametrize("name", ["heron", "robin", "wren"])
def test_the_demonstration_builds_keep_to_the_schema(
    name: str, printed: Printed
) -> None:
    validator = Draft202012Validator(printed("schema", "scene").json)
    scene = tomllib.loads((SCENES / f"{name}.toml").read_text("utf-8"))
    assert [error.message for error in validator.iter_errors(scene)] == []
    scene["tube"]["colour"] = "red"
    assert len(list(validator.iter_errors(scene))) == 1


# -------------------------------------------------------------- loopsolver's own faults


def test_its_own_fault_is_status_1_with_where_to_report_it(
    bench: Path, monkeypatch: pytest.MonkeyPatch, printed: Printed
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(SEARCH, broken)
    printed("route", "invented.toml", status=1)
    assert "ZeroDivisionError" in printed.err
    assert "report it" in printed.err
    assert "Traceback" not in printed.err
    assert not Path("invented.plan.json").exists()
    for argv in (
        ["route", "invented.toml", "--traceback"],
        ["--traceback", "route", "invented.toml"],
    ):
        assert "Traceback" in printed(*argv, status=1).err


def test_ctrl_c_is_status_130(
    bench: Path, monkeypatch: pytest.MonkeyPatch, printed: Printed
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(SEARCH, stopped)
    printed("route", "invented.toml", status=130)
    assert printed.err == "loopsolver: stopped\n"
    assert sorted(one.name for one in bench.iterdir()) == ["invented.toml"]


@pytest.mark.parametrize(
    ("argv", "status"),
    [
        (["--help"], 0),
        (["--version"], 0),
        ([], 2),
        (["polish"], 2),
        (["route"], 2),
        (["route", "a.toml", "--colour"], 2),
        (["bends", "a.json", "--cand", "1"], 2),  # no shortened options
        (["view", "a", "--html", "a.html", "--screenshot", "a.png"], 2),
    ],
)
def test_the_command_line_itself(
    argv: list[str], status: int, printed: Printed
) -> None:
    printed(*argv, status=status)
    assert ("usage" in printed.err) == (status == 2)


def test_main_takes_the_command_line_of_the_process(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["loopsolver", "--version"])
    assert main() == 0
    assert capsys.readouterr().out == "loopsolver 0.1.0\n"
