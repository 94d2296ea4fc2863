"""A foot of the stand for templates: a slot that holds a board, leaning back.

Two of them hold a board with a printed template upright, so that a cold tube is held
against it with both hands.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from loopsolver.drafting.drawing import Place
from loopsolver.geometry.vectors import Array
from loopsolver.workshop.jigs.engraving import upright_face
from loopsolver.workshop.jigs.shell import (
    FlatSide,
    Shell,
    closed_shell,
    fan,
    skin,
)

BOARD: Final = 3.0
"""Thickness of the board that carries the template [mm]. Common practice, no source."""

LEAN_DEG: Final = 15.0
"""How far the board leans back from upright [degrees]. Common practice, no source."""
_WORDS: Final = ((f"PRINT TWO. BOARD {BOARD:g} MM",),)
_LENGTH: Final = 120.0  # of a foot [mm]
_BAR: Final = 9.0  # height of its bar
_HIGH: Final = 38.0  # of the cheeks round its slot
_WIDE: Final = 14.0  # its thickness
_SLOT: Final = (42.0, 13.0)  # middle of the slot's floor: from the toe, from below
_CHEEKS: Final = (24.0, 68.0)  # where the cheeks begin and end
_CHEEKS_TOP: Final = (32.0, 62.0)


def stand_foot(*, play: float) -> Shell:
    """Return a foot, lying on its flank as it is printed.

    Parameters
    ----------
    play : float
        Of the board in its slot [mm].
    """
    left, right = ((x, _BAR) for x in _CHEEKS)
    top_left, top_right = ((x, _HIGH) for x in _CHEEKS_TOP)
    slot = _slot(BOARD + play)
    toe, heel = (0.0, 0.0), (_LENGTH, 0.0)
    bar = [toe, heel, (_LENGTH, _BAR), right, left, (0.0, _BAR)]
    cheeks = [
        [right, top_right, slot[0], slot[1]],
        [slot[3], top_left, left, slot[2]],
        [left, right, slot[1], slot[2]],
    ]
    rim = [*bar[:4], top_right, *slot, top_left, *bar[4:], toe]
    edges = np.stack([_raised(rim, height) for height in (_WIDE, 0.0)])
    x, y, _ = np.eye(3)
    flanks = [(_WIDE, FlatSide(right=x, up=y), 1), (0.0, FlatSide(right=-x, up=y), -1)]
    surfaces = [skin(edges.transpose(1, 0, 2))]
    for height, ground, way in flanks:
        surfaces += [fan(_raised(one, height)[::way]) for one in cheeks]
        outline = _raised(bar, height)[::way]
        surfaces.append(upright_face(outline, ground, _WORDS))
    return closed_shell(surfaces)


def _raised(places: Sequence[Place], height: float) -> Array:
    """Return places on a flank in space [mm]."""
    return np.column_stack([np.asarray(places), np.full(len(places), height)])


def _slot(width: float) -> list[Place]:
    """Return the slot's corners, from the top behind down, and up in front [mm]."""
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
    return [tops[0], *floors, tops[1]]
