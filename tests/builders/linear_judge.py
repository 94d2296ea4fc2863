"""A judge of placements that shares nothing with them: linear programmes of scipy's HiGHS.

Its geometry is scipy's rotations and lines that meet planes; its slopes are differences
of that. Circles are polygons of 64 sides round them, so that it is never too strict.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from loopsolver.fitup.placement import Seating
from loopsolver.fitup.socket import Guide, Socket
from loopsolver.tube.chain import Poses

_SIDES = 64
_STEP = 1e-5
_SETTLED = 1e-3  # a move [rad, mm] whose square is nothing


def _across(axis: np.ndarray) -> np.ndarray:
    turned, _ = Rotation.align_vectors(axis, [0, 0, 1])
    return turned.apply([[1, 0, 0], [0, 1, 0]])


def held(socket: Socket, end: np.ndarray, along: np.ndarray) -> list[float]:
    """Return offsets and tilt or second offset in parts of what is held, two each."""
    axis, seat = np.array(socket.axis), np.array(socket.seat)
    across = _across(axis)

    def met(depth: float) -> np.ndarray:
        plane = seat + depth * axis
        reach = ((plane - end) @ axis) / (along @ axis)
        return across @ (end + reach * along - plane)

    if isinstance(socket.holds, Guide):
        half = socket.holds.play / 2
        return [*(met(socket.depth) / half), *(met(0.0) / half)]
    aside = across @ along
    tilt = math.atan2(np.linalg.norm(aside), along @ axis)
    tilted = aside / max(np.linalg.norm(aside), 1e-300) * tilt
    mouth = met(socket.depth) / socket.holds.sideways
    return [*mouth, *(tilted / socket.holds.tilt)]


def lies(seating: Seating, tube: Poses, number: int, move: np.ndarray) -> np.ndarray:
    """Return eight parts of limits, both slides and the roll of one tube after a move."""
    origin = np.array(seating.drawn.origin)
    turned = Rotation.from_rotvec(move[:3]).as_matrix()
    frame, first = turned @ seating.drawn.rotation, origin + move[3:]
    far = first + frame @ tube.positions[number]
    far_axis = -(frame @ tube.rotations[number])[:, 2]
    one, two = seating.sockets
    side = seating.drawn.rotation.T @ frame[:, 0]
    return np.array(
        [
            *held(one, first, frame[:, 2]),
            *held(two, far, far_axis),
            (first - one.seat) @ one.axis,
            (far - two.seat) @ two.axis,
            math.atan2(side[1], side[0]),
        ]
    )


def least_share(
    seating: Seating, tube: Poses, number: int, *, rounds: int = 3
) -> float:
    """Return the least share of all limits that a tube can be placed with."""
    move, share = np.zeros(6), math.inf
    for _ in range(rounds):
        at = lies(seating, tube, number, move)
        slopes = np.transpose(
            [
                lies(seating, tube, number, move + step)
                - lies(seating, tube, number, move - step)
                for step in _STEP * np.eye(6)
            ]
        ) / (2 * _STEP)
        share, by = programme(at, slopes, seating)
        move = move + by
        if np.abs(by).max() < _SETTLED:
            break
    return share


def programme(
    at: np.ndarray, slopes: np.ndarray, seating: Seating
) -> tuple[float, np.ndarray]:
    """Return the least share and the move, of values and their slopes."""
    angles = 2 * math.pi * np.arange(_SIDES) / _SIDES
    sides = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    rows, most = [], []
    for pair in range(4):
        two = slice(2 * pair, 2 * pair + 2)
        rows += [np.column_stack([sides @ slopes[two], -np.ones(_SIDES)])]
        most += [-sides @ at[two]]
    (in_one, out_one), (in_two, out_two) = seating.slides
    for row, (low, high) in enumerate(
        [(in_one, out_one), (in_two, out_two), (seating.roll, seating.roll)], start=8
    ):
        rows += [np.array([[*slopes[row], -high], [*-slopes[row], -low]])]
        most += [np.array([-at[row], at[row]])]
    found = linprog(
        [0.0] * 6 + [1.0],
        A_ub=np.concatenate(rows),
        b_ub=np.concatenate(most),
        bounds=[(None, None)] * 6 + [(0.0, None)],
    )
    return float(found.x[6]), found.x[:6]
