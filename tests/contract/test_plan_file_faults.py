"""A plan file that is not what it says is refused: file, key, found, wanted."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from loopsolver.errors import PlanError
from loopsolver.plan import Plan
from tests.builders.texts import box, elbow, part, table
from tests.contract.true_plan import (
    CANDIDATE,
    RUN,
    SCENE,
    Change,
    dropping,
    setting,
    several,
    written,
)

HERE = "runs[1].candidates[1]"
END = (*CANDIDATE, "ends", 0)

LOOP = {
    "by": "bends",
    "total": [2, 265.964594, 0],
    "bound": [2, 265.964594, 0],
    "proven": True,
    "rounds": 0,
    "routes": 1,
}
"""A loop of the one tube there is: its bends, its length, its elbows."""


def told_loop(content: dict[str, Any]) -> None:
    """Put the loop in, and a sum that is not that of the file."""
    content.update(loop=copy.deepcopy(LOOP), sum="of another file")


def with_another(*changes: Change, by: str = "bends") -> Change:
    """Return what puts the candidate there a second time, with changes."""

    def change(content: dict[str, Any]) -> None:
        told_loop(content)
        content["loop"] = {**LOOP, "by": by}
        candidates = content["runs"][0]["candidates"]
        candidates.append({**copy.deepcopy(candidates[0]), "rank": 2})
        several(*changes)(candidates[1])

    return change


FAULTS: dict[str, tuple[Change, str]] = {
    "units": (setting("in", "units"), "units: found \"in\"; wanted 'mm'"),
    "format 0": (setting(0, "format"), "format: found 0; wanted 1"),
    "format of later": (setting(2, "format"), "format: found 2, of a newer loopsolver"),
    "no units": (dropping("units"), "units: found nothing; wanted 'mm'"),
    "no runs": (dropping("runs"), "runs: found nothing; wanted the runs"),
    "runs no list": (setting("x", "runs"), 'runs: found "x"; wanted the runs'),
    "run no object": (setting([3], "runs"), "runs[1]: found 3; wanted the runs"),
    "length as text": (
        setting("266 mm", *CANDIDATE, "length"),
        f'{HERE}.length: found "266 mm"; wanted the developed length [mm]',
    ),
    "letters that move the line": (
        setting("mm\x85\n", "units"),
        "units: found \"mm\\x85\\n\"; wanted 'mm'",
    ),
    "length of bool": (
        setting(True, *CANDIDATE, "length"),  # noqa: FBT003
        f"{HERE}.length: found true; wanted the developed length [mm]",
    ),
    "bends as float": (
        setting(2.5, *CANDIDATE, "bends"),
        f"{HERE}.bends: found 2.5; wanted the number of bends",
    ),
    "no nearest name": (
        dropping(*CANDIDATE, "nearest", "name"),
        f"{HERE}.nearest.name: found nothing; wanted the name of the nearest thing",
    ),
    "not a number": (
        setting(float("nan"), *CANDIDATE, "gap"),
        f"{HERE}.gap: found NaN; wanted the least gap",
    ),
    "endless": (
        setting(float("inf"), *CANDIDATE, "vertices", 1, 2),
        f"{HERE}.vertices[2][3]: found Infinity; wanted tube end, bend vertices",
    ),
    "two coordinates": (
        setting([1, 2], *CANDIDATE, "vertices", 1),
        f"{HERE}.vertices[2][3]: found nothing; wanted tube end, bend vertices",
    ),
    "one vertex": (
        setting([[0, 0, 0]], *CANDIDATE, "vertices"),
        f"{HERE}.vertices: found [[0, 0, 0]]; wanted tube end, bend vertices",
    ),
    "no radius": (
        setting(0, *CANDIDATE, "bend_radius"),
        f"{HERE}.bend_radius: found 0; wanted the centre-line radius of every bend",
    ),
    "radius too large for its legs": (
        setting(70, *CANDIDATE, "bend_radius"),
        f"{HERE}.vertices: found a leg 50 mm too short for its bends; wanted",
    ),
    "vertex twice": (
        setting([70, 262, 70], *CANDIDATE, "vertices", 1),
        f"{HERE}.vertices: found leg 1 of 0 mm, which has no direction; wanted "
        "vertices that lie apart: leave one of the two out",
    ),
    "length edited": (
        setting(412.7, *CANDIDATE, "length"),
        f"{HERE}.length: found 412.7 mm; wanted 265.964594 mm, as the vertices give",
    ),
    "blank edited": (
        setting(300, *CANDIDATE, "blank"),
        f"{HERE}.blank: found 300 mm; wanted 325.964594 mm, as the vertices give",
    ),
    "bends edited": (
        setting(3, *CANDIDATE, "bends"),
        f"{HERE}.bends: found 3; wanted 2, as the vertices give",
    ),
    "bends of more digits than a float holds": (
        setting(10**400, *CANDIDATE, "bends"),
        f"{HERE}.bends: found 1{'0' * 400}; wanted 2, as the vertices give",
    ),
    "planes edited": (
        setting(2, *CANDIDATE, "planes"),
        f"{HERE}.planes: found 2; wanted 1, as the vertices give",
    ),
    "angle edited": (
        setting(89, *CANDIDATE, "bend_table", 1, "angle"),
        f"{HERE}.bend_table[2].angle: found 89 degrees; wanted 90 degrees, as the"
        " vertices give",
    ),
    "rotation edited": (
        setting(0, *CANDIDATE, "bend_table", 1, "rotation"),
        f"{HERE}.bend_table[2].rotation: found 0 degrees; wanted 180 degrees, as",
    ),
    "angle missing": (
        dropping(*CANDIDATE, "bend_table", 0, "angle"),
        f"{HERE}.bend_table[1].angle: found nothing; wanted 90 degrees, as the",
    ),
    "closing row with an angle": (
        setting(90, *CANDIDATE, "bend_table", 2, "angle"),
        f"{HERE}.bend_table[3].angle: found 90 degrees; wanted nothing",
    ),
    "row missing": (
        dropping(*CANDIDATE, "bend_table", 0),
        f"{HERE}.bend_table: found 2 rows; wanted 3",
    ),
    "rank edited": (setting(2, *CANDIDATE, "rank"), f"{HERE}.rank: found 2; wanted 1"),
    "chosen too high": (
        setting(2, *RUN, "chosen"),
        "runs[1].chosen: found 2; wanted the rank of a candidate, 1 to 1",
    ),
    "chosen null": (
        setting(None, *RUN, "chosen"),
        "runs[1].chosen: found null; wanted the rank of a candidate, 1 to 1",
    ),
    "chosen of none": (
        setting([], *RUN, "candidates"),
        "runs[1].chosen: found 1; wanted null, for a run without candidates",
    ),
    "run of another scene": (
        setting("tank to card", *RUN, "name"),
        "runs[1].name: found 'tank to card'; wanted a run of the scene: 'pump to card'",
    ),
    "port of another run": (
        setting("card.out", *RUN, "from"),
        "runs[1].from: found 'card.out'; wanted pump.out or pump.top, as in the scene",
    ),
    "port that its tube does not use": (
        setting("pump.top", *RUN, "from"),
        "runs[1].from: found 'pump.top'; wanted pump.out, as its tubes have it",
    ),
    "title": (setting("Other", "title"), "title: found 'Other'; wanted 'invented', as"),
    "material": (
        setting("petg", "tube", "material"),
        "tube.material: found 'petg'; wanted 'acrylic', as in the scene",
    ),
    "outer diameter": (
        setting(16, "tube", "outer_diameter"),
        "tube.outer_diameter: found 16 mm; wanted 14 mm, as in the scene",
    ),
    "stock": (
        setting(1000, "tube", "stock_length"),
        "tube.stock_length: found 1000 mm; wanted 500 mm, as in the scene",
    ),
    "clearance": (
        setting(2, "clearance"),
        "clearance: found 2 mm; wanted 3 mm, as in the scene",
    ),
    "elbows": (
        setting(1, *CANDIDATE, "elbows"),
        f"{HERE}.elbows: found 1; wanted 0, as its ends give",
    ),
    "departures without bends of any angle": (
        setting([0, 0], *CANDIDATE, "departures"),
        f"{HERE}.departures: found what only free bend angles have; wanted none",
    ),
    "departures too many": (
        setting([0, 0, 0], *CANDIDATE, "departures"),
        f"{HERE}.departures: found 3 of them; wanted 2, one a bend",
    ),
    "no ends": (
        dropping(*CANDIDATE, "ends"),
        f"{HERE}.ends: found 0 of them; wanted two: what holds",
    ),
    "end on another port of the run": (
        setting("pump.top", *END, "port"),
        f"{HERE}.ends[1].outlet: found [0.0, -1.0, 0.0]; wanted [0.0, 0.0, 1.0], as "
        "'collar' stands on pump.top (run 'pump to card')",
    ),
    "end on a port of another run": (
        setting("card.in", *END, "port"),
        f"{HERE}.ends[1].port: found 'card.in'; wanted 'pump.out' or 'pump.top', as in",
    ),
    "fitting that is not there": (
        setting("elbow", *END, "fitting"),
        f"{HERE}.ends[1].fitting: found 'elbow'; wanted 'collar', as pump.out has it",
    ),
    "outlet of no length": (
        setting([0, 0, 0], *END, "outlet"),
        f"{HERE}.ends[1].outlet: found [0.0, 0.0, 0.0]; wanted [0.0, -1.0, 0.0]",
    ),
    "mouth moved": (
        setting([70, 251, 70], *END, "mouth"),
        f"{HERE}.ends[1].mouth: found [70, 251, 70] mm; wanted [70, 250, 70] mm",
    ),
    "collar called an elbow": (
        several(
            setting(True, *END, "elbow"),  # noqa: FBT003
            setting(1, *CANDIDATE, "elbows"),
        ),
        f"{HERE}.ends[1].elbow: found true; wanted false",
    ),
    "trim with its blank": (
        several(
            setting(20, *CANDIDATE, "trim_allowance"),
            setting(305.964594, *CANDIDATE, "blank"),
        ),
        f"{HERE}.trim_allowance: found 20 mm; wanted 30 mm, as in the scene",
    ),
    "gap": (
        setting(99, *CANDIDATE, "gap"),
        f"{HERE}.gap: found 99 mm; wanted 6.2 mm, to 'tank' (run 'pump to card')",
    ),
    "nearest name": (
        setting("case wall -z", *CANDIDATE, "nearest", "name"),
        f"{HERE}.nearest.name: found 'case wall -z'; wanted 'tank'",
    ),
    "nearest place along the tube": (
        setting([116, 202, 70], *CANDIDATE, "nearest", "at"),
        f"{HERE}.nearest.at: found [116, 202, 70] mm; wanted [115, 202, 70] mm",
    ),
    "nearest place off the tube": (
        setting([115, 202, 69], *CANDIDATE, "nearest", "at"),
        f"{HERE}.nearest.at: found [115, 202, 69] mm; wanted [115, 202, 70] mm",
    ),
    # As far from the tank, whose axis is 46.8 mm high, as the place that is right.
    "nearest place beside the tank": (
        setting([138.2, 202, 46.8], *CANDIDATE, "nearest", "at"),
        f"{HERE}.nearest.at: found [138.2, 202, 46.8] mm; wanted [115, 202, 70] mm",
    ),
    # Ten millimetres off the first straight, and every figure with it.
    "short of its seat": (
        several(
            setting([70, 252, 70], *CANDIDATE, "vertices", 0),
            setting(255.964594, *CANDIDATE, "length"),
            setting(315.964594, *CANDIDATE, "blank"),
            setting(22, *CANDIDATE, "bend_table", 0, "straight"),
        ),
        f"{HERE}.vertices[1]: found [70, 252, 70] mm; wanted [70, 262, 70] mm, "
        "where the tube sits in 'collar' on pump.out",
    ),
    "beside both seats, no figure changed": (
        several(
            *(setting(75, *CANDIDATE, "vertices", at, 2) for at in range(4)),
            setting([115, 202, 75], *CANDIDATE, "nearest", "at"),
            setting(11.2, *CANDIDATE, "gap"),
        ),
        f"{HERE}.vertices[4]: found [160, 62, 75] mm; wanted [160, 62, 70] mm",
    ),
    # Round 30 mm each bend takes 2 mm more of either leg, and is 30 pi / 2 long.
    "another former with its figures": (
        several(
            setting(30, *CANDIDATE, "bend_radius"),
            setting(264.247780, *CANDIDATE, "length"),
            setting(324.247780, *CANDIDATE, "blank"),
            setting(30, *CANDIDATE, "bend_table", 0, "straight"),
            setting(30, *CANDIDATE, "bend_table", 1, "straight"),
            setting(110, *CANDIDATE, "bend_table", 2, "straight"),
        ),
        f"{HERE}.bend_radius: found 30 mm; wanted 28 mm, as in the scene",
    ),
    # The middle leg 18 mm nearer to the pump: the collar wants 12 + 5 mm of straight.
    "straight too short for its collar": (
        several(
            setting([70, 220, 70], *CANDIDATE, "vertices", 1),
            setting([160, 220, 70], *CANDIDATE, "vertices", 2),
            setting(14, *CANDIDATE, "bend_table", 0, "straight"),
            setting(130, *CANDIDATE, "bend_table", 2, "straight"),
        ),
        f"{HERE}.vertices: found straight 1 (between the tube's start and bend 1) of "
        "14 mm, 3 mm too short; wanted at least 17 mm, as in the scene",
    ),
    "total of more bends": (
        several(told_loop, setting(5, "loop", "total", 0)),
        "loop.total: found [5, 265.964594 mm, 0]; wanted [2, 265.964594 mm, 0], as the "
        "chosen candidates give",
    ),
    "total of less tube": (
        several(told_loop, setting(265.9644, "loop", "total", 1)),
        "loop.total: found [2, 265.9644 mm, 0]; wanted [2, 265.964594 mm, 0], as",
    ),
    "total of more parts": (
        several(told_loop, setting([2, 265.964594, 0, 1], "loop", "total")),
        "loop.total: found [2, 265.964594 mm, 0, 1]; wanted [2, 265.964594 mm, 0], as",
    ),
    "loop by what nobody can reckon": (
        several(told_loop, setting("luck", "loop", "by")),
        "loop.by: found 'luck'; wanted one of bends, length, gap",
    ),
    "a larger gap on a lower rank": (
        with_another(setting(6.3, "gap")),
        "runs[1].candidates[2].rank: found 2; wanted 1: by bends it goes before that one",
    ),
    "a larger gap on a lower rank by gap": (
        with_another(setting(6.3, "gap"), by="gap"),
        "runs[1].candidates[2].rank: found 2; wanted 1: by gap it goes before that one",
    ),
}

TRUE: dict[str, Change] = {
    "the loop's total": told_loop,
    "a total that is rounded": several(
        told_loop, setting(265.96455, "loop", "total", 1)
    ),
    "a wrong total that nobody vouches for": setting(
        {**LOOP, "total": [5, 1, 0]}, "loop"
    ),
    "two of equal worth": with_another(),
    # Half a rounding more: nobody can tell which was larger before.
    "two that rounding makes equal": with_another(setting(6.20005, "gap")),
    "a rotation from the other side": setting(
        -180, *CANDIDATE, "bend_table", 1, "rotation"
    ),
    "figures within their rounding": several(
        setting(265.96466, *CANDIDATE, "length"),
        setting(89.99995, *CANDIDATE, "bend_table", 0, "angle"),
    ),
}


@pytest.mark.parametrize("change", TRUE.values(), ids=TRUE)
def test_what_rounding_may_do_is_no_fault(change: Change, tmp_path: Path) -> None:
    assert len(Plan.read(written(tmp_path, change)).runs) == 1


def test_the_good_file_is_read(tmp_path: Path) -> None:
    plan = Plan.read(written(tmp_path))
    (run,) = plan.runs
    assert run.chosen_candidate is not None
    assert run.chosen_candidate.gap.name == "tank"


def test_keys_of_later_versions_are_left_alone(tmp_path: Path) -> None:
    def grown(content: dict[str, Any]) -> None:
        content["later"] = {"x": 1}
        content["runs"][0]["later"] = 2
        content["runs"][0]["candidates"][0]["elbows"] = 0

    assert len(Plan.read(written(tmp_path, grown)).runs) == 1


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_told_with_file_key_found_and_wanted(
    name: str, tmp_path: Path
) -> None:
    change, told = FAULTS[name]
    path = written(tmp_path, change)
    with pytest.raises(PlanError) as caught:
        Plan.read(path)
    assert told in str(caught.value)
    assert all(line.startswith(f"{path}: ") for line in str(caught.value).splitlines())


# The tube's far end as it is, in an elbow that stands below its axis: 20 mm up from the
# port to the corner, then 22 mm along the tube to the mouth.
ELBOW_SCENE = (
    SCENE.replace(
        'position = [20, 14, 20]\ndirection = "+y"',
        'position = [20, 12, 0]\ndirection = "+z"\nfitting = "elbow"',
    )
    .replace(
        "[components.pump]",
        table("[fittings.elbow]", elbow()) + "[components.pump]",
        1,
    )
    .replace('direction = "-y"', 'direction = "-y"\nfitting = "collar"')
)
IN_AN_ELBOW = several(
    setting("elbow", *CANDIDATE, "ends", 1, "fitting"),
    setting(True, *CANDIDATE, "ends", 1, "elbow"),  # noqa: FBT003
    setting(1, *CANDIDATE, "elbows"),
)
# Its underside is 2 mm above the arm of the elbow, where 3 mm are to be kept clear.
LAMP = part("lamp", [0, 0, 0], box([20, 14, 20], [160, 59, 93]))


def test_an_elbow_must_have_room(tmp_path: Path) -> None:
    scene = ELBOW_SCENE.replace("[[runs]]", f"{LAMP}\n[[runs]]")
    assert Plan.read(written(tmp_path, IN_AN_ELBOW, scene=ELBOW_SCENE)).runs[0].chosen
    with pytest.raises(PlanError) as caught:
        Plan.read(written(tmp_path, IN_AN_ELBOW, scene=scene))
    told = "ends[2].fitting: found 'elbow', which comes too near to something there"
    assert told in str(caught.value)


def test_a_tube_back_through_its_own_collar_is_refused(tmp_path: Path) -> None:
    # A collar of 160 mm, and a tube that comes back 80 mm beside its beginning: two quarter
    # arcs of 43.982297 mm and straights of 32, 24 and 32 mm.
    scene = SCENE.replace("diameter = 22\n", "diameter = 160\n").replace(
        'position = [20, 14, 20]\ndirection = "+y"',
        'position = [10, 230, 20]\ndirection = "-y"',
    )
    back = several(
        setting([150, 202, 70], *CANDIDATE, "vertices", 2),
        setting([150, 262, 70], *CANDIDATE, "vertices", 3),
        setting([0, -1, 0], *CANDIDATE, "ends", 1, "outlet"),
        setting([150, 250, 70], *CANDIDATE, "ends", 1, "mouth"),
        setting(175.964594, *CANDIDATE, "length"),
        setting(235.964594, *CANDIDATE, "blank"),
        setting(24, *CANDIDATE, "bend_table", 1, "straight"),
        setting(0, *CANDIDATE, "bend_table", 1, "rotation"),
        setting(32, *CANDIDATE, "bend_table", 2, "straight"),
    )
    with pytest.raises(PlanError, match="runs through its own fitting"):
        Plan.read(written(tmp_path, back, scene=scene))


def test_any_of_equally_near_places_may_stand_and_one_is_shown(tmp_path: Path) -> None:
    # A box of 20 mm along the tube in the tank's place: all above it is equally near.
    scene = SCENE.replace(
        "cylinder = { diameter = 20, height = 20 }", "box = [20, 20, 20]"
    ).replace('axis = "+y"\n', "")
    shown = set()
    for x in (105, 110.5, 125):
        place = setting([x, 202, 70], *CANDIDATE, "nearest", "at")
        (run,) = Plan.read(written(tmp_path, place, scene=scene)).runs
        shown.add(run.candidates[0].gap.at)
    assert len(shown) == 1
    beside = setting([126, 202, 70], *CANDIDATE, "nearest", "at")
    with pytest.raises(PlanError, match=r"nearest\.at: found \[126"):
        Plan.read(written(tmp_path, beside, scene=scene))


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    changes = (setting(1.0, *CANDIDATE, "length"), setting(9, *RUN, "chosen"))
    with pytest.raises(PlanError) as caught:
        Plan.read(written(tmp_path, *changes))
    assert len(str(caught.value).splitlines()) == 2


def test_a_run_twice_is_told(tmp_path: Path) -> None:
    def twice(content: dict[str, Any]) -> None:
        content["runs"].append(copy.deepcopy(content["runs"][0]))

    with pytest.raises(
        PlanError, match=r"runs\[2\].name: found 'pump to card'; wanted"
    ):
        Plan.read(written(tmp_path, twice))


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "found what is not JSON, at column 1"),
        (b"format = 1\n", "found what is not JSON, at column 1"),
        (b'{"format": 1,\n "loopsolver"', ":2: found what is not JSON, at column 14"),
        (b"\xff\xfe\x00", "found bytes that are not UTF-8 text"),
        (b"[]", "found JSON that is no plan"),
        (b'{"some": "other"}', "found JSON that is no plan"),
        (b"[" * 100_000, "nested too deep"),
        # Python turns no text of more than 4300 digits into a whole number.
        (b'{"loopsolver": ' + b"9" * 5000 + b"}", "found a number of too many digits"),
        (b'{"loopsolver": "9", "format": 9}', "of a newer loopsolver (9)"),
    ],
)
def test_what_is_no_plan_is_told(content: bytes, told: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.plan.json"
    path.write_bytes(content)
    with pytest.raises(PlanError) as caught:
        Plan.read(path)
    assert str(path) in str(caught.value)
    assert told in str(caught.value)


def test_a_missing_plan_and_a_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(PlanError, match="there is no such file; wanted a plan"):
        Plan.read(tmp_path / "none.plan.json")
    with pytest.raises(PlanError, match="could not be read: Is a directory"):
        Plan.read(tmp_path)
