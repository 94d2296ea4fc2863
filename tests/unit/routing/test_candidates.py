"""Which candidates of a run are gathered: square ones, and those rolled out of square."""

import math
from dataclasses import replace

import pytest

from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.judge import make_judge
from loopsolver.routing.square.search import square_candidates
from loopsolver.tolerances import SHORTENED_MARGIN as MARGIN
from tests.builders.problems import BEND_RADIUS, STRAIGHT, end_at, run_between
from tests.property.laid_tubes import candidate_complaints
from tests.unit.routing.full_cases import random_problem


@pytest.mark.parametrize("miss", [0.0, 0.3, 2.0, 30.0])
def test_a_return_between_ports_out_of_line_keeps_its_two_bends(miss: float) -> None:
    """Both axes lie in one plane, so the return of two bends is there, rolled into it.

    Its legs: straight and take-out R twice, and the way between the axes; each bend gives
    2 R - R pi / 2 back.
    """
    aside = 150.0
    problem = run_between(
        end_at((250, 180, 250), (1, 0, 0)),
        end_at((250, 180 + aside, 250 + miss), (1, 0, 0)),
        angles=(90.0,),
    )
    found = find_candidates(problem).candidates
    assert all(not candidate_complaints(one, problem) for one in found)
    best = min(found, key=lambda one: (one.bends, one.length))
    legs = 2.0 * (STRAIGHT + BEND_RADIUS) + math.hypot(aside, miss)
    saved = 2.0 * (2.0 * BEND_RADIUS - BEND_RADIUS * math.pi / 2.0)
    assert best.bends == 2
    assert best.length == pytest.approx(legs - saved, abs=4.0 * MARGIN)


def test_tubes_are_not_rolled_where_that_saves_little() -> None:
    seen = 0
    for seed in (8, 10, 12, 16, 21):
        problem = replace(random_problem(seed), bend_angles_deg=(90.0,))
        square = square_candidates(problem, make_judge(problem)).candidates
        if square and min(one.bends for one in square) < 4:
            seen += 1
            assert find_candidates(problem).candidates == square
    assert seen == 5
