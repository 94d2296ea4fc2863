"""Candidates, stock and touching tubes in words."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from loopsolver.clearance.gap import Gap
from loopsolver.cli.remarks import (
    bench_remarks,
    comparison,
    comparison_remarks,
    former_remark,
    named_ranks,
    stock_remarks,
    touch_remark,
)
from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.plan import PlannedRun, Touch
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.stock import Tube
from loopsolver.workshop.stock_fit import over_stock, stock_help

Points = tuple[tuple[float, float, float], ...]
GAIN = 28.0 * (2.0 - math.pi / 2.0)  # two legs less their arc, at 90 degrees

STRAIGHT: Points = ((0, 0, 0), (200, 0, 0))
ONE_BEND: Points = ((0, 0, 0), (100, 0, 0), (100, 100, 0))
TWO_PLANES: Points = ((0, 0, 0), (100, 0, 0), (100, 80, 0), (100, 80, 80))


def made(
    vertices: Points, *, gap: float = 5.0, name: str = "tank", radius: float = 28.0
) -> Candidate:
    return Candidate(
        centreline=Centreline(vertices=vertices, radius=radius),
        gap=Gap(distance=gap, name=name, at=vertices[0]),
        trim_allowance=30.0,
    )


def run_of(*candidates: Candidate, chosen: int = 1) -> PlannedRun:
    return PlannedRun(
        name="a to b",
        from_port="a.out",
        to_port="b.in",
        candidates=candidates,
        chosen=chosen,
    )


def tube(stock: float) -> Tube:
    return Tube(
        material="acrylic",
        outer_diameter=14.0,
        inner_diameter=10.0,
        bend_radii=(28.0,),
        stock_length=stock,
        trim_allowance=30.0,
    )


def test_what_is_better_comes_first_and_what_is_worse_after_but() -> None:
    # 200 - GAIN against 260 - 2 GAIN: 60 - GAIN = 48.0 mm shorter.
    words = comparison(
        made(ONE_BEND, gap=3.0, name="wall"), made(TWO_PLANES), MILLIMETRES
    ).words
    shorter = f"{60.0 - GAIN:.1f} mm shorter"
    assert (
        words
        == f"1 bend fewer, 1 plane fewer, {shorter}, but gap 2.0 mm smaller (to wall)"
    )


def test_the_other_way_round_it_is_the_other_way_round() -> None:
    one = comparison(made(ONE_BEND, gap=3.0), made(TWO_PLANES), MILLIMETRES)
    two = comparison(made(TWO_PLANES), made(ONE_BEND, gap=3.0), MILLIMETRES)
    assert len(one.better) == len(two.worse) == 3
    assert two.better == ("gap 2.0 mm larger (to tank)",)


def test_better_in_all_and_in_nothing() -> None:
    assert "but" not in comparison(made(ONE_BEND), made(TWO_PLANES), MILLIMETRES).words
    words = comparison(made(TWO_PLANES), made(ONE_BEND), MILLIMETRES).words
    assert words.endswith("; better in nothing")


def test_differences_that_would_print_as_nothing_are_not_told() -> None:
    near: Points = ((0, 0, 0), (200.04, 0, 0))
    words = comparison(made(near, gap=5.04), made(STRAIGHT), MILLIMETRES).words
    assert words == "equal in every figure, by another way"
    assert (
        comparison(made(near), made(STRAIGHT), INCHES).words
        == "0.002 in (0.0 mm) longer; better in nothing"
    )


def test_candidates_with_nothing_for_them_share_a_sentence() -> None:
    run = run_of(
        made(ONE_BEND), made(TWO_PLANES), made(STRAIGHT), made(TWO_PLANES, gap=4.0)
    )
    told = list(comparison_remarks(run, (1, 2, 3, 4), lengths=MILLIMETRES))
    # 200 against 200 - GAIN.
    assert told == [
        f"candidate 3: 1 bend fewer, 1 plane fewer, but {GAIN:.1f} mm longer",
        "candidates 2 and 4: better in nothing",
    ]


def test_everything_is_against_the_chosen_one() -> None:
    run = run_of(made(ONE_BEND), made(STRAIGHT), chosen=2)
    told = list(comparison_remarks(run, (1, 2), lengths=MILLIMETRES))
    assert told == [
        f"candidate 1: {GAIN:.1f} mm shorter, but 1 bend more, 1 plane more"
    ]


def test_another_former_is_told() -> None:
    words = former_remark(
        made(ONE_BEND, radius=40.0), made(ONE_BEND), lengths=MILLIMETRES
    )
    assert words == "bent round 40.0 mm instead of 28.0 mm"
    assert former_remark(made(ONE_BEND), made(TWO_PLANES), lengths=MILLIMETRES) is None


def test_ranks_in_words() -> None:
    assert named_ranks([2]) == "candidate 2"
    assert named_ranks([2, 3]) == "candidates 2 and 3"
    assert named_ranks([2, 4, 5]) == "candidates 2, 4 and 5"


@pytest.mark.parametrize(
    # The straight's blank is 200 + 2 x 30 = 260 mm.
    ("stock", "over"),
    [(260.0, 0.0), (259.0, 1.0), (300.0, 0.0), (150.0, 110.0)],
)
def test_blank_over_stock(stock: float, over: float) -> None:
    assert over_stock(made(STRAIGHT), tube(stock)) == pytest.approx(over)


def test_a_smaller_trim_allowance_is_offered_where_it_leaves_something_to_hold() -> (
    None
):
    # (250 - 200) / 2 = 25 mm at each end, more than the diameter of 14 mm.
    help_25 = stock_help(made(STRAIGHT), tube(250.0), text=MILLIMETRES.text)
    assert "at most 25.0 mm of trim allowance at each end instead of 30.0 mm" in help_25
    # (220 - 200) / 2 = 10 mm is too little.
    help_10 = stock_help(made(STRAIGHT), tube(220.0), text=MILLIMETRES.text)
    assert help_10 == "longer stock, or two tubes with a coupling"


def test_long_blanks_with_the_same_help_share_a_sentence() -> None:
    run = run_of(made(STRAIGHT), made(ONE_BEND), made(TWO_PLANES))
    (told,) = stock_remarks(run, (1, 2, 3), tube=tube(150.0), lengths=MILLIMETRES)
    blanks = (260.0, 260.0 - GAIN, 320.0 - 2 * GAIN)
    wanted = ", ".join(
        f"candidate {rank} by {blank - 150.0:.1f} mm"
        for rank, blank in enumerate(blanks, start=1)
    )
    assert told.startswith(f"blank longer than the stock of 150.0 mm: {wanted}; takes")
    assert list(stock_remarks(run, (1,), tube=tube(500.0), lengths=MILLIMETRES)) == []


def test_touching_tubes_with_by_how_much_where_and_what_helps() -> None:
    touch = Touch(first="a to b", second="c to d", gap=2.9, at=(10.0, 20.0, 30.0))
    words = touch_remark(touch, [("c to d", 2)], clearance=3.0, lengths=MILLIMETRES)
    assert words == (
        "'a to b' and 'c to d' come within 2.90 mm of each other at x, y, z = 10.0, "
        "20.0, 30.0 mm, 0.10 mm less than the clearance of 3.0 mm; candidate 2 of "
        "'c to d' would keep clear of all chosen tubes"
    )


def test_tubes_in_each_other() -> None:
    touch = Touch(first="a", second="b", gap=-4.0, at=(0.0, 0.0, 0.0))
    words = touch_remark(touch, [], clearance=3.0, lengths=MILLIMETRES)
    assert "'a' and 'b' run into each other by 4.00 mm" in words
    assert words.endswith("no other candidate of either alone keeps clear of all tubes")


SCENE = """\
format = 1
[case]
inner = [300, 300, 300]
[tube]
material = "acrylic"
outer_diameter = 14
inner_diameter = 10
[fittings.collar]
height = 20
depth = 12
diameter = 22
straight_beyond = 5
[components.a]
position = [0, 0, 0]
[components.a.ports.out]
position = [0, 100, 100]
direction = "+x"
[components.b]
position = [0, 0, 0]
[components.b.ports.in]
position = [100, 100, 0]
direction = "+z"
"""


def scene_of(**changes: object) -> Scene:
    """Return the scene of both ports, with another tube."""
    scene = scene_from_text(SCENE, file="ouzel.toml")
    return replace(scene, tube=replace(tube(500.0), **changes))  # type: ignore[arg-type]


def held(*vertices: tuple[float, float, float]) -> Candidate:
    """Return a candidate whose ends go into the collar of `a.out` and `b.in`."""
    ends = tuple(
        EndFitting(port=port, fitting="collar", outlet=(1, 0, 0), mouth=(0, 0, 0))
        for port in ("a.out", "b.in")
    )
    return replace(made(vertices), ends=ends)


def test_candidates_in_the_same_doubt_share_a_sentence() -> None:
    """Straights of 17, 17 and 20 mm before the first bend: 14 of them get hot.

    12 mm are gripped, so 9, 9 and 6 mm are both.
    """
    first, second, third = (
        held((0, 0, 0), (28 + straight, 0, 0), (28 + straight, 100, 0))
        for straight in (17, 17, 20)
    )
    run = run_of(first, second, third)
    told = list(bench_remarks(scene_of(), run, (1, 2, 3), lengths=MILLIMETRES))
    assert told == [
        "less than 40.0 mm stays cold to hold: 33.0 mm at a.out (candidates 1 and 2); "
        "a trim allowance of 37.0 mm would do",
        "less than 40.0 mm stays cold to hold: 36.0 mm at a.out (candidate 3); "
        "a trim allowance of 34.0 mm would do",
        "heat reaches what a fitting grips: 9.0 mm at a.out (candidates 1 and 2), "
        "6.0 mm at a.out (candidate 3); shade the tube there",
    ]


def test_a_short_grip_and_no_trim_are_told() -> None:
    """4 mm between the bends; nothing is left over at the ends."""
    tight = replace(
        held((0, 0, 0), (100, 0, 0), (100, 60, 0), (200, 60, 0)), trim_allowance=0.0
    )
    scene = scene_of(material="copper", grip=25.0)
    told = list(bench_remarks(scene, run_of(tight), (1,), lengths=MILLIMETRES))
    assert told[0].startswith(
        "straight shorter than the grip of 25.0 mm: 4.0 mm between bends 1 and 2"
    )
    assert told[1] == (
        "no trim allowance, so nothing to hold and to cut square: candidate 1; "
        "30.0 mm at each end would do"
    )
    assert len(told) == 2


def test_a_smaller_trim_says_what_it_leaves_to_hold() -> None:
    """Blank 200 - GAIN + 60 of one bend with 72 mm of straight at each end.

    Stock 20 mm shorter than the blank: 20 mm of trim, and 20 + 72 - 14 = 78 mm stay
    cold. With 20 mm of straight 20 + 20 - 14 = 26 mm do.
    """
    long = made(ONE_BEND)
    words = stock_help(long, tube(long.blank - 20.0), text=MILLIMETRES.text)
    assert words.endswith("instead of 30.0 mm")
    short = made(((0, 0, 0), (48, 0, 0), (48, 100, 0)))
    words = stock_help(short, tube(short.blank - 20.0), text=MILLIMETRES.text)
    assert words.endswith("instead of 30.0 mm (26.0 mm stay cold to hold then)")
