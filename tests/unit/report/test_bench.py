"""What is hard about bending candidates, in words that many of them share."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.lengths import MILLIMETRES
from loopsolver.report import bench
from loopsolver.report.bench import bench_remarks
from loopsolver.tube.bench_doubts import (
    BenchDoubt,
    FineTurn,
    HeatInBend,
    HeatInFitting,
    NothingToTrim,
    ShortHold,
    ShortStraight,
)
from tests.builders.short_runs import held, run_of, scene_of


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


ENDS = ("a.out", "b.in")

DOUBTS = [
    (
        ShortStraight(number=1, count=3, length=9.0, grip=25.0),
        "straight shorter than the grip of 25.0 mm: 9.0 mm at a.out, trim allowance "
        "included; more straight_between_bends, or at an end more trim_allowance, in "
        "the scene asks for it",
    ),
    (
        ShortStraight(number=3, count=3, length=9.0, grip=25.0),
        "straight shorter than the grip of 25.0 mm: 9.0 mm at b.in, trim allowance "
        "included; more straight_between_bends, or at an end more trim_allowance, in "
        "the scene asks for it",
    ),
    (
        ShortStraight(number=2, count=3, length=9.0, grip=25.0),
        "straight shorter than the grip of 25.0 mm: 9.0 mm between bends 1 and 2; more "
        "straight_between_bends, or at an end more trim_allowance, in the scene asks "
        "for it",
    ),
    (
        NothingToTrim(trim=30.0),
        "no trim allowance, so nothing to hold and to cut square; 30.0 mm at each end "
        "would do",
    ),
    (
        ShortHold(end=1, cold=12.0, trim=58.0),
        "less than 40.0 mm stays cold to hold: 12.0 mm at b.in; a trim allowance of "
        "58.0 mm would do",
    ),
    (
        HeatInFitting(end=1, bend=2, length=4.5),
        "heat reaches what a fitting grips: 4.5 mm at b.in; shade the tube there",
    ),
    (
        HeatInBend(bend=2, done=1, length=6.0),
        "heat reaches a bend that is done: of bend 2 6.0 mm of bend 1; shade it, then "
        "check it again",
    ),
    (
        FineTurn(bend=3, turn_deg=0.42, miss=1.7),
        "no hand can set a turn under 2 degrees: +0.4 degrees before bend 3, without "
        "which the last end lies 1.7 mm off; bend it flat if the fittings bear that, or "
        "take another candidate",
    ),
]


@pytest.mark.parametrize(("doubt", "sentence"), DOUBTS)
def test_a_doubt_in_full(doubt: BenchDoubt, sentence: str) -> None:
    told = bench._doubt_words(doubt, ends=ENDS, text=MILLIMETRES.text)
    assert told.sentence == sentence


def test_beside_a_picture_a_doubt_is_two_words_and_where() -> None:
    doubt = HeatInFitting(end=0, bend=1, length=4.5)
    told = bench._doubt_words(doubt, ends=ENDS, text=MILLIMETRES.text)
    assert told.short == "heat in fitting: 4.5 mm at a.out"
    nowhere = bench._doubt_words(
        NothingToTrim(trim=30.0), ends=ENDS, text=MILLIMETRES.text
    )
    assert nowhere.short == "nothing to trim"


def test_of_one_tube_what_is_alike_is_told_once_with_every_place() -> None:
    """Two straights of 4 mm between three bends, held by a grip of 25 mm."""
    tight = held((0, 0, 0), (100, 0, 0), (100, 60, 0), (160, 60, 0), (160, 160, 0))
    scene = scene_of(material="copper", grip=25.0)
    short, *_others = bench.bench_words(
        scene, run_of(tight), tight, text=MILLIMETRES.text
    )
    assert short.where == "4.0 mm between bends 1 and 2, 4.0 mm between bends 2 and 3"


def test_a_straight_tube_between_fixed_parts_is_told() -> None:
    """MIL-H-8891A, 3.11.4.5: a straight tube between rigid connections is not used."""
    bent, straight = (
        held((0, 0, 0), (100, 0, 0), (100, 100, 0)),
        held((0, 0, 0), (200, 0, 0)),
    )
    told = bench_remarks(
        scene_of(), run_of(bent, straight), (1, 2), lengths=MILLIMETRES
    )
    (one,) = told
    assert one.startswith("no bend to give way between two fixed parts (MIL-H-8891A")
    assert "candidate 2; take a candidate with a bend" in one
