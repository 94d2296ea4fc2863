"""Bench sheets: everything on the page, nothing on top of anything else."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from loopsolver.drafting.drawing import (
    Drawing,
)
from loopsolver.errors import PlanError
from loopsolver.plan import Plan
from loopsolver.tube.springback import Springback
from loopsolver.workshop.bench_sheet import bench_sheet
from tests.unit.workshop.tidy import assert_tidy, said, texts

MakePlan = Callable[..., Plan]

A4 = (186.0, 256.0)
LETTER = (191.9, 238.4)

ARC = math.pi / 2 * 28.0

HOSTILE = (
    "<script>alert(1)</script>",
    "two\nlines\tand\x00 more",
    "W" * 500,
    "many words " * 50,
    "循环水管 第一根",
    "\u202eright to left\u202c",
    "  ",
)


def sheets(
    plan: Plan, number: int = 1, size: tuple[float, float] = A4
) -> tuple[Drawing, ...]:
    run = plan.runs[number - 1]
    return bench_sheet(plan, run, width=size[0], height=size[1])


def words(drawings: Sequence[Drawing]) -> str:
    return " ".join(said(drawings))


def zigzag(bends: int) -> list[tuple[float, float, float]]:
    """Return a tube that turns into a new plane or the other way at every bend."""
    steps = [(0.0, 0.0, 70.0), (70.0, 0.0, 0.0), (0.0, 70.0, 0.0)]
    at = (20.0, 20.0, 20.0)
    points = [at]
    for index in range(bends + 1):
        at = tuple(a + b for a, b in zip(at, steps[index % 3], strict=True))  # type: ignore[assignment]
        points.append(at)
    return points


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize("material", ["acrylic", "petg", "copper"])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_one_or_two_pages_with_nothing_over_anything(
    make_plan: MakePlan, size: tuple[float, float], material: str, units: str
) -> None:
    plan = make_plan(material=material, units=units)
    for number in (1, 2, 3):
        pages = sheets(plan, number, size)
        assert 1 <= len(pages) <= 2
        assert all((page.width, page.height) == size for page in pages)
        assert_tidy(pages)


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize("bends", [1, 3, 5])
def test_as_many_bends_as_usual_take_two_pages_at_most(
    make_plan: MakePlan, size: tuple[float, float], bends: int
) -> None:
    pages = sheets(make_plan(routes=[zigzag(bends)]), 1, size)
    assert len(pages) <= 2
    assert_tidy(pages)


def test_a_straight_tube_is_told_nothing_of_heat(make_plan: MakePlan) -> None:
    for size in (A4, LETTER):
        pages = sheets(make_plan(), 3, size)
        assert len(pages) == 1
        text = words(pages)
        for hot in ("Hot air", "Steam", "Fumes", "Insert"):
            assert hot not in text
        assert "Take care" in text


def test_a_blank_longer_than_the_stock_is_said_beside_it(make_plan: MakePlan) -> None:
    # 442 mm of tube and twice 30 mm of trim allowance from stock of 500 mm.
    plan = make_plan(routes=[((20.0, 20.0, 28.0), (20.0, 20.0, 470.0))])
    text = words(sheets(plan))
    assert "Too long" in text
    assert "2.0 mm longer than the stock of 500.0 mm" in text
    assert "Too long" not in words(sheets(make_plan()))


def test_many_bends_still_fit_side_by_side(make_plan: MakePlan) -> None:
    pages = sheets(make_plan(routes=[zigzag(12)]))
    assert_tidy(pages)
    assert "Bend 12:" in words(pages)


def test_sheet_says_what_the_bench_needs(make_plan: MakePlan) -> None:
    # Legs 132, 100, 152; each square bend takes 2 R off two legs and gives an arc.
    finished = 132.0 + 100.0 + 152.0 - 4 * 28.0 + 2 * ARC
    pages = sheets(make_plan())
    shown = said(pages)
    for needed in (
        f"{finished:.1f} mm",
        f"{finished + 60.0:.1f} mm",
        "30.0 mm",
        "acrylic, 14.0 / 10.0 mm",
        "2 in 2 planes",
        "28.0 mm to the centre line",
        "6.2 mm to card/body 1",
        "part1.out",
        "part1.in",
        "Take care",
    ):
        assert needed in shown
    everything = words(pages)
    assert "150 to 160 °C" in everything
    assert "Steps, in the order of the work" in everything


def test_what_is_doubtful_stands_under_the_bend_table(make_plan: MakePlan) -> None:
    """22 mm before the first bend: 30 + 22 - 14 = 38 mm stay cold; 32 mm of trim do."""
    route = ((20.0, 20.0, 28.0), (20.0, 20.0, 78.0), (20.0, 180.0, 78.0))
    text = words(sheets(make_plan(routes=[route])))
    assert "Doubtful at the bench" in text
    assert "Less than 40.0 mm stays cold to hold: 38.0 mm at part1.out" in text
    assert "a trim allowance of 32.0 mm would do." in text
    assert "Doubtful" not in words(sheets(make_plan()))


def test_table_holds_straights_turns_and_marks(make_plan: MakePlan) -> None:
    shown = said(sheets(make_plan()))
    starts = (30.0 + 104.0, 30.0 + 104.0 + ARC + 44.0)
    for start in starts:
        for place in (
            start,
            start + ARC / 2,
            start + ARC,
            start - 14.0,
            start + ARC + 14.0,
        ):
            assert f"{place:.1f}" in shown
    assert shown.count("90°") >= 3  # two angles and a turn
    assert "124.0" in shown  # the straight that closes the tube: 152 - 28


def test_table_holds_what_to_hold_where_test_bends_tell(make_plan: MakePlan) -> None:
    """1.5 degrees and 0.05 of 90: 96, in a column beside 90 and in the steps."""
    bare = make_plan()
    back = Springback(constant_deg=1.5, share=0.05, tests=2)
    scene = replace(bare.scene, tube=replace(bare.scene.tube, springback=back))
    pages = sheets(replace(bare, scene=scene))
    assert said(pages).count("96°") == 2
    assert words(pages).count("hold at 96° for 90°") == 2
    assert "By 2 test bends: 1.5 degrees and 5.0 % of the angle" in words(pages)
    assert "hold" not in {text.text for text in texts(sheets(bare))}


def test_copper_sheet_has_no_heat_columns(make_plan: MakePlan) -> None:
    shown = said(sheets(make_plan(material="copper")))
    assert "heat from" not in shown
    assert "Insert" not in shown


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_names_and_titles_do_not_break_a_page(
    make_plan: MakePlan, text: str
) -> None:
    plan = make_plan(title=text, names=[text, f"{text} 2", f"{text} 3"])
    pages = sheets(plan)
    assert_tidy(pages)
    for shown in texts(pages):
        assert "\n" not in shown.text


def test_a_run_without_a_route_has_no_sheet(make_plan: MakePlan) -> None:
    plan = make_plan(unrouted="the port faces a wall 4.0 mm away")
    with pytest.raises(PlanError, match=r"wall 4\.0 mm"):
        sheets(plan, 4)


def test_same_plan_gives_the_same_sheet(make_plan: MakePlan) -> None:
    assert sheets(make_plan()) == sheets(make_plan())


def test_lettering_is_large_enough_at_arm_s_length(make_plan: MakePlan) -> None:
    # 2 mm capitals: the least size on drawings by ISO 3098-1 is 1.8 mm (from memory).
    assert min(text.size for text in texts(sheets(make_plan()))) >= 2.0
