"""Drawing routes together: against scipy's global optimisers, and what must hold always."""

import math

import numpy as np
import pytest
from scipy.optimize import differential_evolution

from loopsolver.routing.angled.listed import shortened_line
from loopsolver.routing.angled.shortening import nearest_standard, shortened
from loopsolver.routing.angled.shortening_task import AngleTargets
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import TubeEnd
from loopsolver.routing.worth import DEGREE_WORTH
from tests.builders.problems import (
    BEND_RADIUS,
    BETWEEN,
    STRAIGHT,
    box_at,
    end_at,
    run_between,
)
from tests.full import few_or_all
from tests.property.known_routes import (
    LISTED,
    MOVED,
    TILTED_ANY,
    TILTED_LISTED,
    known_run,
)
from tests.property.laid_tubes import Tube, complaints
from tests.unit.routing.touching import Array

STANDARD = (math.pi / 4, math.pi / 2)


def two_bends(problem, legs: Array) -> Tube:
    p, q = np.array(problem.start.seat), np.array(problem.goal.seat)
    first = p + legs[0] * np.array(problem.start.direction)
    second = q + legs[1] * np.array(problem.goal.direction)
    return Tube(vertices=np.array([p, first, second, q]), radius=BEND_RADIUS)


def ends_with_two_bends(rng: np.random.Generator) -> tuple[TubeEnd, TubeEnd]:
    """Two ends that some tube of two bends of 20 to 110 degrees joins."""
    way = rng.normal(size=3)
    way /= np.linalg.norm(way)
    at = np.array([700.0, 700.0, 700.0])
    vertices, ways = [at], [way]
    for leg in rng.uniform(90.0, 160.0, 3):
        at = at + leg * way
        vertices.append(at)
        side = np.cross(way, rng.normal(size=3))
        angle = math.radians(rng.uniform(20.0, 110.0))
        way = math.cos(angle) * way + math.sin(angle) * side / np.linalg.norm(side)
        ways.append(way)
    return end_at(vertices[0], ways[0]), end_at(vertices[3], -ways[2])


@pytest.mark.parametrize("cost", [0.0, DEGREE_WORTH])
@pytest.mark.parametrize("seed", few_or_all(range(2), range(6)))
def test_two_free_bends_against_differential_evolution(seed: int, cost: float) -> None:
    """Length plus what departures cost, over the two legs; no obstacle but the case."""
    rng = np.random.default_rng(seed)
    # The walls are further away than any leg that is tried.
    ends = ends_with_two_bends(rng)
    problem = run_between(*ends, angles="any", inner=(1400.0, 1400.0, 1400.0))
    least, most = np.array([STRAIGHT, BETWEEN, STRAIGHT]), math.radians(120.0)

    def worth(legs: Array) -> float:
        tube = two_bends(problem, legs)
        sharp = np.maximum(tube.angles - most, 0.0).sum()
        off = np.abs(tube.angles[:, None] - np.array(STANDARD)).min(axis=1).sum()
        short = np.maximum(least - tube.straights, 0.0).sum()
        return tube.length + cost * math.degrees(off) + 1e3 * (short + sharp)

    found = differential_evolution(
        worth, [(18.0, 400.0)] * 2, seed=1, tol=1e-10, maxiter=400, popsize=20
    )
    # Drawn together from some way off.
    start = two_bends(problem, found.x + np.array([15.0, 10.0])).vertices
    tube = Tube(vertices=start, radius=BEND_RADIUS)
    targets = nearest_standard(two_bends(problem, found.x).angles, STANDARD)
    route = shortened(
        problem,
        make_judge(problem).around,
        tube.vertices,
        angles=AngleTargets(targets=targets, cost=cost, most=most),
    )
    legs = np.array(
        [np.linalg.norm(route[1] - route[0]), np.linalg.norm(route[-1] - route[-2])]
    )
    assert worth(legs) == pytest.approx(found.fun, abs=0.05)


@pytest.mark.parametrize("kind", [LISTED, TILTED_LISTED], ids=lambda kind: kind.name)
@pytest.mark.parametrize("seed", [2, 3, 6, 7, 11])
def test_a_good_route_becomes_no_longer_and_keeps_its_angles(kind, seed) -> None:
    known = known_run(kind, seed)
    problem = known.problem
    angles = tuple(float(a) for a in np.radians(kind.bend_angles_deg))
    targets = nearest_standard(known.tube.angles, angles)
    tight = shortened_line(
        problem, make_judge(problem), known.vertices, AngleTargets(targets=targets)
    )
    tube = Tube(vertices=np.array(tight.vertices), radius=BEND_RADIUS)
    assert tube.length <= known.tube.length + 1e-6
    assert np.degrees(tube.angles) == pytest.approx(np.degrees(targets), abs=1e-6)
    assert complaints(tube, problem) == []


@pytest.mark.parametrize("kind", [MOVED, TILTED_ANY], ids=lambda kind: kind.name)
@pytest.mark.parametrize("seed", [5, 6, 7])
def test_a_route_that_touches_is_mended_where_there_is_room(kind, seed) -> None:
    known = known_run(kind, seed)
    problem = known.problem
    rng = np.random.default_rng(seed)
    pushed = known.vertices.copy()
    pushed[2:-2] += rng.normal(0.0, 1.5, pushed[2:-2].shape)
    pushed[1] += rng.normal(0.0, 1.5) * np.array(problem.start.direction)
    pushed[-2] += rng.normal(0.0, 1.5) * np.array(problem.goal.direction)
    targets = nearest_standard(known.tube.angles, STANDARD)
    mended = shortened_line(
        problem, make_judge(problem), pushed, AngleTargets(targets=targets, cost=0.0)
    )
    tube = Tube(vertices=np.array(mended.vertices), radius=BEND_RADIUS)
    assert complaints(tube, problem) == []
    assert tube.length <= known.tube.length + 1e-3


def test_a_flat_route_stays_flat() -> None:
    """45 one way, 45 back and a square corner in one plane; a body pushes out of it.

    What leaves the plane bends by more than the listed angles, so nothing may.
    """
    start, goal = end_at((60, 60, 250), (1, 0, 0)), end_at((400, 400, 250), (0, -1, 0))
    body = box_at((180, 120, 265), (60, 60, 10.2))
    problem = run_between(start, goal, angles=(45.0, 90.0), boxes=[body])
    route = np.array(
        [start.seat, (120, 60, 250), (240, 180, 250), (400, 180, 250), goal.seat]
    )
    targets = (math.pi / 4, math.pi / 4, math.pi / 2)
    assert Tube(vertices=route, radius=BEND_RADIUS).angles == pytest.approx(targets)
    tight = shortened(
        problem, make_judge(problem).around, route, angles=AngleTargets(targets=targets)
    )
    # A bend leaves the plane with the square of its angle: rounding is felt in a micron.
    assert np.abs(tight[:, 2] - 250.0).max() < 1e-3
    tube = Tube(vertices=tight, radius=BEND_RADIUS)
    assert np.degrees(tube.angles) == pytest.approx([45.0, 45.0, 90.0], abs=1e-9)


def test_the_shortest_way_over_a_block() -> None:
    """Two 45 degree bends, a 90 between: as low as the block lets the middle bend be.

    The block is a wall up to z = 120 with its top 200 wide edges far apart, so the tube
    touches its two upper edges with its sloping legs or its bend over the middle.
    Closed form: the middle vertex stands over the wall's middle. The sloping legs pass
    the edges at 10 mm: height over the edges = 10 sqrt(2) + half the width.
    """
    width, top = 60.0, 120.0
    start, goal = end_at((60, 250, 60), (1, 0, 0)), end_at((440, 250, 60), (-1, 0, 0))
    block = box_at((250, 250, top / 2), (width, 500, top))
    problem = run_between(start, goal, angles=(45.0, 90.0), boxes=[block])
    height = 150.0
    route = np.array(
        [
            start.seat,
            (250 - height, 250, 60),
            (250, 250, 60 + height),
            (250 + height, 250, 60),
            goal.seat,
        ]
    )
    targets = (math.pi / 4, math.pi / 2, math.pi / 4)
    tight = shortened(
        problem, make_judge(problem).around, route, angles=AngleTargets(targets=targets)
    )
    # Legs at 45 degrees keep 10 mm from the edges; the bend's crown keeps 10 mm from
    # the top as well: it lies R (sqrt 2 - 1) under the vertex. The higher of both.
    by_edges = top + width / 2 + 10.0 * math.sqrt(2.0)
    by_crown = top + 10.0 + BEND_RADIUS * (math.sqrt(2.0) - 1.0)
    assert tight[2, 2] == pytest.approx(max(by_edges, by_crown), abs=0.01)
    assert tight[2, 0] == pytest.approx(250.0, abs=0.01)
