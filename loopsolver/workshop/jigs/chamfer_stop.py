"""A chamfer stop: a guide that stands on abrasive paper and leads a tube's end to it.

The tube leans by 45 degrees in the guide, so that only the rim of its end meets the
paper; it is turned by hand. A ledge in the guide stops the end when the chamfer is as
wide as it is meant to be.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.tube.stock import Tube
from loopsolver.workshop.jigs.cradle import WALL, steps
from loopsolver.workshop.jigs.engraving import MARGIN, lettered_face, upright_face
from loopsolver.workshop.jigs.shell import (
    FlatSide,
    Shell,
    Surface,
    closed_shell,
    fan,
    ring,
    skin,
)

MOST_CHAMFER: Final = 1.0
"""A chamfer along a tube, or half the wall where that is less [mm].

Enough to slip under a ring seal without cutting it. Common practice, no source.
"""

_GUIDE: Final = 2.0  # length of the guide, in tube diameters
_LEDGE: Final = 0.35  # how far from the middle it begins, in radii of the guide
_BACK, _UP = np.array([-1.0, 0.0, 1.0]), np.array([1.0, 0.0, 1.0])
_ALONG: Final = _BACK / math.sqrt(2.0)  # the tube's axis, away from its end
_OVER: Final = _UP / math.sqrt(2.0)  # across it, away from the paper
_ASIDE: Final = np.array([0.0, -1.0, 0.0])


def chamfer(tube: Tube) -> float:
    """Return how wide the chamfer is, along the tube and across its wall [mm]."""
    return min(MOST_CHAMFER, 0.5 * (tube.radius - tube.inner_diameter / 2.0))


def chamfer_stop(tube: Tube, *, groove: float, size: str) -> Shell:
    """Return the chamfer stop of a tube, standing as it is printed and used.

    Parameters
    ----------
    groove : float
        Radius of the guide: the tube's, and half the play [mm].
    size : str
        The tube's outer diameter in words, as it is engraved.

    Notes
    -----
    The tube lies on the lower side of the guide, its axis half the play below the
    guide's. With its end on the ledge, the lowest point of its rim would be the
    chamfer's width times the sine of 45 degrees under the paper.
    """
    middle = (tube.radius - chamfer(tube)) * np.array([0.0, 0.0, math.sqrt(0.5)])
    middle = middle + (groove - tube.radius) * _OVER
    length = _GUIDE * tube.outer_diameter
    return closed_shell(
        [
            *_guide(middle, groove, length),
            *_outside(middle, groove, length, size),
        ]
    )


def _rims(
    middle: Array, groove: float, length: float
) -> tuple[Array, Array, Array, Array]:
    """Return points round the guide: at its mouth, on the ledge, at its mouth, below.

    The first two over the ledge, the last two over the opening beside it, both
    counter-clockwise as seen from the mouth.
    """
    least = math.asin(_LEDGE)
    spans = (-least, math.pi + least), (math.pi + least, 2.0 * math.pi - least)
    over, beside = (
        np.linspace(*span, steps(span[1] - span[0], groove) + 1) for span in spans
    )
    ledge, lower = (
        middle
        + groove * (np.outer(np.cos(angles), _ASIDE) + np.outer(np.sin(angles), _OVER))
        for angles in (over, beside)
    )
    below = lower - np.outer(lower[:, 2] / _ALONG[2], _ALONG)
    below[:, 2] = 0.0
    return ledge + length * _ALONG, ledge, lower + length * _ALONG, below


def _guide(middle: Array, groove: float, length: float) -> list[Surface]:
    """Return the inside of the guide and its ledge."""
    over, ledge, beside, below = _rims(middle, groove, length)
    beside[0], beside[-1] = over[-1], over[0]
    return [
        skin(np.stack([over, ledge])),
        skin(np.stack([beside, below])[:, 1:-1]),
        fan(np.array([beside[1], below[1], below[0], ledge[-1], beside[0]])),
        fan(np.array([beside[-2], beside[-1], ledge[0], below[-1], below[-2]])),
        fan(ledge),
        fan(np.array([ledge[0], ledge[-1], below[0], below[-1]])),
    ]


def _outside(middle: Array, groove: float, length: float, size: str) -> list[Surface]:
    """Return the outside: base, mouth and sides, with the lettering."""
    over, _, beside, below = _rims(middle, groove, length)
    wide = groove + WALL
    mouth = [middle + length * _ALONG + side * wide * _OVER for side in (-1.0, 1.0)]
    foot = np.array([1.0, 0.0, 0.0])
    profile = [mouth[0] * foot, (mouth[1][0] + mouth[1][2]) * foot, mouth[1], mouth[0]]
    right, left = (
        [one + side * wide * _ASIDE for one in profile] for side in (1.0, -1.0)
    )
    base = np.array([right[0], left[0], left[1], right[1]])
    top = np.array([right[3], right[2], left[2], left[3]])
    x, y, z = np.eye(3)
    back, high, toe = profile[0][0], profile[3][2], profile[1][0]
    flank = (back + MARGIN, MARGIN), (toe - high - MARGIN, high - MARGIN)
    mirrored = (-flank[1][0], MARGIN), (-flank[0][0], flank[1][1])
    tube = ((f"TUBE {size}".upper(),), ("TUBE", size.upper()))
    stop = (("CHAMFER STOP",), ("CHAMFER", "STOP"), ("STOP",))
    behind = np.array([left[0], right[0], right[3], left[3]])
    before = np.array([right[1], left[1], left[2], right[2]])
    leaning = FlatSide(right=(x - z) / math.sqrt(2.0), up=y)
    return [
        ring(base, below[::-1], FlatSide(right=y, up=x)),
        ring(
            top,
            np.concatenate([over[:-1], beside[:-1]]),
            FlatSide(right=_ASIDE, up=_OVER),
        ),
        lettered_face(np.array(right), FlatSide(right=x, up=z), tube, room=flank),
        lettered_face(
            np.array(left[::-1]), FlatSide(right=-x, up=z), tube, room=mirrored
        ),
        upright_face(behind, FlatSide(right=-y, up=z), stop),
        upright_face(before, leaning, stop),
    ]
