"""Departures from standard angles: tubes laid out with bends of known angles."""

import math
from collections.abc import Sequence

import numpy as np
import pytest

from loopsolver.clearance.obstacles import Gap
from loopsolver.geometry.vectors import point
from loopsolver.routing.problem import Candidate
from loopsolver.routing.worth import (
    DEGREE_WORTH,
    DIAGONAL_TURN_WORTH,
    STANDARD_DEG,
    TURN_WORTH,
    departures_deg,
)
from loopsolver.tube.centreline import Centreline

RADIUS = 28.0


def tube_with(angles_deg: Sequence[float], rolls_deg: Sequence[float]) -> Centreline:
    """A tube with bends of these angles, each at a roll of its own, legs of 150 mm."""
    way, side = np.array([0.6, 0.0, 0.8]), np.array([0.0, 1.0, 0.0])
    vertices = [np.zeros(3), 150.0 * way]
    for angle, roll in zip(np.radians(angles_deg), np.radians(rolls_deg), strict=True):
        rolled = math.cos(roll) * side + math.sin(roll) * np.cross(way, side)
        way, side = (
            math.cos(angle) * way + math.sin(angle) * rolled,
            math.cos(angle) * rolled - math.sin(angle) * way,
        )
        vertices.append(vertices[-1] + 150.0 * way)
    return Centreline(vertices=tuple(point(v) for v in vertices), radius=RADIUS)


def candidate_with(
    angles_deg: Sequence[float],
    standard: Sequence[float],
    rolls_deg: Sequence[float] = (0.0, 25.0, 50.0),
) -> Candidate:
    return Candidate(
        centreline=tube_with(angles_deg, rolls_deg[: len(angles_deg)]),
        gap=Gap(distance=5.0, name="box", at=(0.0, 0.0, 0.0)),
        trim_allowance=0.0,
        standard_deg=tuple(standard),
    )


@pytest.mark.parametrize(
    ("angle_deg", "off"),
    [
        (45.0, 0.0),
        (90.0, 0.0),
        (47.5, 2.5),
        (40.0, -5.0),
        (67.4, 22.4),  # nearer to 45
        (67.6, -22.4),  # nearer to 90
        (88.0, -2.0),
        (3.0, -42.0),
        (119.0, 29.0),
    ],
)
def test_a_bend_departs_from_the_nearer_standard_angle(
    angle_deg: float, off: float
) -> None:
    for roll in (0.0, 37.0, 180.0, 255.0):
        tube = tube_with([angle_deg], [roll])
        assert departures_deg(tube, standard_deg=STANDARD_DEG) == pytest.approx([off])


def test_each_bend_has_its_departure_in_order() -> None:
    tube = tube_with([30.0, 92.0, 45.0, 50.0], [0.0, 90.0, -130.0, 10.0])
    off = departures_deg(tube, standard_deg=STANDARD_DEG)
    assert off == pytest.approx([-15.0, 2.0, 0.0, 5.0], abs=1e-9)


def test_only_the_standard_angles_given_count() -> None:
    tube = tube_with([50.0, 85.0], [0.0, 60.0])
    assert departures_deg(tube, standard_deg=(90.0,)) == pytest.approx([-40.0, -5.0])
    assert departures_deg(tube, standard_deg=(30.0, 60.0)) == pytest.approx(
        [-10.0, 25.0]
    )


def test_a_straight_tube_departs_from_nothing() -> None:
    assert departures_deg(tube_with([], []), standard_deg=STANDARD_DEG) == ()


def test_a_candidate_pays_for_every_degree_either_way() -> None:
    free = candidate_with([42.0, 95.0, 90.0], STANDARD_DEG)
    assert free.departures_deg == pytest.approx([-3.0, 5.0, 0.0], abs=1e-9)
    assert free.departure_worth == pytest.approx(DEGREE_WORTH * 8.0)


def test_where_angles_are_listed_nothing_departs() -> None:
    listed = candidate_with([30.0, 60.0], ())
    assert listed.departures_deg == ()
    assert listed.departure_worth == 0.0


@pytest.mark.parametrize(
    ("rolls", "worth"),
    [
        ([0.0], 0.0),
        ([77.0], 0.0),  # which side the first bend goes to is no turn
        ([77.0, 90.0, -90.0, 180.0, 0.0], 0.0),
        ([0.0, 90.04], 0.0),  # nobody sets it nearer
        ([0.0, 45.0, -135.0], 2.0 * DIAGONAL_TURN_WORTH),
        ([0.0, 37.0], TURN_WORTH),
        ([0.0, 90.2, 45.0, -90.0], TURN_WORTH + DIAGONAL_TURN_WORTH),
    ],
)
def test_an_odd_turn_costs_tube(rolls: list[float], worth: float) -> None:
    """Laid with known turns: each roll but the first is the turn before its bend."""
    tube = candidate_with([90.0] * len(rolls), (), rolls)
    assert tube.worth == pytest.approx(tube.length + worth)
    assert tube.cost[:2] == pytest.approx((len(rolls), tube.worth), abs=1e-6)
