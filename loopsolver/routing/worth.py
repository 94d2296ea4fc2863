"""What a bend and an odd angle are worth to a builder, in millimetres of tube."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from loopsolver.tolerances import ON_STEP_DEG
from loopsolver.tube.centreline import Centreline, bend_angles

BEND_WORTH: Final = 60.0
"""Tube that a builder would rather use than make one more bend [mm].

About four outer diameters; common practice, no source. Only orders the other ways round.
"""

MORE_BENDS: Final = 2
"""Tubes of more bends than this above the fewest are no help to a builder."""

LONGER: Final = 2.0
"""Tubes that are longer than the best one by more than this factor are none either.

Common practice, no source, as the next one.
"""

MORE_GAP: Final = 1.5
"""A gap so many times as large as another is worth a place in the list of candidates."""

DEGREE_WORTH: Final = 4.0
"""Tube that a builder would rather use than bend a degree off a standard angle [mm].

A former and a set square give 45 and 90 degrees; anything else is held against paper.
Common practice, no source.
"""

TURN_WORTH: Final = 100.0
"""Tube that a builder would rather use than set a turn of no multiple of 45 degrees [mm].

Tubes that run square to the case please, and a turn of 37 degrees has to be held against
a protractor. Common practice, no source.
"""

DIAGONAL_TURN_WORTH: Final = 10.0
"""The same for an odd multiple of 45 degrees, which a set square gives [mm]."""

STANDARD_DEG: Final = (45.0, 90.0)
"""The angles that formers and paper give without a protractor [degrees].

Common practice, no source.
"""


def departures_deg(
    centreline: Centreline, *, standard_deg: Sequence[float]
) -> tuple[float, ...]:
    """Return how far each bend is from the nearest standard angle [degrees].

    Positive where the bend is of more than the standard angle.
    """
    angles_deg = [math.degrees(angle) for angle in bend_angles(centreline)]
    return tuple(
        min((angle_deg - one_deg for one_deg in standard_deg), key=abs)
        for angle_deg in angles_deg
    )


def is_on_step(turn_deg: float, *, step_deg: float) -> bool:
    """Return whether a turn is a multiple of a step, as near as anyone sets it.

    >>> is_on_step(-90.0, step_deg=45.0), is_on_step(37.0, step_deg=45.0)
    (True, False)
    """
    return abs(math.remainder(turn_deg, step_deg)) <= ON_STEP_DEG


def odd_turns(turns_deg: Sequence[float]) -> int:
    """Return how many of some turns are no multiple of 90 degrees."""
    return sum(not is_on_step(turn, step_deg=90.0) for turn in turns_deg)


def turns_worth(turns_deg: Sequence[float]) -> float:
    """Return what the odd ones among turns are worth to a builder [mm of tube].

    >>> turns_worth((90.0, 180.0)), turns_worth((37.0, 45.0))
    (0.0, 110.0)
    """
    worth = 0.0
    for turn in turns_deg:
        if not is_on_step(turn, step_deg=45.0):
            worth += TURN_WORTH
        elif not is_on_step(turn, step_deg=90.0):
            worth += DIAGONAL_TURN_WORTH
    return worth
