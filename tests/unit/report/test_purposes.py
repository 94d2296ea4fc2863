"""What each candidate of a run is for."""

from __future__ import annotations

from loopsolver.report.purposes import Purpose, purpose_remarks, purposes
from tests.builders.plans import Points
from tests.builders.scenes import box, part, scene
from tests.builders.short_runs import made, run_of

CASE = scene(
    part("memory", box("stick", (80, 80, 0), (120, 120, 200))), inner=(200, 200, 200)
)

AT_ONCE: Points = ((20, 100, 100), (60, 40, 100), (180, 100, 100))
BEHIND: Points = ((20, 100, 100), (60, 170, 100), (180, 100, 100))
WIDE: Points = ((20, 100, 100), (60, 20, 100), (140, 20, 100), (180, 100, 100))


def test_each_merit_goes_to_the_first_that_has_it() -> None:
    run = run_of(
        made(BEHIND, gap=3.0, radius=10.0),
        made(AT_ONCE, gap=3.0, radius=10.0),
        made(WIDE, gap=9.0, radius=10.0),
        made(WIDE, gap=9.0, radius=10.0),
    )
    assert list(purpose_remarks(CASE, run, (3, 1, 2, 4))) == [
        "candidate 3: most gap, round the other side of memory",
        "candidate 1: fewest bends",
        "candidate 2: shortest, round the other side of memory",
        "candidate 4: round the other side of memory",
    ]


def test_what_most_share_is_no_merit() -> None:
    run = run_of(*[made(AT_ONCE, gap=3.0, radius=10.0)] * 3)
    assert purposes(CASE, run) == ((), (), ())


def test_square_turns_are_a_merit_where_candidate_1_has_others() -> None:
    askew: Points = ((0, 0, 0), (60, 0, 0), (60, 60, 0), (80, 90, 60))
    square: Points = ((0, 0, 0), (60, 0, 0), (60, 60, 0), (60, 60, 60))
    run = run_of(made(askew, radius=10.0), made(square, radius=10.0))
    merits = [[one.merit for one in each] for each in purposes(CASE, run)]
    assert "square turns" in merits[1]
    assert "square turns" not in merits[0]


def test_two_bodies_are_named_and_the_others_counted() -> None:
    aside = Purpose(merit="other side", bodies=("a", "b", "c", "d"))
    assert aside.words == "round the other side of a, b and 2 more"
