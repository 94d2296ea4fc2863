"""A plan that was edited by hand: what vouches for it, what is shown of it all the same."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from loopsolver.cli.main import main
from loopsolver.errors import PlanError
from loopsolver.plan import Plan
from loopsolver.plan.judging import chosen_candidate
from loopsolver.plan.untold import sum_of
from loopsolver.view import captions
from loopsolver.view.selection import first_selection
from tests.builders.texts import BOUGHT, head, part, port, run, table
from tests.contract.true_plan import CANDIDATE, GOOD, SCENE, setting, written

RING = "".join(
    [
        head(
            first={"title": "Invented: three parts in a ring"},
            inner=[400, 300, 120],
            tube={**BOUGHT, "stock_length": 900},
            rules={"max_bends": 2, "candidates": 2},
        ),
        part(
            "pump",
            [40, 40, 60],
            port("out", [10, 0, 0], "+x", flow="out"),
            port("in", [0, 10, 0], "+y", flow="in"),
        ),
        part(
            "card",
            [340, 40, 60],
            port("in", [0, 0, 0], "-x", flow="in"),
            port("out", [10, 10, 0], "+y", flow="out"),
        ),
        part(
            "roof",
            [200, 240, 60],
            port("in", [10, 0, 0], "+x", flow="in"),
            port("out", [0, 0, 0], "-x", flow="out"),
        ),
        table("[loop]", {"order": "any"}),
    ]
)
ONE_RUN = run("card.out", "roof.in")


def plain_sum(content: dict[str, Any]) -> str:
    """The sum as the schema words it, reckoned here for a plan of floats and texts."""
    kept = {key: value for key, value in content.items() if key != "sum"}
    kept["runs"] = [
        {key: value for key, value in run.items() if key != "chosen"}
        for run in kept["runs"]
    ]
    text = json.dumps(kept, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def test_the_sum_is_that_of_all_but_itself_and_what_is_chosen() -> None:
    content = {"x": 1.5, "b": [2.0, "ä"], "runs": [{"name": "a", "chosen": 1.0}]}
    assert sum_of(content) == plain_sum(content)
    assert sum_of({**content, "sum": "?"}) == sum_of(content)
    chosen = copy.deepcopy(content)
    chosen["runs"][0]["chosen"] = None  # type: ignore[index]
    assert sum_of(chosen) == sum_of(content)
    renamed = copy.deepcopy(content)
    renamed["runs"][0]["name"] = "b"  # type: ignore[index]
    assert sum_of(renamed) != sum_of(content)


def test_how_a_number_is_written_does_not_change_the_sum() -> None:
    assert sum_of({"x": 28}) == sum_of({"x": 28.0})
    assert sum_of({"x": 28}) != sum_of({"x": 29})
    assert sum_of({"x": True}) != sum_of({"x": 1})
    assert sum_of({"a": 1, "b": 2}) == sum_of({"b": 2, "a": 1})


@pytest.fixture(scope="module")
def ring(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a ring of any order, routed."""
    folder = tmp_path_factory.mktemp("ring")
    (folder / "ring.toml").write_text(RING, encoding="utf-8")
    plan = folder / "ring.plan.json"
    assert main(["route", str(folder / "ring.toml"), "-o", str(plan)]) == 0
    return folder


@pytest.fixture
def edited(ring: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Path]:
    """Writes the plan with changes beside the untouched one."""
    monkeypatch.setenv("COLUMNS", "100")

    def write(change: Callable[[Any], None]) -> Path:
        content = json.loads((ring / "ring.plan.json").read_text("utf-8"))
        change(content)
        path = ring / "edited.plan.json"
        path.write_text(json.dumps(content), encoding="utf-8")
        return path

    return write


NOTHING: Callable[[Any], None] = lambda _: None  # noqa: E731
TOUCHED = setting(99, "loop", "routes")


def test_route_writes_the_sum_and_a_rewritten_plan_renews_it(ring: Path) -> None:
    path = ring / "ring.plan.json"
    content = json.loads(path.read_text("utf-8"))
    assert content["sum"] == sum_of(content)
    plan = Plan.read(path)
    assert not plan.is_edited
    assert plan.loop is not None
    again = ring / "again.plan.json"
    plan.write(again, scene_path=ring / "ring.toml")
    assert again.read_bytes() == path.read_bytes()


@pytest.mark.parametrize("change", [NOTHING, setting(None, "runs", 0, "later")])
def test_only_what_vouches_tells_the_two_apart(
    change: Callable[[Any], None], edited: Callable[..., Path]
) -> None:
    assert Plan.read(edited(change)).is_edited is (change is not NOTHING)


def test_how_good_is_shown_of_an_untouched_plan_and_not_of_a_touched_one(
    edited: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", str(edited(NOTHING))]) == 0
    printed = capsys.readouterr()
    assert "routes found" in printed.out
    assert printed.err == ""
    whole = printed.out.partition("the loop: ")[0]
    path = edited(TOUCHED)
    assert main(["compare", str(path)]) == 0
    printed = capsys.readouterr()
    assert "routes found" not in printed.out
    assert "99" not in printed.out
    assert "the loop: 2 bends" in printed.out  # its tubes add up as they are
    assert "how good the choice is is not shown" in printed.out
    assert printed.out.partition("the loop: ")[0] == whole
    (line,) = printed.err.splitlines()
    assert line.startswith(f"{path}: edited by hand, or written by an older")
    assert "not shown, as no scene can tell it: how good the choice is" in line


def test_the_json_of_a_touched_plan_holds_no_claim(
    edited: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", str(edited(TOUCHED)), "--json"]) == 0
    loop = json.loads(capsys.readouterr().out)["loop"]
    assert loop["bends"] == 2
    assert {"proven", "bound", "rounds", "routes", "ended"}.isdisjoint(loop)


def test_the_window_says_so_too(edited: Callable[..., Path]) -> None:
    plan = Plan.read(edited(TOUCHED))
    shown = first_selection(plan, run=None, candidate=None)
    words = " ".join(
        line.text.strip()
        for section in captions.sections(plan, shown, near=None)
        for line in section.lines
    )
    assert "edited by hand: how good is not shown" in words
    assert "routes" not in words


def test_a_wrong_total_is_a_fault_in_a_touched_plan(
    edited: Callable[..., Path],
) -> None:
    with pytest.raises(
        PlanError, match=r"loop\.total: found \[5, .* mm, 0\]; wanted \[2, "
    ):
        Plan.read(edited(setting(5.0, "loop", "total", 0)))
    with pytest.raises(PlanError, match=r"loop\.by: found 'luck'; wanted one of bends"):
        Plan.read(edited(setting("luck", "loop", "by")))


def test_bends_of_a_touched_plan_are_those_of_the_untouched_one(
    edited: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["bends", str(edited(NOTHING))]) == 0
    whole = capsys.readouterr().out
    assert main(["bends", str(edited(TOUCHED))]) == 0
    assert capsys.readouterr().out == whole


# --------------------------------------------------------------- what is used is judged


def test_only_what_is_used_is_judged(tmp_path: Path) -> None:
    def with_another(content: dict[str, Any]) -> None:
        (run,) = content["runs"]
        run["candidates"].append({**copy.deepcopy(run["candidates"][0]), "rank": 2})
        setting(99, "runs", 0, "candidates", 1, "gap")(content)

    path = written(tmp_path, with_another)
    assert len(Plan.read(path, used=chosen_candidate).runs) == 1
    with pytest.raises(
        PlanError, match=r"candidates\[2\]\.gap: found 99 mm; wanted 6\.2"
    ):
        Plan.read(path)
    assert main(["bends", str(path)]) == 0
    assert main(["bends", str(path), "--candidate", "1"]) == 0
    for command in (["bends", "--candidate", "2"], ["compare"]):
        assert main([command[0], str(path), *command[1:]]) == 2


@pytest.mark.parametrize(
    ("key", "value"),
    [("fitting", "none such"), ("outlet", [0, 0, 0])],
)
@pytest.mark.parametrize("command", ["bends", "compare", "sheets", "view", "route"])
def test_an_end_that_cannot_be_is_no_fault_of_loopsolver(
    command: str,
    key: str,
    value: Any,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = written(tmp_path, setting(value, *CANDIDATE, "ends", 0, key))
    more = {
        "sheets": ["-o", str(tmp_path / "out")],
        "view": ["--screenshot", str(tmp_path / "a.png")],
        "route": ["-o", str(path), "--keep", "pump to card=1"],
    }.get(command, [])
    subject = tmp_path / "invented.toml" if command == "route" else path
    before = path.read_bytes()
    assert main([command, str(subject), *more]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert f"runs[1].candidates[1].ends[1].{key}: found " in printed.err
    assert not (tmp_path / "out").exists()
    assert path.read_bytes() == before


# --------------------------------------------------------------------- what is not there


def test_a_ring_of_any_order_holds_all_its_tubes(
    ring: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = str(tmp_path / "ring.plan.json")
    assert main(["route", str(ring / "ring.toml"), "-o", target]) == 0
    err = capsys.readouterr().err
    assert "3 of 3 runs with a route." in err
    assert "leaves out" not in err
    assert "holds no tube" not in err


def test_one_run_of_a_ring_is_judged_as_it_was_routed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scene, plan = tmp_path / "ring.toml", tmp_path / "ring.plan.json"
    scene.write_text(RING + ONE_RUN, encoding="utf-8")
    only = ["--run", "card to roof"]
    assert main(["route", str(scene), "-o", str(plan), *only]) == 0
    words = "holds no tube from pump, roof on, as the loop wants it"
    assert f"It {words}." in capsys.readouterr().err
    assert main(["compare", str(plan)]) == 0
    assert capsys.readouterr().err == f"{plan}: {words}\n"


def test_a_run_that_is_missing_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scene = SCENE + '\n[[runs]]\nname = "back"\nfrom = "card.out"\nto = "pump.in"\n'
    scene += '[components.card.ports.out]\nposition = [20, 0, 40]\ndirection = "+z"\n'
    scene += '[components.pump.ports.in]\nposition = [0, 0, 20]\ndirection = "-x"\n'
    path = written(tmp_path)
    (tmp_path / "invented.toml").write_text(scene, encoding="utf-8")
    content = {
        **GOOD,
        "scene_sha256": hashlib.sha256(scene.encode()).hexdigest(),
    }
    content["sum"] = sum_of(content)
    path.write_text(json.dumps(content), encoding="utf-8")
    assert main(["bends", str(path)]) == 0
    assert capsys.readouterr().err == f"{path}: leaves out run 'back' of the scene\n"
