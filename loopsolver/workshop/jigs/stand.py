"""A foot of the stand for templates: a slot that holds a board, leaning back.

Two of them hold a board with a printed template upright, so that a cold tube is held
against it with both hands.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from loopsolver.workshop.jigs.engraving import lettered_face
from loopsolver.workshop.jigs.shell import Ground, Shell, closed_shell, fan, skin

BOARD: Final = 3.0
"""Thickness of the board that carries the template [mm]. Common practice, no source."""

LEAN_DEG: Final = 15.0
"""How far the board leans back from upright [degrees]. Common practice, no source."""

_LENGTH, _BAR, _HIGH, _WIDE = (
    120.0,
    9.0,
    38.0,
    14.0,
)  # of a foot, and its thickness [mm]
_SLOT: Final = (42.0, 13.0)  # middle of the slot's floor: from the toe, from below [mm]
_CHEEKS: Final = (24.0, 68.0)  # where the cheeks round the slot begin and end [mm]
_CHEEKS_TOP: Final = (32.0, 62.0)


def stand_foot(*, play: float) -> Shell:
    """Return a foot, lying on its flank as it is printed.

    Parameters
    ----------
    play : float
        Of the board in its slot [mm].
    """
    (left, right), (top_left, top_right) = _CHEEKS, _CHEEKS_TOP
    slot = _slot(BOARD + play)
    bar = [
        (0.0, 0.0),
        (_LENGTH, 0.0),
        (_LENGTH, _BAR),
        (right, _BAR),
        (left, _BAR),
        (0.0, _BAR),
    ]
    behind = [(right, _BAR), (top_right, _HIGH), slot[0], slot[1]]
    before = [slot[3], (top_left, _HIGH), (left, _BAR), slot[2]]
    under = [(left, _BAR), (right, _BAR), slot[1], slot[2]]
    x, y, z = np.eye(3)
    surfaces = []
    for height, ground in (
        (_WIDE, Ground(right=x, up=y)),
        (0.0, Ground(right=-x, up=y)),
    ):
        turn = 1 if height else -1
        faces = [_raised(one, height)[::turn] for one in (behind, before, under)]
        surfaces += map(fan, faces)
        across = sorted(float(ground.right @ end) for end in (0.0 * x, _LENGTH * x))
        room = (across[0] + 2.0, 1.0), (across[1] - 2.0, _BAR - 1.0)
        words = ((f"PRINT TWO. BOARD {BOARD:g} MM",),)
        surfaces.append(
            lettered_face(_raised(bar, height)[::turn], ground, words, room=room)
        )
    rim = [
        *bar[:4],
        (top_right, _HIGH),
        *slot,
        (top_left, _HIGH),
        *bar[4:],
        bar[0],
    ]
    surfaces.append(
        skin(np.stack([_raised(rim, 0.0), _raised(rim, _WIDE)], axis=1)[::-1])
    )
    return closed_shell(surfaces)


def _raised(places: list[tuple[float, float]], height: float) -> np.ndarray:
    return np.column_stack([np.asarray(places), np.full(len(places), height)])


def _slot(width: float) -> list[tuple[float, float]]:
    """Return the slot's corners from the top behind, down and up in front [mm]."""
    lean = math.radians(LEAN_DEG)
    half = 0.5 * width
    floors = [
        (
            _SLOT[0] + side * half * math.cos(lean),
            _SLOT[1] - side * half * math.sin(lean),
        )
        for side in (1.0, -1.0)
    ]
    tops = [(x + (_HIGH - y) * math.tan(lean), _HIGH) for x, y in floors]
    return [tops[0], floors[0], floors[1], tops[1]]
