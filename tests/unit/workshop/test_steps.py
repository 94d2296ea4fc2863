"""The steps of the work: their order, and the numbers in them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from loopsolver.plan import Plan
from loopsolver.tube.springback import Springback
from loopsolver.tube.stock import Material
from loopsolver.workshop.bench_figures import (
    heat_words,
    insert_length,
    stop_words,
)
from loopsolver.workshop.cautions import cautions
from loopsolver.workshop.job import Job, job_of
from loopsolver.workshop.steps import work_steps
from tests.builders.small_build import UP

MakePlan = Callable[..., Plan]

RADIUS, OUTER, TRIM = 28.0, 14.0, 30.0  # of the small build
ARC = math.pi / 2 * RADIUS


def job(plan: Plan, number: int) -> Job:
    return job_of(plan, plan.runs[number - 1])


def heads(one: Job) -> list[str]:
    return [step[0] for step in work_steps(one)]


def everything(one: Job) -> str:
    return "\n".join(part for step in work_steps(one) for part in step)


def test_plastic_is_bent_before_its_ends_are_cut(make_plan: MakePlan) -> None:
    # The order is the trade's: common practice, no source.
    assert heads(job(make_plan(), 1)) == [
        "Make two test bends",
        "Cut the blank",
        "Mark the bends",
        "Wet the insert and slide it in",
        "Heat, turning the tube",
        "Bend over the former",
        "Hold",
        "Check on the template",
        "Next bend",
        "Check the whole tube",
        "Cut both ends to the line",
        "Deburr and chamfer",
        "Mark how far it goes in",
        "Rinse and dry",
        "Fit",
    ]


def test_two_test_bends_are_asked_for_where_there_are_none(make_plan: MakePlan) -> None:
    """30 and 90 degrees: a machine builder's article. Held by 40 mm, heat 14 mm beyond:
    54 + 44 + 54 mm.
    """
    one = job(make_plan(), 1)
    words = next(step[1] for step in work_steps(one) if step[0].startswith("Make two"))
    assert "spare pieces of 152.0 mm, over the same former" in words
    assert "hold 30° and 90° until cold" in words
    assert "[[test_bends]]" in words
    sharp = tuple(replace(bend, angle_deg=100.0) for bend in one.table.bends)
    sharper = replace(one, table=replace(one.table, bends=sharp))
    assert "hold 20° and 120° until" in everything(sharper)


def test_with_test_bends_the_angle_to_hold_is_told(make_plan: MakePlan) -> None:
    """A machine builder's example: 1.5 degrees and 0.05 of 90 make 96."""
    one = job(make_plan(), 1)
    back = Springback(constant_deg=1.5, share=0.05, tests=2)
    tested = replace(one, tube=replace(one.tube, springback=back))
    assert not any("test bends" in head for head in heads(tested))
    told = everything(tested)
    assert "Bend 1: hold at 96° for 90°, heat " in told
    assert "to the angle to hold" in told
    assert "hold at" not in everything(one)


def test_what_a_bend_takes_up_is_in_every_step(make_plan: MakePlan) -> None:
    """Two square bends of 44 mm take 5 % more: blank and finished tube 4.4 mm longer."""
    one = job(make_plan(), 1)
    longer = replace(one, tube=replace(one.tube, take_up=1.05))
    assert longer.blank - one.blank == pytest.approx(0.05 * 2 * ARC)
    assert f"{one.finished + 0.05 * 2 * ARC:.1f} mm are left" in everything(longer)
    assert f"Cut the blank\n{longer.blank:.1f} mm long" in everything(longer)


def test_copper_is_bent_cold(make_plan: MakePlan) -> None:
    one = job(make_plan(material="copper"), 1)
    order = heads(one)
    assert not any("insert" in head.lower() or "Heat" in head for head in order)
    assert order.index("Bend in a hand bender") < order.index(
        "Cut both ends to the line"
    )
    assert "tube cutter" in everything(one)
    assert "14.0 mm" in everything(one)  # the bender must fit the outer diameter
    assert "°C" not in everything(one)


@pytest.mark.parametrize("material", ["acrylic", "petg", "copper"])
def test_a_straight_tube_is_not_bent(make_plan: MakePlan, material: Material) -> None:
    order = heads(job(make_plan(material=material), 3))
    assert order[:2] == ["Cut the blank", "Cut both ends to the line"]


def test_copper_is_softened_before_it_is_marked(make_plan: MakePlan) -> None:
    # Pen marks do not outlive a flame.
    order = heads(job(make_plan(material="copper"), 1))
    assert order.index("Soften hard tube, if you need to") < order.index(
        "Mark the bends"
    )


@pytest.mark.parametrize("material", ["acrylic", "petg", "copper"])
def test_the_former_is_named_by_its_radius(
    make_plan: MakePlan, material: Material
) -> None:
    text = everything(job(make_plan(material=material), 1))
    assert "28.0 mm to the centre line" in text


def test_a_tube_without_trim_allowance_is_not_told_to_lose_nothing(
    make_plan: MakePlan,
) -> None:
    text = everything(replace(job(make_plan(), 1), trim_allowance=0.0))
    assert "come off each end" not in text
    assert "0.0 mm come" not in text
    assert "no trim allowance" in text


def test_on_a_fixed_former_the_tube_is_turned_against_what_the_bend_does(
    make_plan: MakePlan,
) -> None:
    """UP's second bend points a quarter turn clockwise of its first, see below."""
    text = everything(job(make_plan(), 1))
    assert "points 90° clockwise of bend 1 (turn the tube 90° anticlockwise)." in text
    # FLAT's goes to the other side: half a turn, and either way.
    assert "(turn the tube by 180°)" in everything(job(make_plan(), 2))


def test_one_bend_has_no_next_one(make_plan: MakePlan) -> None:
    route = ((60.0, 60.0, 68.0), (60.0, 60.0, 200.0), (150.0, 60.0, 200.0))
    assert "Next bend" not in heads(job(make_plan(routes=[route]), 1))


def test_lengths_are_those_worked_out_by_hand(make_plan: MakePlan) -> None:
    # Legs 132, 100, 152; each square bend takes 2 R off two legs and gives an arc.
    finished = 132.0 + 100.0 + 152.0 - 4 * RADIUS + 2 * ARC
    text = everything(job(make_plan(), 1))
    assert f"{finished + 2 * TRIM:.1f} mm long" in text
    assert f"{finished:.1f} mm are left" in text
    start = TRIM + 132.0 - RADIUS
    low, high = start - OUTER, start + ARC + OUTER
    assert f"Bend 1: 90°, heat {low:.1f} to {high:.1f} mm." in text
    assert "12.0 mm from both ends" in text


def test_insert_lies_under_every_heated_length_from_the_nearer_end(
    make_plan: MakePlan,
) -> None:
    # One bend 104 + 30 mm from one end and 122 + 30 mm from the other; 50 mm to hold.
    route = ((60.0, 60.0, 68.0), (60.0, 60.0, 200.0), (60.0, 210.0, 200.0))
    near = TRIM + (132.0 - RADIUS) + ARC + OUTER
    for way in (route, route[::-1]):
        one = job(make_plan(routes=[way]), 1)
        assert insert_length(one) == pytest.approx(near + 50.0)
    # UP: its second bend is nearer to the last end, 124 + 30 mm beyond it.
    far = TRIM + (152.0 - RADIUS) + ARC + OUTER
    assert insert_length(job(make_plan(), 1)) == pytest.approx(max(near, far) + 50.0)
    assert insert_length(job(make_plan(material="copper"), 1)) == 0.0


def test_the_sheet_names_one_length_of_insert_that_holds_all_that_is_soft(
    make_plan: MakePlan,
) -> None:
    """FLAT's heated lengths run together; the insert is no shorter than either."""
    one = job(make_plan(), 2)
    (step,) = (step for step in work_steps(one) if step[0].startswith("Wet"))
    lengths = [float(found) for found in re.findall(r"([\d.]+) mm", step[1])]
    bore, length, grip = lengths
    assert (bore, grip) == (10.0, 50.0)
    assert length - grip >= ARC + 2 * OUTER
    assert "drawn out by hand" not in step[1]


def test_an_end_that_gets_hot_where_its_fitting_grips_is_shaded(
    make_plan: MakePlan,
) -> None:
    """20 mm before the bend, 14 mm of them hot: 6 of the 12 mm in the collar as well."""
    route = (
        (60.0, 60.0, 68.0),
        (60.0, 60.0, 68.0 + 20.0 + RADIUS),
        (60.0, 200.0, 68.0 + 20.0 + RADIUS),
    )
    text = everything(job(make_plan(routes=[route]), 1))
    assert "Bend 1: shade the end for part1.out" in text
    assert "6.0 mm into what its fitting grips" in text
    copper = everything(job(make_plan(routes=[route], material="copper"), 1))
    assert "shade" not in copper
    assert "shade the end" not in everything(job(make_plan(), 1))


def test_a_bend_that_a_later_one_heats_is_checked_again(make_plan: MakePlan) -> None:
    """FLAT: 4 mm of straight, and the heat for bend 2 reaches 14 mm back."""
    text = everything(job(make_plan(), 2))
    assert "Check bend 1 again on its template after bend 2" in text
    assert "reaches 10.0 mm into it" in text
    assert "again on its template" not in everything(job(make_plan(), 1))


def test_what_hangs_below_a_former_is_said_for_either_side(
    make_plan: MakePlan,
) -> None:
    """UP: up 132 mm, then towards +x, then towards +y.

    At bend 2 the tube goes along +x and turns to +y, which is to the left with +z up;
    all that came before lies below, 132 mm and 30 mm of trim, and half the tube's 14 mm.
    With the former's side to the right +z points down, and it stands up.
    """
    text = everything(job(make_plan(), 1))
    assert (
        "by up to 169.0 mm (bend 2) if it bends to the left, not if it bends to the right"
        in text
    )
    back = make_plan(routes=[(*UP[:3], (160.0, 0.0, 200.0))])
    text = everything(job(back, 1))
    assert (
        "not if it bends to the left, by up to 169.0 mm (bend 2) if it bends to the right"
        in text
    )
    # FLAT stays in one plane, whatever it is bent round.
    assert "hangs below" not in everything(job(make_plan(), 2))


def test_copper_says_which_end_lies_in_the_clip(make_plan: MakePlan) -> None:
    text = everything(job(make_plan(material="copper"), 1))
    assert "the clip holds the tube on the side of its first end (part1.out)" in text
    assert "the start mark meets the bender's zero" in text
    assert "what the maker of yours says goes first" in text
    assert "clip" not in everything(job(make_plan(), 1))


@pytest.mark.parametrize("material", ["acrylic", "copper"])
def test_marks_are_drawn_through_the_strip_that_covers_the_tube(
    make_plan: MakePlan, material: Material
) -> None:
    text = everything(job(make_plan(material=material), 1))
    assert "Cut the diamonds out of the strip" in text
    assert "draw a cross through each, corner to corner" in text


def test_neighbours_that_share_heat_are_named(make_plan: MakePlan) -> None:
    text = everything(job(make_plan(), 2))
    # 4 mm of straight, a diameter of heat into it from both sides.
    assert f"overlap: bends 1 and 2 by {2 * OUTER - 4.0:.1f} mm" in text
    assert "overlap" not in everything(job(make_plan(), 1))


# Acrylic 150 to 160 C: an acrylic sheet maker's data; 177 C (350 F): the same trade's
# fabrication manual. PETG 120 to 160 C: a PETG sheet supplier. F = 9/5 C + 32.
@pytest.mark.parametrize(
    ("material", "words"),
    [
        ("acrylic", "150 to 160 °C (302 to 320 °F)"),
        ("petg", "120 to 160 °C (248 to 320 °F)"),
        ("copper", "none, bent cold"),
    ],
)
def test_heat_ranges_are_those_published(
    make_plan: MakePlan, material: Material, words: str
) -> None:
    assert heat_words(job(make_plan(material=material), 1)) == words


def test_acrylic_has_its_limit_in_both_scales() -> None:
    assert stop_words("acrylic") == "177 °C (350 °F)"
    assert stop_words("petg") == stop_words("copper") == ""


@pytest.mark.parametrize(
    ("material", "dangers"),
    [
        ("acrylic", {"Hot air", "Steam", "Fumes", "Cutting and dust", "Leak test"}),
        ("petg", {"Hot air", "Steam", "Fumes", "Cutting and dust", "Leak test"}),
        ("copper", {"Cutting and dust", "Leak test", "Edges, force, flame"}),
    ],
)
def test_cautions_name_what_can_hurt(material: Material, dangers: set[str]) -> None:
    said = cautions(material)
    assert {head for head, _ in said[1:]} == dangers
    assert "Local rules" in said[0][1]
    assert "makers" in said[0][1]
    assert any("mains plug out" in text for _, text in said)


def test_inch_scenes_say_inches(make_plan: MakePlan) -> None:
    text = everything(job(make_plan(units="in"), 1))
    assert not re.search(r"\d mm", text)
    finished = 132.0 + 100.0 + 152.0 - 4 * RADIUS + 2 * ARC
    assert f"{(finished + 2 * TRIM) / 25.4:.3f} in long" in text
    assert "0.394 in" in text  # the bore of 10 mm


def test_the_first_end_is_the_one_at_the_first_port(make_plan: MakePlan) -> None:
    one = job(make_plan(), 1)
    assert one.first.port == "part1.out"
    assert "goes to part1.out" in everything(one)
