"""A tube as a chain: against scipy's rotations, bend tables laid out, and differences."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.tube.bend_table import Bend, BendTable, lay_forward
from loopsolver.tube.centreline import legs
from loopsolver.tube.chain import Chain, chain_of, end_jacobian, end_poses

_RADIUS = 28.0


def _random_chain(seed: int, bends: int) -> Chain:
    random = np.random.default_rng(seed)
    return Chain(
        straights=tuple(random.uniform(15.0, 150.0, bends + 1)),
        turns=tuple(random.uniform(-math.pi, math.pi, bends)),
        angles=tuple(random.uniform(0.1, 2.5, bends)),
        radius=_RADIUS,
    )


def _walked(chain: Chain) -> tuple[Rotation, np.ndarray]:
    """Return the far end as scipy's rotations and the chord of every arc have it."""
    frame, at = Rotation.identity(), np.zeros(3)
    for straight, turn, angle in zip(
        chain.straights, chain.turns, chain.angles, strict=False
    ):
        at = at + frame.apply([0, 0, straight])
        frame = frame * Rotation.from_rotvec([0, 0, turn])
        chord = 2 * chain.radius * math.sin(angle / 2)
        half = frame * Rotation.from_rotvec([0, angle / 2, 0])
        at = at + half.apply([0, 0, chord])
        frame = frame * Rotation.from_rotvec([0, angle, 0])
    return frame, at + frame.apply([0, 0, chain.straights[-1]])


def _pose(chain: Chain) -> tuple[np.ndarray, np.ndarray]:
    (rotation,), (position,) = end_poses(
        [chain.straights], [chain.turns], [chain.angles], chain.radius
    )
    return rotation, position


@pytest.mark.parametrize("bends", range(7))
def test_scipy_walks_to_the_same_end(bends):
    chain = _random_chain(bends, bends)
    frame, at = _walked(chain)
    rotation, position = _pose(chain)
    assert rotation == pytest.approx(frame.as_matrix(), abs=1e-12)
    assert position == pytest.approx(at, abs=1e-9)


def test_many_tubes_at_once_are_each_by_itself():
    chains = [_random_chain(seed, 3) for seed in range(5)]
    poses = end_poses(
        [one.straights for one in chains],
        [one.turns for one in chains],
        [one.angles for one in chains],
        _RADIUS,
    )
    for chain, rotation, position in zip(chains, *poses, strict=True):
        assert rotation == pytest.approx(_pose(chain)[0], abs=1e-14)
        assert position == pytest.approx(_pose(chain)[1], abs=1e-12)


def test_a_bend_table_laid_out_ends_at_the_same_place():
    table = BendTable(
        bends=(
            Bend(straight=40, rotation_deg=0, angle_deg=90),
            Bend(straight=55, rotation_deg=-70, angle_deg=45),
            Bend(straight=20, rotation_deg=180, angle_deg=110),
        ),
        closing_straight=33,
        radius=_RADIUS,
    )
    laid = lay_forward(
        table, start=(0, 0, 0), direction=(0, 0, 1), first_bend_towards=(1, 0, 0)
    )
    rotation, position = _pose(chain_of(table))
    assert position == pytest.approx(laid.vertices[-1], abs=1e-9)
    assert rotation[:, 2] == pytest.approx(legs(laid).directions[-1], abs=1e-12)


@pytest.mark.parametrize("bends", range(1, 7))
def test_slopes_are_those_of_central_differences(bends):
    chain = _random_chain(10 + bends, bends)
    slopes = end_jacobian(chain)
    length = sum(chain.straights) + _RADIUS * sum(chain.angles)
    for part in ("straights", "turns", "angles"):
        for number in range(len(getattr(chain, part))):
            twist = _twist(*(_moved(chain, part, number, by) for by in (-1e-5, 1e-5)))
            column = getattr(slopes, part)[:, number]
            assert twist / 2e-5 == pytest.approx(column, abs=1e-6 * length)


@pytest.mark.parametrize("number", range(3))
def test_bent_at_its_marks_a_tube_keeps_its_length(number):
    chain = _random_chain(4, 3)
    ends = []
    for by in (-1e-5, 1e-5):
        moved = _moved(chain, "angles", number, by)
        ends.append(_moved(moved, "straights", number + 1, -_RADIUS * by))
    assert _twist(*ends) / 2e-5 == pytest.approx(
        end_jacobian(chain).angles_to_marks[:, number], abs=1e-6 * 600
    )


def _moved(chain: Chain, part: str, number: int, by: float) -> Chain:
    values = {
        "straights": list(chain.straights),
        "turns": list(chain.turns),
        "angles": list(chain.angles),
    }
    values[part][number] += by
    moved = {name: tuple(amounts) for name, amounts in values.items()}
    return Chain(radius=chain.radius, **moved)


def _twist(before: Chain, after: Chain) -> np.ndarray:
    (first, start), (second, end) = _pose(before), _pose(after)
    turned = Rotation.from_matrix(second @ first.T).as_rotvec()
    return np.concatenate([turned, end - start])
