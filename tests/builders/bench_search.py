"""A search of its own for what mends a bent tube, that shares nothing with the tool's.

The tube is laid by scipy's rotations, straight by straight and bend by bend; slopes are
differences of that, and placing it is a linear programme of scipy's HiGHS with polygons
of 64 sides round the circles, so that it is never too strict. The programme is solved
about its own answer a few times, with the changes of one or two bends as unknowns; then
the steps of half a degree round the answer are tried one by one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from loopsolver.fitup.placement import Seating
from loopsolver.tube.chain import Chain, Poses
from tests.builders.linear_judge import lies

STEP = math.radians(0.5)
MOST = math.radians(10.0)
_SIDES = 64
_DIFFERENCE = 1e-5
SURELY = math.cos(math.pi / _SIDES)
"""A share of polygons round circles with which circles are kept as well."""

Knobs = Sequence[tuple[str, int]]
"""What is changed: "angles" or "turns", and of which bend, counted from 0."""


def laid(chain: Chain) -> Poses:
    """Return where a tube's far end is in the frame of its first end."""
    at, frame = np.zeros(3), Rotation.identity()
    for straight, turn, angle in zip(
        chain.straights, chain.turns, chain.angles, strict=False
    ):
        at = at + frame.apply([0, 0, straight])
        frame = frame * Rotation.from_euler("z", turn)
        reach, side = math.sin(angle), 1 - math.cos(angle)
        at = at + chain.radius * frame.apply([side, 0, reach])
        frame = frame * Rotation.from_euler("y", angle)
    at = at + frame.apply([0, 0, chain.straights[-1]])
    return Poses(frame.as_matrix()[None], at[None])


def changed(chain: Chain, knobs: Knobs, by: Sequence[float]) -> Chain:
    """Return a tube with some angles and turns changed [rad]."""
    parts = {"angles": list(chain.angles), "turns": list(chain.turns)}
    for (kind, bend), change in zip(knobs, by, strict=True):
        parts[kind][bend] += change
    return replace(chain, angles=tuple(parts["angles"]), turns=tuple(parts["turns"]))


@dataclass(frozen=True)
class Answer:
    """The least share of all limits, and the changes that it takes [rad]."""

    share: float
    by: tuple[float, ...]


def least_share(
    chain: Chain, seating: Seating, knobs: Knobs = (), *, rounds: int = 4
) -> Answer:
    """Return the best that moves and changes together can do."""
    point = np.zeros(6 + len(knobs))
    share = math.inf

    def values(at: np.ndarray) -> np.ndarray:
        return lies(seating, laid(changed(chain, knobs, at[6:].tolist())), 0, at[:6])

    for _ in range(rounds):
        slopes = np.transpose(
            [
                values(point + step) - values(point - step)
                for step in _DIFFERENCE * np.eye(len(point))
            ]
        ) / (2 * _DIFFERENCE)
        share, by = _programme(values(point), slopes, seating, point[6:])
        point = point + by
        if np.abs(by).max() < 1e-6 or share > 3.0:
            break
    return Answer(share, tuple(point[6:]))


def _programme(
    at: np.ndarray, slopes: np.ndarray, seating: Seating, changes: np.ndarray
) -> tuple[float, np.ndarray]:
    """Return the least share, and the step to it, of values and their slopes."""
    angles = 2 * math.pi * np.arange(_SIDES) / _SIDES
    sides = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    rows, most = [], []
    for pair in range(4):
        two = slice(2 * pair, 2 * pair + 2)
        rows.append(np.column_stack([sides @ slopes[two], -np.ones(_SIDES)]))
        most.append(-sides @ at[two])
    (in_one, out_one), (in_two, out_two) = seating.slides
    for row, (low, high) in enumerate(
        [(in_one, out_one), (in_two, out_two), (seating.roll, seating.roll)], start=8
    ):
        rows.append(np.array([[*slopes[row], -high], [*-slopes[row], -low]]))
        most.append(np.array([-at[row], at[row]]))
    unknowns = slopes.shape[1]
    found = linprog(
        [0.0] * unknowns + [1.0],
        A_ub=np.concatenate(rows),
        b_ub=np.concatenate(most),
        bounds=[
            *[(None, None)] * 6,
            *[(-MOST - one, MOST - one) for one in changes],
            (0.0, None),
        ],
    )
    return float(found.x[-1]), found.x[:-1]


def way_over(
    chain: Chain, seating: Seating, *, most_bends: int, hot: Sequence[int]
) -> Knobs | None:
    """Return what can be changed in half degrees so that the tube fits; None if nothing.

    Of the fewest bends first; `hot` are those that may be heated, counted from 0.
    """
    for count in range(1, most_bends + 1):
        for bends in combinations(hot, count):
            knobs = [("angles", bend) for bend in bends]
            knobs += [("turns", bend) for bend in bends if bend]
            if _has_step(chain, seating, knobs):
                return knobs
    return None


def _has_step(chain: Chain, seating: Seating, knobs: Knobs) -> bool:
    answer = least_share(chain, seating, knobs)
    if answer.share > SURELY:
        return False
    middle = np.rint(np.array(answer.by) / STEP)
    reach = 3 if len(knobs) < 3 else 1
    around = product(range(-reach, reach + 1), repeat=len(knobs))
    ways = sorted(around, key=lambda way: float(np.abs(way).sum()))
    for way in ways:
        by = STEP * (middle + way)
        if np.abs(by).max() <= MOST + 1e-9:
            tried = changed(chain, knobs, by.tolist())
            if least_share(tried, seating, rounds=2).share <= SURELY:
                return True
    return False
