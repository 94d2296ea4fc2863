"""Candidates of random full cases: what must hold for every one of them."""

import itertools
from collections.abc import Callable, Iterator
from functools import cache, partial

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.geometry.vectors import Point, point
from loopsolver.routing.effort import USUAL
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Candidate, Found, RouteProblem
from loopsolver.routing.square.field import make_field
from loopsolver.routing.square.lattice import lattice_coordinates, square_run
from loopsolver.routing.square.meet import meetings, vertices
from loopsolver.routing.square.search import square_candidates
from tests.builders.problems import BEND_RADIUS, REACH
from tests.full import few_or_all
from tests.unit.routing.full_cases import (
    INNER,
    SPACING,
    complaints,
    lay,
    least_distance,
    least_sampled_gap,
    moved_problem,
    own_way,
    random_problem,
    reversed_problem,
    samples,
    within_the_case,
)
from tests.unit.tube.turned_round import reversed_table

FILL = USUAL.square.fill

CASES = 100
PARTS = 10
SHOWN = few_or_all(range(4), range(PARTS))

SIGNED = [
    np.eye(3)[list(order)] * np.array(signs)[:, None]
    for order in itertools.permutations(range(3))
    for signs in itertools.product((1.0, -1.0), repeat=3)
]
QUARTER_TURNS = [matrix for matrix in SIGNED if np.linalg.det(matrix) > 0.0]
MIRRORS = [matrix for matrix in SIGNED if np.linalg.det(matrix) < 0.0]


def routes_of(problem: RouteProblem) -> Found:
    return square_candidates(problem, make_judge(problem))


@cache
def case(seed: int) -> tuple[RouteProblem, Found]:
    """Some cases loose, most as full as a compact build; one body in five askew."""
    problem = random_problem(seed)
    return problem, routes_of(problem)


def seeds_of(part: int) -> range:
    return range(part, CASES, PARTS)


@pytest.mark.parametrize("part", SHOWN)
def test_every_candidate_passes_a_check_of_its_own(part: int) -> None:
    shown = 0
    for seed in seeds_of(part):
        problem, found = case(seed)
        assert found.refused == 0, f"seed {seed}: the search offered what cannot be"
        assert len(found.candidates) <= problem.candidates
        for candidate in found.candidates:
            assert complaints(candidate, problem) == [], f"seed {seed}"
            sampled = least_sampled_gap(candidate, problem)
            assert candidate.gap.distance == pytest.approx(sampled, abs=2e-4)
            shown += 1
    assert shown > 20


@cache
def routes_on_lattice(seed: int) -> tuple[tuple[float, tuple[Point, ...]], ...]:
    """Sum of legs and vertices of every route that the search knows, shortest first."""
    problem, _ = case(seed)
    run = square_run(problem)
    assert run is not None
    field = make_field(run, lattice_coordinates(run))
    found = meetings(field, bends=problem.max_bends)
    return tuple((m.legs, vertices(field, m)) for m in found)


@pytest.mark.parametrize("part", SHOWN)
def test_every_bend_count_has_a_candidate_no_longer_than_its_least(part: int) -> None:
    """Unless tubes of so many bends run into themselves, which the lattice cannot see."""
    compared = 0
    for seed in seeds_of(part)[:10]:
        problem, found = case(seed)
        best = best_by_bends(found)
        for bends in range(1, problem.max_bends + 1):
            able = [
                legs
                for legs, route in routes_on_lattice(seed)
                if len(route) == bends + 2
                and not own_way(lay(route, BEND_RADIUS), problem)
            ]
            assert (bends in best) == bool(able), f"seed {seed}, {bends} bends"
            if able:
                corners = np.array(best[bends].centreline.vertices)
                assert np.abs(np.diff(corners, axis=0)).sum() <= min(able) + 1e-3
                compared += 1
    assert compared > 10


def best_by_bends(found: Found) -> dict[int, Candidate]:
    """The shortest candidate of each bend count."""
    best: dict[int, Candidate] = {}
    for candidate in sorted(found.candidates, key=lambda c: c.length):
        best.setdefault(candidate.bends, candidate)
    return best


def is_free(corners: np.ndarray, problem: RouteProblem) -> bool:
    """Whether a tube of these vertices keeps its straights and the clearance."""
    route = tuple(point(vertex) for vertex in corners)
    tube = lay(route, problem.bend_radius)
    least = np.full(len(tube.starts), problem.straight_between_bends)
    least[0], least[-1] = problem.start.straight, problem.goal.straight
    if (tube.straight_lengths < least - 1e-6).any():
        return False
    # Elsewhere the tube may just touch, as truly as gaps are told.
    limit = REACH - 2e-5
    for spacing in (2.0, SPACING):
        points = samples(tube, problem, spacing=spacing)
        for obstacle in problem.obstacles:
            if least_distance(points, obstacle.solid, spacing=spacing) < limit:
                return False
    return True


def drawn_in(corners: np.ndarray, by: float) -> list[np.ndarray]:
    """The routes in which one level between two opposite legs is drawn in."""
    steps = np.diff(corners, axis=0)
    axes = np.abs(steps).argmax(axis=1)
    routes = []
    for axis in range(3):
        along = np.flatnonzero(axes == axis)
        for before, after in itertools.pairwise(along):
            if steps[before, axis] * steps[after, axis] < 0.0:
                route = corners.copy()
                sign = np.sign(steps[before, axis])
                route[before + 1 : after + 1, axis] -= by * sign
                routes.append(route)
    return routes


@pytest.mark.parametrize("part", SHOWN)
def test_no_leg_of_a_candidate_can_be_shortened_on_its_own(part: int) -> None:
    tried = 0
    for seed in seeds_of(part)[:10]:
        problem, found = case(seed)
        for candidate in found.candidates:
            corners = np.array(candidate.centreline.vertices)
            for route in drawn_in(corners, 0.05):
                tried += 1
                assert not is_free(route, problem), f"seed {seed}"
    assert tried > 20


@pytest.mark.parametrize("part", SHOWN)
def test_candidates_are_different_in_kind(part: int) -> None:
    """No two have the same directions in order and slide into one another freely."""
    pairs = 0
    for seed in seeds_of(part):
        problem, found = case(seed)
        corners = [np.array(c.centreline.vertices) for c in found.candidates]
        for one, other in itertools.combinations(corners, 2):
            assert len(one) != len(other) or np.abs(one - other).max() > 1e-3
            pairs += 1
            if not same_directions(one, other):
                continue
            shares = np.linspace(0.02, 0.98, 25)
            between = (one + share * (other - one) for share in shares)
            assert not all(is_free(route, problem) for route in between), f"seed {seed}"
    assert pairs > 40


def same_directions(one: np.ndarray, other: np.ndarray) -> bool:
    if len(one) != len(other):
        return False
    ways = [np.sign(np.round(np.diff(route, axis=0), 6)) for route in (one, other)]
    return bool((ways[0] == ways[1]).all())


def test_same_run_gives_the_same_candidates() -> None:
    for seed in range(0, CASES, 12):
        problem, found = case(seed)
        assert routes_of(problem) == found


@cache
def only_ways(seed: int) -> frozenset[int]:
    """Bend counts whose least sum of legs is reached by one order of directions only.

    Elsewhere several tubes are equally short, and which of them comes first may change
    when the case is seen from another side.
    """
    alone = set()
    for bends in range(1, case(seed)[0].max_bends + 1):
        routes = [r for r in routes_on_lattice(seed) if len(r[1]) == bends + 2]
        orders = {
            tuple(np.sign(np.diff(route, axis=0)).ravel())
            for legs, route in routes
            if legs < routes[0][0] + 0.05
        }
        if len(orders) == 1:
            alone.add(bends)
    return frozenset(alone)


def rotations(candidate: Candidate) -> list[float]:
    return [bend.rotation_deg for bend in candidate.table.bends]


def angles_apart(one: list[float], other: list[float]) -> float:
    """Largest difference of two lists of angles, 180 and -180 being the same."""
    turns = (np.array(one) - np.array(other) + 180.0) % 360.0 - 180.0
    return float(np.abs(turns).max(initial=0.0))


DRAWN = 1.0
"""Routes are drawn in one level after the other; the order may cost this much [mm]."""


def seen_again(
    seed: int, moved: Callable[[RouteProblem], RouteProblem]
) -> Iterator[tuple[str, Candidate, Candidate]]:
    """Yield a case's best tubes, and those of the case when it is moved.

    Bend counts and lengths are the same; yielded is what one order of directions alone
    leads to, with the words for a failure.
    """
    problem, found = case(seed)
    best, again = best_by_bends(found), best_by_bends(routes_of(moved(problem)))
    assert sorted(again) == sorted(best), f"seed {seed}"
    for bends, candidate in best.items():
        assert again[bends].length == pytest.approx(candidate.length, abs=DRAWN)
        if bends in only_ways(seed):
            yield f"seed {seed}, {bends} bends", candidate, again[bends]


@pytest.mark.parametrize("part", SHOWN)
def test_quarter_turns_leave_lengths_and_rotations_alone(part: int) -> None:
    alone = 0
    for seed in seeds_of(part)[:6]:
        turn = partial(within_the_case, matrix=QUARTER_TURNS[1 + seed % 23])
        for told, candidate, turned in seen_again(seed, turn):
            alone += 1
            assert angles_apart(rotations(turned), rotations(candidate)) < 1e-6, told
    assert alone >= 2


@pytest.mark.parametrize("part", SHOWN)
def test_mirror_keeps_lengths_and_flips_rotations(part: int) -> None:
    handed = 0
    for seed in seeds_of(part)[:6]:
        mirror = partial(within_the_case, matrix=MIRRORS[seed % 24])
        for told, candidate, mirrored in seen_again(seed, mirror):
            flipped = [-angle for angle in rotations(candidate)]
            assert angles_apart(rotations(mirrored), flipped) < 1e-6, told
            handed += any(abs(abs(angle) - 90.0) < 1e-6 for angle in flipped)
    assert handed >= 2


@pytest.mark.parametrize("part", SHOWN)
def test_swapped_ends_give_the_same_tubes_from_the_other_end(part: int) -> None:
    alone = 0
    for seed in seeds_of(part)[:6]:
        for told, candidate, back in seen_again(seed, reversed_problem):
            alone += 1
            wanted = reversed_table(candidate.table)
            turns = [bend.rotation_deg for bend in wanted.bends]
            assert angles_apart(rotations(back), turns) < 1e-6, told
            assert back.table.radius == wanted.radius
    assert alone >= 2


def test_case_turned_by_any_angle_keeps_its_tubes() -> None:
    """Ports square to each other, everything else askew: the lattice turns with them."""
    compared = 0
    seeds = few_or_all(range(10), range(40))
    for seed in seeds:
        problem = random_problem(seed, bodies=15)
        if abs(np.dot(problem.start.direction, problem.goal.direction)) > 0.5:
            continue
        turn = Rotation.random(random_state=seed).as_matrix()
        corners = np.array(list(itertools.product(*[(0.0, side) for side in INNER])))
        seen = corners @ turn.T
        inner: Point = point(np.ptp(seen, axis=0))
        turned = moved_problem(problem, turn, -seen.min(axis=0), inner=inner)
        found = routes_of(turned)
        assert found.refused == 0
        for candidate in found.candidates:
            assert complaints(candidate, turned) == [], f"seed {seed}"
        best = best_by_bends(routes_of(problem))
        other = best_by_bends(found)
        assert sorted(other) == sorted(best), f"seed {seed}"
        for bends, candidate in best.items():
            # The fill of the lattice lies elsewhere.
            assert other[bends].length == pytest.approx(
                candidate.length, abs=USUAL.square.fill
            )
            compared += 1
    assert compared > len(seeds) / 2
