"""Balls measured together, against each of them measured by itself."""

from collections.abc import Sequence

import numpy as np
import pytest

from loopsolver.clearance.arcs import Arm, blocked_bends
from loopsolver.clearance.ball_rows import BallRow, with_rows
from loopsolver.clearance.shadows import Coordinates, cast_shadows
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box, Cylinder, Solid
from loopsolver.geometry.vectors import Array, point
from tests.full import few_or_all

REACH = 8.0
SEEDS = few_or_all((0, 1), range(20))


def ball(centre: Array, radius: float) -> Cylinder:
    frame = Frame(origin=point(centre))
    return Cylinder(frame=frame, diameter=0.0, height=0.0, rounding=radius)


def bent(seed: int) -> tuple[list[Cylinder], Coordinates]:
    """Balls along a bend in a random plane along the axes, and a lattice round it."""
    rng = np.random.default_rng(seed)
    turned = np.linspace(0.0, np.pi / 2.0, 7)
    arc = 24.0 * np.column_stack([np.cos(turned), np.sin(turned), np.zeros(7)])
    centres = rng.permuted(np.eye(3))[:, rng.permutation(3)] @ arc.T
    x, y, z = (np.sort(rng.uniform(-50.0, 70.0, 24)) for _ in range(3))
    return [ball(centre, 6.0) for centre in centres.T], (x, y, z)


def is_covered(
    solids: Sequence[Solid | BallRow], coordinates: Coordinates, axis: int
) -> Array:
    """Which places along the lines of a lattice lie in a shadow."""
    places = np.linspace(-60.0, 80.0, 281)
    shape = [len(c) for a, c in enumerate(coordinates) if a != axis]
    covered = np.zeros((*shape, len(places)), dtype=bool)
    for shadow in cast_shadows(solids, coordinates, axis=axis, reach=REACH):
        rows, cols = (
            slice(first, first + count)
            for first, count in zip(shadow.first, shadow.low.shape, strict=True)
        )
        covered[rows, cols] |= (shadow.low[..., None] < places) & (
            places < shadow.high[..., None]
        )
    return covered


@pytest.mark.parametrize("seed", SEEDS)
def test_a_row_covers_what_its_balls_do(seed: int) -> None:
    balls, coordinates = bent(seed)
    (row,) = with_rows(balls)
    assert isinstance(row, BallRow)
    for axis in range(3):
        of_row = is_covered([row], coordinates, axis)
        assert of_row.any()
        assert (of_row == is_covered(balls, coordinates, axis)).all()
    shadows = [cast_shadows([row], coordinates, axis=a, reach=REACH) for a in range(3)]
    assert max(map(len, shadows)) <= len(balls) // 2


@pytest.mark.parametrize("seed", SEEDS)
def test_a_row_blocks_the_bends_that_its_balls_do(seed: int) -> None:
    balls, coordinates = bent(seed)
    (row,) = with_rows(balls)
    for arms in ((Arm(0, 1), Arm(1, -1)), (Arm(2, -1), Arm(0, -1))):
        blocked = np.zeros((2, 24, 24, 24), dtype=bool)
        each: list[tuple[int, Solid | BallRow]] = [(0, row), *((1, b) for b in balls)]
        for which, solid in each:
            found = blocked_bends(
                solid, coordinates, arms=arms, radius=20.0, reach=REACH
            )
            if found is not None:
                blocked[which][found[0]] |= found[1]
        assert blocked[0].any()
        assert (blocked[0] == blocked[1]).all()


def test_only_equal_balls_that_follow_each_other_become_a_row() -> None:
    small, large = (ball(np.zeros(3), radius) for radius in (5.0, 6.0))
    box = Box(frame=Frame(), size=(1.0, 1.0, 1.0))
    kinds = [type(one) for one in with_rows([box, small, small, large, box, large])]
    assert kinds == [Box, BallRow, Cylinder, Box, Cylinder]
