"""Bends of listed angles with nothing in the way: closed forms of flat tubes.

Tubes that must turn by just the sum of their bends lie in one plane: then heights and
advances are sums of sines and cosines. A bend of angle w takes R tan(w/2) from both its
legs and gives R w back.
"""

import math

import numpy as np
import pytest

from loopsolver.geometry.frames import rotation_matrix
from loopsolver.geometry.vectors import point
from loopsolver.routing.angled.listed import (
    angled_candidates,
    centreline_of,
    shortened_line,
    verified,
)
from loopsolver.routing.angled.shortening_task import AngleTargets
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.worth import STANDARD_DEG
from loopsolver.tube.centreline import Centreline
from tests.builders.problems import (
    BEND_RADIUS,
    BETWEEN,
    REACH,
    STRAIGHT,
    box_at,
    end_at,
    run_between,
)
from tests.property.laid_tubes import candidate_complaints, tube_of
from tests.unit.routing.touching import Array

TURNED = rotation_matrix([20.0, 35.0, -50.0])
"""So that no direction lies along an axis."""

MIDDLE = np.array([250.0, 250.0, 250.0])

DRAWN = 0.02
"""How near lengths come to closed forms: two rounds that gain 0.01 each [mm]."""


def out_of(angle: float) -> float:
    """What a bend takes from a leg [mm]."""
    return BEND_RADIUS * math.tan(angle / 2.0)


def saved_by(angle: float) -> float:
    """What a tube is shorter than its legs for one bend [mm]."""
    return 2.0 * out_of(angle) - BEND_RADIUS * angle


def run_of(
    ahead: float,
    aside: float,
    home_deg: float,
    angles_deg: tuple[float, ...],
    *,
    max_bends: int = 5,
    turned: Array = TURNED,
) -> RouteProblem:
    """From the origin along x to (ahead, aside), arriving at an angle to x; turned."""
    home = math.radians(home_deg)
    far = np.array([ahead, aside, 0.0])
    start = MIDDLE - turned @ far / 2.0
    arrival = turned @ np.array([math.cos(home), math.sin(home), 0.0])
    return run_between(
        end_at(start, turned[:, 0]),
        end_at(start + turned @ far, -arrival),
        angles=angles_deg,
        max_bends=max_bends,
    )


def candidates_of(problem: RouteProblem) -> tuple[Candidate, ...]:
    """Candidates that the independent judge has nothing against."""
    assert problem.bend_angles_deg != "any"
    judge, angles_deg = make_judge(problem), problem.bend_angles_deg
    found = tuple(angled_candidates(problem, judge, angles_deg=angles_deg))
    for candidate in found:
        assert candidate_complaints(candidate, problem) == []
    return found


def least_length(found: tuple[Candidate, ...], bends: int) -> float:
    return min(c.length for c in found if c.bends == bends)


@pytest.mark.parametrize("angle_deg", [22.5, 30.0, 45.0, 60.0])
def test_an_offset_has_two_equal_bends(angle_deg: float) -> None:
    """Travel is offset / sin(w), advance offset / tan(w): every such tube is as long."""
    angle, ahead, aside = math.radians(angle_deg), 250.0, 60.0
    problem = run_of(ahead, aside, 0.0, (angle_deg,), max_bends=2)
    found = candidates_of(problem)
    travel, advance = aside / math.sin(angle), aside / math.tan(angle)
    assert {c.bends for c in found} == {2}
    for candidate in found:
        straights = tube_of(candidate).straights
        assert straights[1] + 2.0 * out_of(angle) == pytest.approx(travel, abs=1e-6)
        legs = ahead - advance + travel
        assert candidate.length == pytest.approx(legs - 2.0 * saved_by(angle), abs=1e-6)


def test_an_offset_too_small_for_its_bends_has_no_two() -> None:
    """The travel must hold two take-outs and the straight between."""
    angle = math.radians(45.0)
    least = (2.0 * out_of(angle) + BETWEEN) * math.sin(angle)
    for more, fits in ((0.01, True), (-0.01, False)):
        problem = run_of(250.0, least + more, 0.0, (45.0,), max_bends=2)
        assert bool(candidates_of(problem)) == fits


@pytest.mark.parametrize("angle_deg", [30.0, 45.0, 60.0, 90.0])
def test_a_corner_is_one_bend_where_its_angle_is_listed(angle_deg: float) -> None:
    angle, legs = math.radians(angle_deg), (110.0, 140.0)
    ahead = legs[0] + legs[1] * math.cos(angle)
    aside = legs[1] * math.sin(angle)
    problem = run_of(ahead, aside, angle_deg, (angle_deg, 75.0), max_bends=1)
    (corner,) = candidates_of(problem)
    assert corner.bends == 1
    assert corner.length == pytest.approx(sum(legs) - saved_by(angle), abs=1e-6)
    assert not candidates_of(run_of(ahead, aside, angle_deg, (75.0,), max_bends=1))


def test_a_return_of_three_bends_of_60() -> None:
    """They turn by 180 only in one plane: (m + n) sin 60 is the ports' distance.

    Both end legs are the least when m = n.
    """
    angle, aside = math.radians(60.0), 120.0
    problem = run_of(0.0, aside, 180.0, (60.0,), max_bends=3)
    found = candidates_of(problem)
    legs = 2.0 * (STRAIGHT + out_of(angle)) + aside / math.sin(angle)
    assert {c.bends for c in found} == {3}
    assert least_length(found, 3) == pytest.approx(
        legs - 3.0 * saved_by(angle), abs=DRAWN
    )


@pytest.mark.parametrize("turned", [np.eye(3), TURNED], ids=["square", "tilted"])
@pytest.mark.parametrize("aside", [120.0, 180.0, 250.0])
def test_a_return_of_four_bends_of_45(aside: float, turned: Array) -> None:
    """Legs at 45, 90 and 135 degrees, l, m and n: l = n, (l + n) sin 45 + m is given.

    Slanting legs add more length than the middle one, so they are the least.
    """
    angle = math.radians(45.0)
    problem = run_of(0.0, aside, 180.0, (45.0,), max_bends=4, turned=turned)
    found = candidates_of(problem)
    slant = 2.0 * out_of(angle) + BETWEEN
    middle = aside - 2.0 * slant * math.sin(angle)
    assert middle > slant
    legs = 2.0 * (STRAIGHT + out_of(angle)) + 2.0 * slant + middle
    assert {c.bends for c in found} == {4}
    assert least_length(found, 4) == pytest.approx(
        legs - 4.0 * saved_by(angle), abs=DRAWN
    )


def test_bends_that_cannot_turn_so_far_give_nothing() -> None:
    """Ports side by side need 180 degrees; three bends of 45 make 135."""
    assert not candidates_of(run_of(0.0, 120.0, 180.0, (45.0,), max_bends=3))


def test_ports_in_line_get_the_straight_tube() -> None:
    found = candidates_of(run_of(180.0, 0.0, 0.0, (45.0,)))
    assert found[0].bends == 0
    assert found[0].length == pytest.approx(180.0)


def corner_run(*, angles, boxes=(), trim: float = 0.0) -> tuple[RouteProblem, Array]:
    """A run with a corner of 60 degrees in the plane, and its vertices."""
    corner = np.array([250.0, 250.0, 250.0])
    away = np.array([math.cos(math.radians(60.0)), math.sin(math.radians(60.0)), 0.0])
    seats = corner - 120.0 * np.array([1.0, 0.0, 0.0]), corner + 120.0 * away
    problem = run_between(
        end_at(seats[0], (1, 0, 0)), end_at(seats[1], -away), angles=angles, boxes=boxes
    )
    return problem, np.array([seats[0], corner, seats[1]])


def test_only_routes_that_pass_the_judge_are_candidates() -> None:
    """A box lies on the bend's outer side, clear of it by more and less than 3 mm.

    At its middle the bend is R (1 / cos 30 - 1) from the vertex, towards the inside.
    """
    _, vertices = corner_run(angles=(60.0,))
    inward = vertices[0] + vertices[2] - 2.0 * vertices[1]
    inward /= np.linalg.norm(inward)
    crown = vertices[1] + inward * BEND_RADIUS * (1.0 / math.cos(math.pi / 6.0) - 1.0)
    for more, passes in ((0.01, True), (-0.01, False)):
        # The box's corner, seen along the bisector, is a vertical edge.
        edge = crown - inward * (REACH + more)
        box = box_at(edge + np.array([20.0, -20.0, 0.0]), (40.0, 40.0, 40.0))
        problem, _ = corner_run(angles=(60.0,), boxes=[box])
        judge = make_judge(problem)
        found = verified(judge, [centreline_of(vertices, problem)])
        assert bool(found) == passes
        if found:
            assert found[0].gap.distance == pytest.approx(3.0 + more, abs=2e-4)
            assert found[0].gap.name == "box"


def test_candidates_keep_their_order_and_what_departures_count_from() -> None:
    for angles, standard in (((60.0,), ()), ("any", STANDARD_DEG)):
        problem, vertices = corner_run(angles=angles)
        judge = make_judge(problem)
        good = centreline_of(vertices, problem)
        astray = Centreline(
            vertices=(*good.vertices[:2], (400.0, 250.0, 300.0)), radius=BEND_RADIUS
        )
        found = verified(judge, [astray, good, astray, good])
        assert [c.centreline for c in found] == [good, good]
        assert {c.standard_deg for c in found} == {standard}


def test_ends_of_a_centre_line_lie_on_the_seats_to_the_last_digit() -> None:
    problem, vertices = corner_run(angles="any")
    route = centreline_of(vertices + 1e-9, problem)
    assert route.vertices[0] == problem.start.seat
    assert route.vertices[-1] == problem.goal.seat
    assert route.vertices[1] == point(vertices[1] + 1e-9)
    assert route.radius == BEND_RADIUS


def test_what_the_ports_settle_is_not_drawn() -> None:
    problem, vertices = corner_run(angles=(60.0,))
    tube = shortened_line(
        problem,
        make_judge(problem),
        vertices,
        AngleTargets(targets=(math.radians(60.0),)),
    )
    assert tube == centreline_of(vertices, problem)
