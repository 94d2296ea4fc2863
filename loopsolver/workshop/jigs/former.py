"""A former to try a bend with: half of a grooved wheel, printed twice.

Both halves lie on their flat cheek in print, so that nothing overhangs; face to face
they are a wheel with a groove of half the tube's depth. Common printing plastics soften
under a freshly heated tube: the part says so on both cheeks.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from loopsolver.workshop.jigs.cradle import WALL, steps
from loopsolver.workshop.jigs.engraving import lettered_face
from loopsolver.workshop.jigs.shell import (
    FlatSide,
    Shell,
    closed_shell,
    skin,
    turned_round,
)

CHEEK_WORDS: Final = ("SOFTENS", "UNDER A", "HOT TUBE")
"""What is engraved on the former's cheek, line by line."""

LEAST_RADIUS: Final = 12.0
"""A smaller former has no room for its caution [mm]."""

_NOTCHES: Final = 24  # round the rim: every 15 degrees
_DEEP: Final = 1.2  # of a notch [mm]
_STEPS: Final = 10  # chords between two notches


def former_half(radius: float, *, groove: float, size: str) -> Shell:
    """Return half of a former, its cheek below.

    Parameters
    ----------
    radius : float
        Centre-line radius of the bend [mm].
    groove : float
        Radius of the groove's cross-section [mm].
    size : str
        The bend radius in words, as it is engraved.
    """
    angles = np.linspace(0.0, 0.5 * math.pi, steps(0.5 * math.pi, groove) + 1)
    cove = [
        (radius - groove * math.sin(one), WALL + groove * (1.0 - math.cos(one)))
        for one in angles
    ]
    within = radius - 2.0 * _DEEP
    profile = [(within, 0.0), (radius, 0.0), *cove]
    grid = turned_round(profile, count=_NOTCHES * _STEPS)
    notched = grid[::_STEPS, :, :2]
    spokes = np.linalg.norm(notched, axis=2, keepdims=True)
    notched *= np.minimum(1.0, (radius - _DEEP) / spokes)
    x, y, _ = np.eye(3)
    reach = math.sqrt(0.5) * within
    words = ((*CHEEK_WORDS, f"R {size.upper()}"), CHEEK_WORDS, ("NO", "HEAT"))
    cheek = lettered_face(
        grid[:-1, -1][::-1],
        FlatSide(right=x, up=-y),
        words,
        room=((-reach, -reach), (reach, reach)),
    )
    top = grid[:, 0]
    middle = np.broadcast_to([0.0, 0.0, top[0, 2]], top.shape)
    return closed_shell([skin(grid), skin(np.stack([middle, top], axis=1)), cheek])
