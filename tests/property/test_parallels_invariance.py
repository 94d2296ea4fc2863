"""How parallel tubes run does not depend on where they are and how they are listed."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from loopsolver.routing.loop.parallels import side_by_side
from loopsolver.tube.centreline import Centreline
from tests.interleaved import Measured, in_turn

OD, RADIUS, GRID = 10.0, 10.0, 27.0


def random_tubes(seed: int, count: int) -> list[np.ndarray]:
    """Square tubes whose vertices lie on a coarse grid, so that many run parallel."""
    rng = np.random.default_rng(seed)
    tubes = []
    for _ in range(count):
        here = rng.integers(0, 4, 3).astype(float)
        axis = int(rng.integers(0, 3))
        vertices = [here]
        for _ in range(int(rng.integers(1, 6))):
            step = np.zeros(3)
            step[axis] = rng.choice([-3, -2, -1, 1, 2, 3])
            here = here + step
            vertices.append(here)
            axis = (axis + int(rng.integers(1, 3))) % 3
        tubes.append(GRID * np.array(vertices))
    return tubes


def parallels_of(tubes: list[np.ndarray]) -> tuple[float, float]:
    lines = [
        Centreline(vertices=tuple(tuple(v) for v in one.tolist()), radius=RADIUS)
        for one in tubes
    ]
    found = side_by_side(lines, outer_diameter=OD)
    return found.length, found.even


def by_walking(tubes: list[np.ndarray]) -> float:
    """Side-by-side length of grid tubes: millimetre by millimetre along one of two."""
    total = 0.0
    for i, one in enumerate(tubes):
        for two in tubes[i + 1 :]:
            for a, b in straights(one):
                for c, d in straights(two):
                    u = (b - a) / np.linalg.norm(b - a)
                    v = (d - c) / np.linalg.norm(d - c)
                    if abs(u @ v) < 0.5:
                        continue
                    off = (c - a) - ((c - a) @ u) * u
                    if np.linalg.norm(off) > 4.0 * OD:
                        continue
                    marks = np.arange(0.5, np.linalg.norm(b - a), 1.0)
                    places = marks + a @ u
                    ends = sorted((c @ u, d @ u))
                    total += ((places > ends[0]) & (places < ends[1])).sum()
    return total


def straights(vertices: np.ndarray) -> list[tuple[np.ndarray, np.ndarray]]:
    """Straights between square bends, whose take-out is the radius."""
    found = []
    for index in range(len(vertices) - 1):
        a, b = vertices[index], vertices[index + 1]
        u = (b - a) / np.linalg.norm(b - a)
        start = a + (RADIUS * u if index > 0 else 0.0)
        end = b - (RADIUS * u if index < len(vertices) - 2 else 0.0)
        found.append((start, end))
    return found


@settings(derandomize=True, deadline=None, max_examples=25)
@given(seed=st.integers(0, 10**6), count=st.integers(2, 5))
def test_equal_to_walking_along_the_tubes(seed: int, count: int) -> None:
    tubes = random_tubes(seed, count)
    length, even = parallels_of(tubes)
    assert abs(length - by_walking(tubes)) < 1e-6
    assert 0.0 <= even <= length


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seed=st.integers(0, 10**6), count=st.integers(2, 6))
def test_moved_turned_and_shuffled_tubes_run_as_parallel(seed: int, count: int) -> None:
    tubes = random_tubes(seed, count)
    rng = np.random.default_rng(seed)
    turn = Rotation.random(random_state=seed).as_matrix()
    shift = rng.uniform(-300.0, 300.0, 3)
    moved = [
        (one[::-1] if rng.random() < 0.5 else one) @ turn.T + shift for one in tubes
    ]
    moved = [moved[index] for index in rng.permutation(count)]
    assert np.allclose(parallels_of(moved), parallels_of(tubes), atol=1e-6)


@pytest.mark.bench
def test_ten_tubes_take_less_than_to_walk_along_them(measured: Measured) -> None:
    tubes = random_tubes(7, 10)
    pair = in_turn(
        {
            "reckoned": lambda: parallels_of(tubes),
            "walked": lambda: by_walking(tubes),
        },
        warm=1,
    )
    measured("how far ten tubes run side by side", pair, most=1.0)
    assert pair.ratio <= 1.0  # a tenth, on a quiet machine
