"""Candidates side by side: what is better of one, and what worse; the table."""

from __future__ import annotations

import math
from dataclasses import replace

from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.report.comparing import (
    candidate_table,
    comparison,
    comparison_remarks,
    former_remark,
)
from tests.builders.plans import GAIN, Points
from tests.builders.short_runs import (
    ONE_BEND,
    STRAIGHT,
    TWO_PLANES,
    held,
    made,
    run_of,
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


def test_the_table_has_a_column_only_for_what_differs() -> None:
    """Two tubes of 200 mm without bends: blanks of 200 + 2 x 30 mm."""
    run = run_of(made(STRAIGHT), made(STRAIGHT, gap=4.0), chosen=2)
    table = candidate_table(run, (2, 1), MILLIMETRES)
    assert [one.replace("\n", " ") for one in table.headings] == [
        "",
        "rank",
        "bends",
        "planes",
        "length mm",
        "blank mm",
        "gap mm",
        "nearest",
    ]
    assert table.rows[0] == ("*", "2", "0", "0", "200.0", "260.0", "4.0", "tank")
    assert table.rows[1] == ("", "1", "0", "0", "200.0", "260.0", "5.0", "tank")
    assert table.strong == {0}
    assert table.words == {7}


def test_former_elbows_and_what_others_do_get_columns_where_they_differ() -> None:
    elbow = held((0, 0, 0), (200, 0, 0))
    first, last = elbow.ends
    elbow = replace(elbow, ends=(first, replace(last, is_elbow=True)))
    run = run_of(made(ONE_BEND, radius=40.0), elbow)
    table = candidate_table(run, (1, 2), INCHES, others={2: "1 moves"})
    cells = dict(zip(table.headings, zip(*table.rows, strict=True), strict=True))
    # 40 and 28 mm in inches of 25.4 mm.
    assert cells["radius\nin"] == ("1.575", "1.102")
    assert cells["elbows"] == ("0", "1")
    assert cells["others"] == ("", "1 moves")


def test_a_bend_at_a_standard_angle_is_off_by_nought_without_a_sign() -> None:
    """Bends of 90 - 0.02 and of 90 - 0.02 - atan(3 / 4) degrees: 53.1, 8.1 off 45."""
    nearly = math.radians(0.02)
    corner = (100.0 + 150.0 * math.sin(nearly), 150.0 * math.cos(nearly), 0.0)
    last = (corner[0] + 80.0, corner[1] + 60.0, 0.0)
    free = replace(
        made(((0, 0, 0), (100, 0, 0), corner, last)), standard_deg=(45.0, 90.0)
    )
    table = candidate_table(run_of(free), (1,), MILLIMETRES)
    (cell,) = (
        one
        for heading, one in zip(table.headings, table.rows[0], strict=True)
        if heading == "off by\ndegrees"
    )
    assert cell == "0.0 +8.1"
