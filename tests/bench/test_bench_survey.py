"""How fast readings are adjusted, against scipy's least squares without slopes."""

from functools import cache

import numpy as np
import pytest
from scipy.optimize import least_squares

from loopsolver.geometry.vectors import Array
from loopsolver.survey.adjustment import adjust
from loopsolver.survey.network import Network
from tests.builders.networks import random_network, with_errors
from tests.interleaved import Measured, in_turn

pytestmark = pytest.mark.bench

MOST = 0.5
"""Some 20 ms for 60 points and 200 readings; scipy takes its slopes by differences."""


@cache
def case() -> Network:
    """60 parts, each written once, and 20 readings between them: 200 in all."""
    network = random_network(1, parts=60, more=20)
    assert len(network.observations) == 200
    return with_errors(network, np.random.default_rng(1))


def by_differences() -> Array:
    """The same places from scipy, which knows the lengths but not how they change."""
    network = case()
    numbers = {one.name: number for number, one in enumerate(network.stations)}
    stands = {name: (number, (0.0, 0.0, 0.0)) for name, number in numbers.items()}
    stands |= {one.name: (numbers[one.station], one.offset) for one in network.marks}
    ends = [(stands[one.start], stands[one.goal]) for one in network.observations]
    starts, goals = (np.array([end[side][0] for end in ends]) for side in (0, 1))
    offsets = np.array([np.subtract(goal[1], start[1]) for start, goal in ends])
    straight = np.array([one.along is None for one in network.observations])
    along = np.array([one.along or (0.0, 0.0, 0.0) for one in network.observations])
    read = np.array([np.mean(one.values) for one in network.observations])
    spread = np.array(
        [one.spread / len(one.values) ** 0.5 for one in network.observations]
    )

    def misses(flat: Array) -> Array:
        places = np.vstack([(0.0, 0.0, 0.0), flat.reshape(-1, 3)])
        ways = places[goals] - places[starts] + offsets
        lengths = np.where(
            straight, np.linalg.norm(ways, axis=1), np.sum(ways * along, axis=1)
        )
        missed: Array = (lengths - read) / spread
        return missed

    start = np.array([one.start for one in network.stations[1:]]).ravel()
    found: Array = least_squares(misses, start).x
    return found


def test_adjusting_against_a_general_solver(measured: Measured) -> None:
    found = adjust(case())
    places = [found.position(one.name) for one in case().stations[1:]]
    assert by_differences() == pytest.approx(np.ravel(places), abs=1e-3)
    pair = in_turn(
        {"adjusted": lambda: adjust(case()), "scipy": by_differences}, pairs=3, warm=1
    )
    measured("60 points, 200 readings", pair, most=MOST)
    assert pair.ratio <= MOST
