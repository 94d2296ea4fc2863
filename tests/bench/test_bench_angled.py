"""How long angles other than square ones take, and how long it takes to say why none.

Held against the search for square bends, or for any tube, in as full a case.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial
from itertools import islice
from pathlib import Path

import pytest

from loopsolver import load_scene
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.control import UNATTENDED
from loopsolver.routing.diagnosis.explain import reason_of
from loopsolver.routing.effort import USUAL, VarietyEffort
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.solve import problems_of, searches_of
from loopsolver.scene.model import BendAngles, Scene
from tests.full import few_or_all, only_in_full
from tests.interleaved import Measured, Pair, in_turn
from tests.property.known_routes import KINDS, known_run
from tests.unit.routing.diagnosis.test_explain_crowded import crowded
from tests.unit.routing.explain_scenes import routes
from tests.unit.routing.full_cases import random_problem

pytestmark = pytest.mark.bench

LISTED, ANY, REASON = 15.0, 12.0, 15.0
"""How many times as long as the other side: some 3 times what was seen on two cores."""

ROLLED_SEEDS = few_or_all((), range(30))
"""Cases of forty bodies beside the demonstration builds' runs."""

SEEDS = few_or_all((12,), (6, 10, 12, 17))
"""Cases of forty bodies with a route of square bends."""


ROLLED = 9.0
"""The same for square bends with any turn against those of the lattice alone.

Three times what is wanted in the median of many cases; single ones take ten times as long.
"""


VARIED = 6.0
"""The same for lists with what differs against those of the best search alone.

Three times what is wanted in the median, as other work may go on meanwhile.
"""


def demonstration_problems() -> list[RouteProblem]:
    """The runs of the demonstration builds, with their preferred fittings."""
    folder = Path(__file__).parents[2] / "scenes"
    scenes = [load_scene(path) for path in sorted(folder.glob("*.toml"))]
    return [problems_of(scene, run)[0] for scene in scenes for run in scene.runs]


def searched(
    problem: RouteProblem, bend_angles_deg: BendAngles
) -> Callable[[], object]:
    wanted = replace(problem, bend_angles_deg=bend_angles_deg)
    return lambda: find_candidates(wanted)


@pytest.mark.parametrize("seed", SEEDS)
def test_listed_angles_against_square_ones(seed: int, measured: Measured) -> None:
    """The same bodies, once with square bends, once with those of 45 as well."""
    problem = random_problem(seed)
    pair = in_turn(
        {
            "[45, 90]": searched(problem, (45.0, 90.0)),
            "[90]": searched(problem, (90.0,)),
        },
        pairs=3,
    )
    measured(f"40 bodies, seed {seed}", pair, most=LISTED)
    assert pair.ratio <= LISTED


def test_any_turn_against_the_lattice_alone(measured: Measured) -> None:
    """Square bends in crowded cases and in the demonstration builds, a median of all."""
    cases = [
        replace(random_problem(seed), bend_angles_deg=(90.0,)) for seed in ROLLED_SEEDS
    ]
    cases += demonstration_problems()
    each = [
        in_turn(
            {
                "any turn": searched(problem, (90.0,)),
                "lattice": searched(replace(problem, turn_step_deg=90.0), (90.0,)),
            },
            pairs=1,
            warm=1,
        )
        for problem in cases
    ]
    rolled, square = zip(*(one.seconds for one in each), strict=True)
    every = Pair(names=each[0].names, seconds=(sum(rolled, ()), sum(square, ())))
    measured(f"{len(cases)} runs, with any turn", every, most=ROLLED)
    assert every.ratio <= ROLLED


def test_lists_that_differ_against_plain_ones(measured: Measured) -> None:
    """What the searches for more gap and other ways round add, a median of all runs."""
    plain = replace(USUAL, variety=VarietyEffort(roomier=0, closings=0))
    each = [
        in_turn(
            {
                "list that differs": searched(problem, problem.bend_angles_deg),
                "plain": searched(
                    replace(problem, effort=plain), problem.bend_angles_deg
                ),
            },
            pairs=1,
            warm=1,
        )
        for problem in demonstration_problems()
    ]
    varied, usual = zip(*(one.seconds for one in each), strict=True)
    every = Pair(names=each[0].names, seconds=(sum(varied, ()), sum(usual, ())))
    measured(f"{len(each)} runs of the demonstrations", every, most=VARIED)
    assert every.ratio <= VARIED


@pytest.mark.parametrize("seed", SEEDS)
def test_any_angle_against_listed_ones(seed: int, measured: Measured) -> None:
    problem = random_problem(seed)
    pair = in_turn(
        {"any": searched(problem, "any"), "[45, 90]": searched(problem, (45.0, 90.0))},
        pairs=1 if len(SEEDS) == 1 else 3,
    )
    measured(f"40 bodies, seed {seed}", pair, most=ANY)
    assert pair.ratio <= ANY


@only_in_full
@pytest.mark.parametrize("seed", [3, 7, 11])
@pytest.mark.parametrize("kind", ["any, moved", "any, tilted"])
def test_ports_out_of_line_against_a_crowded_case(
    kind: str, seed: int, measured: Measured
) -> None:
    """Ports moved out of line, and tilted any way, beside ports along the axes."""
    (drawn,) = (one for one in KINDS if one.name == kind)
    pair = in_turn(
        {
            kind: searched(known_run(drawn, seed).problem, "any"),
            "along the axes": searched(random_problem(12), "any"),
        },
        pairs=3,
    )
    measured(f"{kind}, seed {seed}", pair, most=ANY)
    assert pair.ratio <= ANY


@cache
def without_route(bend_angles_deg: BendAngles, count: int) -> tuple[Scene, ...]:
    """The first of random scenes of forty bodies and few bends that have no route."""
    scenes = (
        crowded(
            seed, bodies=40, bend_angles_deg=bend_angles_deg, max_bends=2, square=0.9
        )
        for seed in range(100)
    )
    found = tuple(islice((one for one in scenes if not routes(one)), count))
    assert len(found) == count
    return found


@pytest.mark.parametrize(
    "bend_angles_deg", few_or_all([(90.0,)], [(90.0,), (45.0, 90.0), "any"])
)
def test_a_reason_against_a_route(
    bend_angles_deg: BendAngles, measured: Measured
) -> None:
    """To say why there is none takes about as long as to find some in such a case."""
    for scene in without_route(bend_angles_deg, len(few_or_all((0,), range(4)))):
        run = scene.runs[0]
        pair = in_turn(
            {
                "why none": partial(reason_of, scene, run, searches_of(UNATTENDED)),
                "a route": searched(random_problem(12), bend_angles_deg),
            },
            pairs=3,
        )
        measured(f"40 bodies, {bend_angles_deg}", pair, most=REASON)
        assert pair.ratio <= REASON
