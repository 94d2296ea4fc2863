"""Which candidates of a run are gathered: square ones, and those rolled out of square."""

import math
from dataclasses import replace

import pytest

from loopsolver.routing.angled.listed import angled_candidates
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.square.search import square_candidates
from loopsolver.routing.worth import odd_turns
from loopsolver.scene.model import TurnStep
from loopsolver.tolerances import NO_SHORTER
from loopsolver.tolerances import SHORTENED_MARGIN as MARGIN
from tests.builders.problems import BEND_RADIUS, STRAIGHT, end_at, run_between
from tests.full import few_or_all
from tests.property.laid_tubes import candidate_complaints
from tests.unit.routing.full_cases import random_problem

NONE = (math.inf, math.inf)


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


def of_square_bends(seed: int, step: TurnStep = "any") -> RouteProblem:
    return replace(random_problem(seed), bend_angles_deg=(90.0,), turn_step_deg=step)


@pytest.mark.parametrize("seed", few_or_all((8, 10, 12), range(60)))
def test_turns_of_90_degrees_are_the_lattice(seed: int) -> None:
    """The list may hold roomier ones beside those of the lattice, but none is better."""
    problem = of_square_bends(seed, 90.0)
    square = square_candidates(problem, make_judge(problem)).candidates
    found = find_candidates(problem).candidates
    assert found[:1] == square[:1]
    assert not any(odd_turns(one.turns_deg) for one in found)


@pytest.mark.parametrize("seed", few_or_all((10, 12), range(60)))
def test_neither_search_alone_is_better_than_both(seed: int) -> None:
    """By bends, then by length with what odd turns count as."""
    problem = of_square_bends(seed)
    judge = make_judge(problem)
    best = min((one.cost for one in find_candidates(problem).candidates), default=NONE)
    for alone in (
        square_candidates(problem, judge).candidates,
        angled_candidates(problem, judge, angles_deg=(90.0,)),
        find_candidates(of_square_bends(seed, 45.0)).candidates,
    ):
        bends, worth, *_ = min((one.cost for one in alone), default=NONE)
        assert (best[0], best[1] - NO_SHORTER) <= (bends, worth)


def test_a_tube_out_of_square_takes_the_lattice_s_place_where_it_saves_a_bend() -> None:
    """Seed 3: the lattice needs four bends; rolled, three do, at 275 mm of tube.

    The judge lays it from its bend table, so that it is one needs no trust in the search.
    """
    problem = of_square_bends(3)
    square = square_candidates(problem, make_judge(problem)).candidates
    found = find_candidates(problem).candidates
    assert min(one.bends for one in square) == 4
    assert found[0].bends == 3
    assert all(not candidate_complaints(one, problem) for one in found)
    assert any(one.bends == 4 for one in found)
