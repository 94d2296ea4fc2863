"""What a bend and an odd angle are worth to a builder, in millimetres of tube."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from loopsolver.tube.centreline import Centreline, bend_angles

BEND_WORTH: Final = 60.0
"""Tube that a builder would rather use than make one more bend [mm].

About four outer diameters; common practice, no source. Only orders the other ways round.
"""

DEGREE_WORTH: Final = 4.0
"""Tube that a builder would rather use than bend a degree off a standard angle [mm].

A former and a set square give 45 and 90 degrees; anything else is held against paper.
Common practice, no source.
"""

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
