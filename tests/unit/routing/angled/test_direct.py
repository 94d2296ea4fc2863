"""Routes of no bend and of one: closed forms."""

import math

import numpy as np
import pytest

from loopsolver.geometry.frames import rotation_matrix
from loopsolver.routing.angled.direct import corner_route, straight_route
from tests.builders.problems import BEND_RADIUS, STRAIGHT, end_at, run_between

TURNED = rotation_matrix([20.0, 35.0, -50.0])


@pytest.mark.parametrize("angle_deg", [5.0, 30.0, 45.0, 60.0, 90.0, 120.0, 150.0])
def test_a_corner_is_found_where_the_axes_meet(angle_deg: float) -> None:
    angle = math.radians(angle_deg)
    corner = np.array([250.0, 250.0, 250.0])
    d = TURNED @ np.array([1.0, 0.0, 0.0])
    e = TURNED @ np.array([math.cos(angle), math.sin(angle), 0.0])
    least = STRAIGHT + BEND_RADIUS * math.tan(angle / 2)
    for longer, fits in ((0.01, True), (-0.01, False)):
        leg = least + longer
        run = run_between(
            end_at(corner - leg * d, d), end_at(corner + leg * e, -e), angles="any"
        )
        found = corner_route(run)
        assert (found is not None) == fits
        if found is not None:
            assert found[0][1] == pytest.approx(corner)
            assert found[1] == pytest.approx(angle)


@pytest.mark.parametrize("aside", [0.001, 1.0])
def test_skew_axes_have_no_corner(aside: float) -> None:
    run = run_between(
        end_at((100, 250, 250), (1, 0, 0)),
        end_at((250, 100, 250 + aside), (0, 1, 0)),
        angles="any",
    )
    assert corner_route(run) is None


def test_axes_that_meet_behind_a_port_have_no_corner() -> None:
    run = run_between(
        end_at((300, 250, 250), (1, 0, 0)),
        end_at((250, 100, 250), (0, 1, 0)),
        angles="any",
    )
    assert corner_route(run) is None


def test_straight_between_ports_that_face_each_other() -> None:
    start = end_at((100, 100, 100), TURNED[0])
    for length, fits in ((24.0 - 1e-3, False), (24.0 + 1e-3, True), (200.0, True)):
        # 12 mm of either end lie in a fitting, which is more than 17 mm of straight.
        goal = end_at(np.array(start.seat) + length * TURNED[0], -TURNED[0])
        route = straight_route(run_between(start, goal, angles="any"))
        assert (route is not None) == fits
    beside = end_at(np.array(start.seat) + 200 * TURNED[0] + TURNED[1], -TURNED[0])
    assert straight_route(run_between(start, beside, angles="any")) is None
    behind = end_at(np.array(start.seat) - 200 * TURNED[0], -TURNED[0])
    assert straight_route(run_between(start, behind, angles="any")) is None
    away = end_at(np.array(start.seat) + 200 * TURNED[0], TURNED[0])
    assert straight_route(run_between(start, away, angles="any")) is None
