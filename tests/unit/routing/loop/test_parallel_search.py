"""The tidier of equal choices: scenes whose answer is plain, and all choices tried."""

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.clearance.obstacles import Gap
from loopsolver.geometry.vectors import Point, point
from loopsolver.plan import Plan, touches, tubes_side_by_side
from loopsolver.plan.ranking import RANKINGS
from loopsolver.report.planning import route_scene
from loopsolver.routing.loop.parallel_search import Exchange, parallel_routes
from loopsolver.routing.loop.parallels import side_by_side
from loopsolver.routing.loop.route_pool import Route, clash_table
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tube.centreline import Centreline
from tests.builders.scenes import box, part, port, wanted
from tests.unit.routing.known_loops import (
    BEND_RADIUS,
    CLEARANCE,
    FITTING,
    TUBE_RADIUS,
    nearest,
    random_loop,
    sampled,
)

OD = 2.0 * TUBE_RADIUS
APART = OD + CLEARANCE
KEY = RANKINGS["bends"]


def upright_scene(
    runs: Sequence[tuple[tuple[float, float], tuple[float, float]]],
) -> Scene:
    """Tubes square to the case from port to port, all of which look up from one floor."""
    model, _ = random_loop(0, side=400.0, runs=1, bodies=2, stretch=0.3)
    seats = [seat for run in runs for seat in run]
    components = tuple(
        part(
            f"part {number}",
            box(f"part {number}", (x - 9.0, y - 9.0, 14.0), (x + 9.0, y + 9.0, 20.0)),
            port(f"part {number}.port", (x, y, 20.0), "+z", fittings=(FITTING,)),
        )
        for number, (x, y) in enumerate(seats)
    )
    return replace(
        model,
        rules=replace(model.rules, turn_step_deg=90.0),
        case_inner=(300.0, 300.0, 200.0),
        components=components,
        keep_outs=(),
        runs=tuple(
            wanted(
                f"run {number}",
                f"part {2 * number}.port",
                f"part {2 * number + 1}.port",
            )
            for number in range(len(runs))
        ),
    )


def total(plan: Plan) -> tuple[int, float]:
    chosen = [run.chosen_candidate for run in plan.runs]
    assert None not in chosen
    return (
        sum(one.bends for one in chosen if one),
        sum(one.length for one in chosen if one),
    )


CORNER = ((60.0, 100.0), (220.0, 200.0))
"""Up, then along x and along y, or the other way about: both with three bends."""


@pytest.mark.parametrize(
    "beside",
    [
        ((60.0, 65.0), (220.0, 65.0)),  # along x at the corner's near side
        ((60.0, 235.0), (220.0, 235.0)),  # along x at its far side
        ((25.0, 100.0), (25.0, 200.0)),  # along y
        ((255.0, 100.0), (255.0, 200.0)),
    ],
)
def test_of_two_equal_ways_the_one_beside_another_tube_is_taken(
    beside: tuple[tuple[float, float], tuple[float, float]],
) -> None:
    plan = route_scene(upright_scene([CORNER, beside]))
    found = tubes_side_by_side(plan)
    # The corner's middle stretches are 160 and 100 long and 35 from the other tube, less
    # a bend at either end; both ends of it stand up beside it only where they are near.
    along = 160.0 if beside[0][1] == beside[1][1] else 100.0
    assert found.length >= along - 2.0 * BEND_RADIUS - 1e-6
    assert not touches(plan)
    assert plan.loop is not None
    assert plan.loop.for_parallel == 0.0
    assert plan.loop.total == pytest.approx(plan.loop.bound)


def test_a_kept_candidate_stays() -> None:
    scene = upright_scene([CORNER, ((60.0, 65.0), (220.0, 65.0))])
    first = route_scene(scene)
    run = first.run("run 0")
    for candidate in run.candidates:
        plan = route_scene(scene, keep={"run 0": candidate})
        assert plan.run("run 0").chosen_candidate == candidate


@pytest.mark.parametrize("seed", range(6))
def test_tidying_costs_no_bends_and_little_tube_and_touches_nothing(seed: int) -> None:
    scene, _ = random_loop(seed, side=220.0, runs=3, bodies=10, stretch=0.3)
    least = route_scene(scene, by="bends")
    assert least.loop is not None
    first = least.loop.total[1] - least.loop.for_parallel
    looks = route_scene(scene, by="parallel")
    assert total(looks)[0] == total(least)[0]
    assert total(least)[1] <= 1.03 * first + 1e-3
    assert total(looks)[1] <= 1.10 * first + 1e-3
    for plan in (least, looks):
        tubes = [
            sampled(run.chosen_candidate.centreline.vertices)
            for run in plan.runs
            if run.chosen_candidate
        ]
        for one, two in itertools.combinations(tubes, 2):
            assert nearest(one, two) >= APART - 1e-3


def random_ways(seed: int, runs: int, most: int) -> list[list[Route]]:
    """Routes of square tubes on a grid; the first ones, far apart, fit together."""
    rng = np.random.default_rng(seed)
    choices = []
    for run in range(runs):
        own = [_route(run, 0, np.array([[0, 0, 9 + 3 * run], [5, 0, 9 + 3 * run]]))]
        for number in range(1, int(rng.integers(2, most + 1))):
            here = np.array([0, *rng.integers(0, 4, 2)])
            vertices = [here]
            axis = 0
            for _ in range(int(rng.integers(1, 4))):
                step = np.zeros(3, dtype=int)
                step[axis] = rng.integers(2, 5)
                here = here + step
                vertices.append(here)
                axis = (axis + int(rng.integers(1, 3))) % 3
            own.append(_route(run, number, np.array(vertices)))
        choices.append(own)
    return choices


def _route(run: int, number: int, grid: np.ndarray) -> Route:
    vertices: tuple[Point, ...] = tuple(point(v) for v in (20.0 * grid).tolist())
    return Route(
        run=run,
        ports=(f"{run}.{number % 2}", f"{run}.{number}.end"),
        candidate=Candidate(
            centreline=Centreline(vertices=vertices, radius=BEND_RADIUS),
            gap=Gap(distance=9.0, name="wall", at=(0.0, 0.0, 0.0)),
            trim_allowance=0.0,
        ),
    )


def cost(route: Route) -> tuple[float, ...]:
    return (*KEY(route.candidate), route.candidate.length)


def clash(one: Route, two: Route) -> bool:
    table = clash_table([one], [two], tube_radius=TUBE_RADIUS, clearance=CLEARANCE)
    return bool(table[0, 0])


def figure(routes: Sequence[Route]) -> float:
    return side_by_side([one.centreline for one in routes], outer_diameter=OD).figure


def allowed(
    choices: list[list[Route]], limits: tuple[float, ...]
) -> list[tuple[Route, ...]]:
    """All choices within the limits whose tubes, sampled, keep their distance.

    Those that take more tube than the first ones do have more of it evenly spaced.
    """
    first = [routes[0] for routes in choices]
    points = {
        route.key: sampled(np.array(route.centreline.vertices))
        for routes in choices
        for route in routes
    }
    apart = {
        frozenset((one.key, two.key)): nearest(points[one.key], points[two.key])
        for routes, others in itertools.combinations(choices, 2)
        for one in routes
        for two in others
    }
    return [
        found
        for found in itertools.product(*choices)
        if (np.sum([cost(route) for route in found], axis=0) <= np.array(limits)).all()
        and all(
            apart[frozenset((one.key, two.key))] >= APART - 0.1
            for one, two in itertools.combinations(found, 2)
        )
        and (tube(found) <= tube(first) + 1e-3 or even(found) > even(first) + 1.0)
    ]


def tube(routes: Sequence[Route]) -> float:
    return sum(route.candidate.length for route in routes)


def even(routes: Sequence[Route]) -> float:
    return side_by_side([one.centreline for one in routes], outer_diameter=OD).even


@pytest.mark.parametrize("seed", range(25))
def test_two_runs_equal_the_best_of_all_choices(seed: int) -> None:
    choices = random_ways(seed, runs=2, most=14)
    limits = (3.0, 400.0, 0.0, 400.0)
    found = parallel_routes(
        choices,
        Exchange(cost=cost, limits=limits, clash=clash, outer_diameter=OD),
    )
    every = allowed(choices, limits)
    assert found in every
    # A gain of no more than a millimetre is not worth a change.
    assert figure(found) >= max(figure(one) for one in every) - 1.0 - 1e-6


def test_three_runs_end_where_no_two_can_do_better() -> None:
    reached = 0
    for seed in range(12):
        choices = random_ways(seed, runs=3, most=6)
        limits = (5.0, 600.0, 0.0, 600.0)
        found = parallel_routes(
            choices,
            Exchange(cost=cost, limits=limits, clash=clash, outer_diameter=OD),
        )
        every = allowed(choices, limits)
        assert found in every
        near = [
            one
            for one in every
            if sum(a is not b for a, b in zip(one, found, strict=True)) <= 2
        ]
        assert figure(found) >= max(figure(one) for one in near) - 1.0 - 1e-6
        reached += figure(found) >= max(figure(one) for one in every) - 1.0 - 1e-6
    assert reached >= 9  # local search: most of the time the best of all
