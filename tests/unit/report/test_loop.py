"""The loop as a whole in sentences: its total, and no more praise than is due."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from loopsolver.plan import Effect, LoopSummary, Plan, PlannedRun, WouldFit
from loopsolver.report.loop import (
    effect_remarks,
    effect_words,
    loop_sentences,
    loop_total,
    plan_side_by_side,
    verdict,
)
from tests.builders.plans import SUMMARY, Points, planned
from tests.builders.short_runs import made, scene_of

# Tubes of 14 mm along z, neighbours where their axes are within 56 mm of each other.
FIRST: Points = ((20, 20, 0), (20, 20, 200))
SECOND: Points = ((50, 20, 50), (50, 20, 300))  # 30 mm off, over 150 mm
THIRD: Points = ((20, 200, 0), (20, 200, 120))
FOURTH: Points = ((50, 200, 300), (50, 200, 0))  # 30 mm off, over 120 mm
WIDE: Points = ((60, 200, 300), (60, 200, 0))  # 40 mm off instead
ACROSS: Points = ((150, 0, 100), (150, 300, 100))


def run(name: str, *tubes: Points, chosen: int | None = 1) -> PlannedRun:
    return planned(name, [made(tube) for tube in tubes], chosen=chosen)


def plan(*tubes: Points, loop: LoopSummary | None = SUMMARY) -> Plan:
    runs = tuple(run(f"tube {n}", tube) for n, tube in enumerate(tubes, start=1))
    return Plan(scene=scene_of(), runs=runs, loop=loop)


def test_the_total_is_the_sum_of_what_is_chosen() -> None:
    """Straight tubes of 200 and 250 mm."""
    total = loop_total(plan(FIRST, SECOND))
    assert (total.tubes, total.runs, total.bends, total.elbows) == (2, 2, 0, 0)
    assert total.length == pytest.approx(450.0)
    assert total.is_whole
    first, *_ = loop_sentences(plan(FIRST, SECOND))
    assert first == "the loop: 0 bends, 450.0 mm of tube in 2 runs"


def test_in_an_inch_scene_the_total_is_in_inches_too() -> None:
    """450 mm are 17.717 in."""
    metric = plan(FIRST, SECOND)
    inches = replace(metric, scene=replace(metric.scene, units="in"))
    first, *_ = loop_sentences(inches)
    assert first == "the loop: 0 bends, 17.717 in (450.0 mm) of tube in 2 runs"


@pytest.mark.parametrize(
    ("loop", "words"),
    [
        (SUMMARY, "by bends proven best of the 31 routes found in 2 rounds"),
        (
            replace(SUMMARY, for_parallel=7.5),
            "by bends proven best of the 31 routes found in 2 rounds, but for 7.5 mm of "
            "tube given so that more runs parallel",
        ),
        (
            replace(SUMMARY, is_proven=False, by="parallel"),
            "by bends the best found of the 31 routes found in 2 rounds; not proven",
        ),
        (
            replace(SUMMARY, bound=SUMMARY.total, kept=("a to b",), rounds=0),
            "by bends no choice of the 31 routes found with 'a to b' kept is better: "
            "each tube is as good as the best of its run alone",
        ),
    ],
)
def test_how_good_the_choice_is_is_said_and_no_more(
    loop: LoopSummary, words: str
) -> None:
    assert loop_sentences(plan(FIRST, ACROSS, loop=loop))[1] == words


def test_what_tubes_that_pass_through_each_other_would_save_is_said() -> None:
    """10 bends and 1200 mm against 9 and 1150."""
    told = loop_sentences(plan(FIRST, ACROSS))
    assert told[2] == (
        "if tubes could pass through each other: 1 bend fewer; this has 50.0 mm more "
        "tube than that"
    )
    less = replace(SUMMARY, total=(10.0, 1100.0))
    assert loop_sentences(plan(FIRST, ACROSS, loop=less))[2].endswith(
        "1 bend fewer; this has 50.0 mm less tube than that"
    )


def test_of_a_choice_by_hand_nothing_is_claimed() -> None:
    by_hand = plan(FIRST, ACROSS, loop=None)
    assert verdict(by_hand) == "by hand"
    assert loop_sentences(by_hand)[1:] == [
        "chosen by hand; `loopsolver route` would choose for the whole loop"
    ]
    edited = replace(plan(FIRST, ACROSS), is_edited=True)
    assert verdict(edited) == "edited"
    assert loop_sentences(edited)[1:] == [
        "how good the choice is is not shown: the plan was edited by hand"
    ]


def test_who_is_left_out_and_who_has_no_route_are_named() -> None:
    whole = plan(FIRST, ACROSS)
    out = run("it's out", SECOND, chosen=None)
    some = replace(whole, runs=(*whole.runs, out, run("lost", chosen=None)))
    assert loop_sentences(some) == [
        "the loop: 0 bends, 500.0 mm of tube in 2 of 4 runs",
        "without a route: 'lost'",
        'left out, as not all fit together: "it\'s out"',
        "proven: no choice of the 31 routes found in 2 rounds leaves out fewer",
    ]


@pytest.mark.parametrize(
    ("ended", "words"),
    [
        ("time", "time ended the search; --seconds gives it more"),
        ("stopped", "Ctrl-C ended the search before it was done"),
    ],
)
def test_what_ended_the_search_comes_last(ended: str, words: str) -> None:
    loop = replace(SUMMARY, ended=ended)  # type: ignore[arg-type]
    assert loop_sentences(plan(FIRST, ACROSS, loop=loop))[-1] == words


@pytest.mark.parametrize(
    ("tubes", "words"),
    [
        ((FIRST, ACROSS), "no tubes run side by side"),
        (
            (FIRST, SECOND),
            "tubes run side by side over 150.0 mm, each stretch at another spacing",
        ),
        (
            (FIRST, SECOND, THIRD, FOURTH),
            "tubes run side by side over 270.0 mm, evenly spaced",
        ),
        (
            (FIRST, SECOND, THIRD, WIDE),
            "tubes run side by side over 270.0 mm, each stretch at another spacing",
        ),
    ],
)
def test_how_much_tube_runs_side_by_side(tubes: tuple[Points, ...], words: str) -> None:
    assert loop_sentences(plan(*tubes))[-1] == words


def test_the_even_part_is_told_apart() -> None:
    """Two stretches at 30 mm, one at 40 mm: 150 and 120 of 390 mm are even."""
    other: Points = ((20, 380, 0), (20, 380, 120))
    near: Points = ((60, 380, 0), (60, 380, 300))
    found = plan_side_by_side(plan(FIRST, SECOND, THIRD, FOURTH, other, near))
    assert found.spacing == "even in part"
    assert found.length == pytest.approx(390.0)
    assert found.even == pytest.approx(270.0)


def test_what_a_choice_moves() -> None:
    none = Effect(run="a", rank=1, moved=None)
    stay = Effect(run="a", rank=2, moved=())
    one = Effect(run="a", rank=3, moved=(("b", 2),))
    two = Effect(run="a", rank=4, moved=(("b", 2), ("c", 1)))
    assert [effect_words(each) for each in (none, stay, one, two)] == [
        "no fit",
        "stay",
        "1 moves",
        "2 move",
    ]
    assert list(effect_remarks((none, stay, one, two, replace(none, rank=5)))) == [
        "candidate 3 would move 'b' to 2",
        "candidate 4 would move 'b' to 2 and 'c' to 1",
        "candidates 1 and 5: beside it no listed candidates of the others fit; "
        "`loopsolver route --keep` looks for new ones",
    ]


FITS = WouldFit(
    changes="bends of 45 or 90 degrees", runs=4, bends=10, elbows=0, length=1371.0
)


def left_out(loop: LoopSummary) -> Plan:
    """Two runs, of which one has no tube chosen."""
    runs = (run("tube 1", FIRST), run("tube 2", ACROSS, chosen=None))
    return Plan(scene=scene_of(), runs=runs, loop=loop)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (
            {"would_fit": FITS},
            "with bends of 45 or 90 degrees, all 4 would fit: 10 bends, 1371.0 mm of tube",
        ),
        (
            {"would_fit": replace(FITS, bends=1, elbows=2)},
            "with bends of 45 or 90 degrees, all 4 would fit: 1 bend and 2 elbows, "
            "1371.0 mm of tube",
        ),
        (
            {"tried": "tried, and not enough: bends of any angle"},
            "tried, and not enough: bends of any angle",
        ),
    ],
)
def test_what_would_let_all_runs_fit_is_said_last(
    told: dict[str, Any], words: str
) -> None:
    assert loop_sentences(left_out(replace(SUMMARY, **told)))[-1] == words
    assert words not in loop_sentences(left_out(SUMMARY))
