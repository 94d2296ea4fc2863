"""A laid tube as solids: they hold it, and take little more."""

import math

import numpy as np
import pytest

from loopsolver.geometry.solids import signed_distance
from loopsolver.routing.loop.obstruction import tube_obstacles
from loopsolver.tolerances import LAID_WIDER
from loopsolver.tube.centreline import Centreline, sample

RADIUS, REACH = 7.0, 10.0

SQUARE = ((0, 0, 0), (0, 0, 100), (0, 90, 100), (80, 90, 100), (80, 90, 10))
ANGLED = ((0, 0, 0), (0, 0, 80), (60, 0, 140), (60, 90, 140), (0, 150, 200))


@pytest.mark.parametrize("vertices", [SQUARE, ANGLED])
def test_grown_by_the_reach_they_hold_the_grown_tube_and_little_more(
    vertices: tuple[tuple[float, float, float], ...],
) -> None:
    line = Centreline(vertices=vertices, radius=28.0)
    solids = [
        obstacle.solid
        for obstacle in tube_obstacles(
            line, tube_radius=RADIUS, reach=REACH, name="tube"
        )
    ]
    rng = np.random.default_rng(1)
    axis = sample(line, spacing=0.25)
    probes = axis[rng.integers(0, len(axis), 6000)] + rng.normal(0.0, 12.0, (6000, 3))
    true = np.concatenate(
        [
            np.linalg.norm(part[:, None, :] - axis[None, :, :], axis=2).min(axis=1)
            for part in np.array_split(probes, 30)
        ]
    )
    seen = np.min([signed_distance(solid, probes) for solid in solids], axis=0)
    # Nothing within the grown tube is seen as free; a sampled axis is a hair too far.
    within = true < RADIUS + REACH - 0.01
    assert (seen[within] < REACH).all()
    # Beyond what they may be wider everything is free; so near a sampled axis is true.
    beyond = true > RADIUS + REACH + LAID_WIDER + 0.002
    assert (seen[beyond] > REACH).all()
    assert within.sum() > 1000
    assert beyond.sum() > 1000


def test_a_straight_tube_is_one_rod() -> None:
    line = Centreline(vertices=((0, 0, 0), (0, 60, 0)), radius=28.0)
    (only,) = tube_obstacles(line, tube_radius=RADIUS, reach=REACH, name="tube of a")
    assert only.name == "tube of a"
    assert signed_distance(only.solid, np.array([[9.0, 72.0, 0.0]]))[0] == (
        pytest.approx(math.hypot(9.0, 12.0) - RADIUS, abs=1e-3)
    )
