"""What bending and warmth do to a tube, in words; every number by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.report.bending import Setup, bend_sentences, plane_table
from loopsolver.report.bent_tube import (
    growth_words,
    hold_at,
    least_radius_words,
    springback_words,
    wall_words,
)
from loopsolver.report.scene_summary import scene_summary
from loopsolver.tube.bend_table import Bend, BendTable
from loopsolver.tube.planes import plane_stretches
from loopsolver.tube.springback import Springback
from tests.builders.scenes import tube
from tests.builders.small_build import plan_with

PRINTED = Springback(constant_deg=1.5, share=0.05, variances=(0.64, 0.0, 0.0), tests=2)
"""A machine builder's example: 90 degrees is held at 96."""

TABLE = BendTable(
    bends=(
        Bend(straight=50.0, rotation_deg=0.0, angle_deg=90.0),
        Bend(straight=50.0, rotation_deg=0.0, angle_deg=30.0),
    ),
    closing_straight=50.0,
    radius=28.0,
)


def test_what_to_hold_is_told_to_half_a_degree() -> None:
    """90 + 1.5 + 4.5 = 96; 30 + 1.5 + 1.5 = 33; 47 + 1.5 + 2.35 = 50.85."""
    tested = tube(springback=PRINTED)
    assert [hold_at(tested, one) for one in (90.0, 30.0, 47.0)] == ["96", "33", "51"]
    assert hold_at(tube(), 90.0) == ""


def test_springback_is_told_with_its_test_bends_and_spread() -> None:
    """The square root of 0.64 is 0.8 degrees."""
    (told,) = springback_words(tube(springback=PRINTED), TABLE, MILLIMETRES)
    assert told.endswith(
        "By 2 test bends: 1.5 degrees and 5.0 % of the angle, two of three within 0.8 "
        "degrees."
    )
    assert list(springback_words(tube(), TABLE, MILLIMETRES)) == []
    straight = replace(TABLE, bends=())
    assert not list(springback_words(tube(springback=PRINTED), straight, MILLIMETRES))


@pytest.mark.parametrize(
    ("constant", "share", "words"),
    [
        (9.7, -0.036, "9.7 degrees less 3.6 % of the angle"),
        (-0.5, 0.04, "4.0 % of the angle less 0.5 degrees"),
    ],
)
def test_no_sign_is_printed(constant: float, share: float, words: str) -> None:
    back = Springback(constant_deg=constant, share=share, tests=1)
    (told,) = springback_words(tube(springback=back), TABLE, MILLIMETRES)
    assert f"By 1 test bend: {words}," in told


def test_another_former_and_what_a_bend_takes_up_are_told() -> None:
    tested = tube(springback=PRINTED, take_up=1.04, bend_radii=(40.0, 28.0))
    _, former, taken = springback_words(tested, TABLE, MILLIMETRES)
    assert "taken to be of radius 40.0 mm, this tube's are of 28.0 mm" in former
    assert "takes up 1.040 of its arc" in taken


def test_the_wall_left_outside_a_bend() -> None:
    """2 mm of wall: 2 x 28 / 35 = 1.6; 2 / (1 + 14 / 112) = 1.78. Of two, both ends."""
    assert wall_words(tube(), [28.0], MILLIMETRES) == "1.60 to 1.78 of 2.00 mm"
    assert wall_words(tube(), [21.0, 28.0], MILLIMETRES) == "1.50 to 1.78 of 2.00 mm"
    assert wall_words(tube(), [28.0], INCHES) == "0.0630 to 0.0700 of 0.0787 in"


def test_least_radius_with_who_says_so() -> None:
    assert least_radius_words(tube(), MILLIMETRES) == (
        "least radius 21.0 mm (common practice, no source)"
    )
    copper = least_radius_words(tube(material="copper"), MILLIMETRES)
    assert "NAVEDTRA 14119" in copper


def test_growth_as_a_band() -> None:
    """68 to 77 parts in a million, 25 K, 200 mm: 0.34 to 0.385 mm. PETG: 0.34 mm."""
    warm = tube(temperatures_c=(20.0, 45.0))
    words = growth_words(warm, 200.0, MILLIMETRES)
    assert words in {
        "0.34 mm to 0.38 mm from 20 to 45 °C",
        "0.34 mm to 0.39 mm from 20 to 45 °C",
    }
    petg = tube(material="petg", temperatures_c=(20.0, 45.0))
    assert growth_words(petg, 200.0, MILLIMETRES) == "0.34 mm from 20 to 45 °C"
    assert growth_words(tube(), 200.0, MILLIMETRES) == ""


def setup_with(**changes: object) -> Setup:
    plan = plan_with()
    scene = replace(plan.scene, tube=tube(**changes))
    return Setup(run=plan.runs[0], rank=1, scene=scene)


def test_a_bend_table_with_what_to_hold() -> None:
    """Two square bends in two planes: each held at 96, and then of 90 degrees."""
    setup = setup_with(springback=PRINTED)
    for stretch in plane_stretches(setup.candidate.table):
        table = plane_table(setup, stretch)
        assert [one.partition("\n")[0] for one in table.headings] == [
            *("bend", "straight", "rotation", "angle", "hold", "way")
        ]
        ((_, _, _, angle, hold, _),) = table.rows
        assert (angle, hold) == ("90.0", "96")


def test_sentences_about_a_bent_tube() -> None:
    """75 % of 14 mm are 10.5 mm. From (60, 60, 68) to (160, 212, 200) are 224.6 mm."""
    bare = list(bend_sentences(setup_with()))
    assert len(bare) == 2
    assert "1.60 to 1.78 of 2.00 mm" in bare[0]
    assert "under 10.5 mm, 75 % of the tube" in bare[1]
    *_, grown = bend_sentences(setup_with(temperatures_c=(20.0, 60.0)))
    assert "grows by 0.61 mm to 0.69 mm from 20 to 60 °C" in grown


def test_a_scene_says_what_its_test_bends_come_to() -> None:
    scene = setup_with(springback=PRINTED).scene
    rows = dict(scene_summary(scene))
    assert (
        rows["test bends"]
        == "2: hold 90 degrees at 96, two of three within 0.8 degrees"
    )
    assert rows["wall"].startswith("about 1.60 to 1.78 of 2.00 mm left outside a bend;")
