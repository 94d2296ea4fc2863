"""One tube as it is bent: what is printed in turn, and what is handed on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.cli.bending import (
    doubt_document,
    say_caution,
    say_setup,
    setup_document,
)
from loopsolver.report.bending import Setup
from loopsolver.tube.bench_doubts import FineTurn, NothingToTrim
from tests.builders.plans import GAIN, Points
from tests.builders.short_runs import (
    ONE_BEND,
    STRAIGHT,
    TWO_PLANES,
    made,
    run_of,
    scene_of,
)

Capture = pytest.CaptureFixture[str]


def setup(vertices: Points, *, material: str = "acrylic", **changes: object) -> Setup:
    tube = replace(made(vertices), **changes)  # type: ignore[arg-type]
    return Setup(run=run_of(tube), rank=1, scene=scene_of(material=material))


def printed(capsys: Capture, one: Setup) -> list[str]:
    say_setup(one)
    return capsys.readouterr().out.splitlines()


def joined(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


def test_a_tube_is_headed_by_its_run_and_what_there_is_to_bend(capsys: Capture) -> None:
    lines = printed(capsys, setup(ONE_BEND))
    assert lines[:3] == [
        "a to b: a.out to b.in",
        "candidate 1 of 1, chosen: 1 bend in 1 plane",
        "",
    ]


def test_a_straight_tube_has_neither_table_nor_marks(capsys: Capture) -> None:
    lines = printed(capsys, setup(STRAIGHT))
    assert lines[-1] == "No bends: a straight tube."
    assert not {"Bend table", "Marks along the blank, from its first end"} & set(lines)


def test_planes_are_told_apart_by_how_the_tube_is_turned(capsys: Capture) -> None:
    """Along +x, up to +y, then to +z: a quarter turn between the bends.

    The last leg of 80 mm closes with 80 - 28 = 52 mm of straight.
    """
    lines = printed(capsys, setup(TWO_PLANES))
    first, second = lines.index("Plane 1"), lines.index("Plane 2")
    assert lines.index("Bend table") == first - 1
    assert joined(lines[first:second]).count("Bend 2 points 90 degrees ") == 1
    closing = lines.index("Closing straight: 52.0 mm")
    assert closing > second
    assert joined(lines[closing:]).count("Clockwise is as seen from the first end") == 1
    assert "Marks along the blank, from its first end" in lines[closing:]


def test_in_one_plane_there_is_no_clock(capsys: Capture) -> None:
    words = joined(printed(capsys, setup(ONE_BEND)))
    assert "Plane 1" in words
    assert "Clockwise" not in words
    assert "Closing straight: 72.0 mm" in words


def test_only_a_cold_bend_goes_into_a_bender(capsys: Capture) -> None:
    assert "In the bender:" not in joined(printed(capsys, setup(ONE_BEND)))
    cold = joined(printed(capsys, setup(ONE_BEND, material="copper")))
    assert "In the bender: the clip holds the tube on the side of its first end" in cold


def test_doubts_have_a_heading_where_there_are_any(capsys: Capture) -> None:
    doubtful = printed(capsys, setup(ONE_BEND, trim_allowance=0.0))
    at = doubtful.index("Doubtful at the bench:")
    assert doubtful[at + 1].startswith("- ")
    fine = printed(capsys, setup(ONE_BEND, trim_allowance=60.0))
    assert "Doubtful at the bench:" not in fine


def test_a_tube_from_its_other_end_says_so(capsys: Capture) -> None:
    turned = setup(TWO_PLANES).from_other_end()
    lines = printed(capsys, turned)
    assert lines[0] == "a to b: b.in to a.out"
    assert lines[2].startswith("From its other end: the first end is the one at b.in.")
    assert "From its other end" not in joined(printed(capsys, setup(TWO_PLANES)))
    assert setup_document(turned)["other_end"] is True


def test_a_caution_names_what_hurts(capsys: Capture) -> None:
    say_caution("copper")
    assert "Cut copper has sharp edges" in joined(capsys.readouterr().out.splitlines())


def test_all_that_is_bent_is_handed_on() -> None:
    """Legs of 100, 80 and 80 mm; marks behind 30 mm of trim.

    The first bend starts at 30 + 72 mm and is 28 x pi / 2 = 43.98 mm long; 80 - 56 = 24
    mm of straight lie between. Heat reaches the tube's diameter of 14 mm beyond.
    """
    told = setup_document(setup(TWO_PLANES))
    assert (told["name"], told["from"], told["to"]) == ("a to b", "a.out", "b.in")
    assert (told["candidate"], told["chosen"]) == (1, 1)
    assert told["other_end"] is False
    assert (told["bend_radius"], told["trim_allowance"]) == (28.0, 30.0)
    assert told["fits_stock"] is True
    assert told["plane_stretches"][0] == {"first": 1, "last": 1, "turn": 0.0}
    second = told["plane_stretches"][1]
    assert (second["first"], second["last"], abs(second["turn"])) == (2, 2, 90.0)
    arc = 28.0 * 3.14159265 / 2.0
    first, last = told["marks"]
    assert (first["bend"], last["bend"]) == (1, 2)
    assert first["start"] == pytest.approx(102.0)
    assert first["centre"] == pytest.approx(102.0 + arc / 2.0, abs=1e-3)
    assert first["end"] == pytest.approx(102.0 + arc, abs=1e-3)
    assert last["start"] == pytest.approx(102.0 + arc + 24.0, abs=1e-3)
    assert first["heated_from"] == pytest.approx(88.0)
    assert first["heated_to"] == pytest.approx(102.0 + arc + 14.0, abs=1e-3)
    assert told["length"] == pytest.approx(260.0 - 2 * GAIN, abs=1e-3)


def test_a_cold_tube_has_no_heat_and_a_long_one_does_not_fit() -> None:
    cold = setup(ONE_BEND, material="copper")
    assert set(setup_document(cold)["marks"][0]) == {"bend", "start", "centre", "end"}
    short = replace(cold, scene=scene_of(stock_length=100.0))
    assert setup_document(short)["fits_stock"] is False
    assert setup_document(short)["stock_length"] == 100.0


def test_a_doubt_is_handed_on_with_its_figures() -> None:
    assert doubt_document(NothingToTrim(trim=30.0)) == {
        "kind": "nothing to trim",
        "trim": 30.0,
    }
    fine = FineTurn(bend=3, turn_deg=0.123456789012, miss=1.0)
    told = doubt_document(fine)
    assert told["bend"] == 3
    assert told["turn_deg"] == pytest.approx(0.123456789, abs=1e-6)
