"""What is hard about bending candidates, in words that many of them share."""

from __future__ import annotations

from dataclasses import replace

from loopsolver.lengths import MILLIMETRES
from loopsolver.report.bench import bench_remarks
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
