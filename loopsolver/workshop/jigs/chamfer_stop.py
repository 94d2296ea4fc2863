"""A chamfer stop: a tube end turned in it gets a chamfer, and no more than that.

A guide with a cone at its foot, lined with a strip of abrasive paper, and a floor within
the cone. The tube is turned in it by hand; when its end stands on the floor, the chamfer
is as wide as it is meant to be.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from loopsolver.tube.stock import Tube
from loopsolver.workshop.jigs.cradle import WALL, steps
from loopsolver.workshop.jigs.engraving import lettered_face
from loopsolver.workshop.jigs.shell import (
    Ground,
    Shell,
    closed_shell,
    ring,
    skin,
    turned_round,
)

PAPER: Final = 0.25
"""Thickness of abrasive paper [mm]. Common practice, no source."""

MOST_CHAMFER: Final = 1.0
"""A chamfer along a tube, or half the wall where that is less [mm].

Enough to slip under a ring seal without cutting it. Common practice, no source.
"""

_FLOOR: Final = 3.0  # thickness of the floor [mm]
_GUIDE: Final = 2.0  # length of the guide over the cone, in tube diameters
_LEAST_GUIDE: Final = 24.0  # [mm]
_SIDES: Final = 6


def chamfer(tube: Tube) -> float:
    """Return how wide the chamfer is, along the tube and across its wall [mm]."""
    wall = tube.radius - tube.inner_diameter / 2.0
    return min(MOST_CHAMFER, 0.5 * wall)


def cone_radii(tube: Tube, groove: float) -> tuple[float, float]:
    """Return the least and the greatest radius of the cone under the paper [mm].

    The paper's own surface meets the floor where the chamfer ends; it leans by 45
    degrees, so that the cone under it is further out by its thickness times root two.
    """
    return tube.radius - chamfer(tube) + PAPER * math.sqrt(2.0), groove


def chamfer_stop(tube: Tube, *, groove: float, size: str) -> Shell:
    """Return the chamfer stop of a tube, standing as it is printed and used.

    Parameters
    ----------
    groove : float
        Radius of the guide: the tube's, and half the play [mm].
    size : str
        The tube's outer diameter in words, as it is engraved.
    """
    dust = max(tube.inner_diameter / 2.0 - 1.0, 1.0)
    least, most = cone_radii(tube, groove)
    cone = _FLOOR + (most - least)
    high = cone + max(_GUIDE * tube.outer_diameter, _LEAST_GUIDE)
    profile = [(most, high), (most, cone), (least, _FLOOR), (dust, _FLOOR), (dust, 0.0)]
    grid = turned_round(profile, count=2 * steps(math.pi, groove))
    bore, hole = grid[:-1, -1], grid[:-1, 0]
    angles = 2.0 * math.pi * np.arange(_SIDES) / _SIDES
    reach = (groove + WALL) / math.cos(math.pi / _SIDES)
    corners = reach * np.column_stack([np.cos(angles), np.sin(angles), 0.0 * angles])
    top = corners + (0.0, 0.0, high)
    x, y, z = np.eye(3)
    surfaces = [
        skin(grid),
        ring(top, bore, Ground(right=x, up=y)),
        ring(corners[::-1], hole[::-1], Ground(right=x, up=-y)),
    ]
    for side in range(_SIDES):
        a, b = corners[side], corners[(side + 1) % _SIDES]
        along = (b - a) / np.linalg.norm(b - a)
        outline = np.array([a, b, b + (0.0, 0.0, high), a + (0.0, 0.0, high)])
        ground = Ground(right=z, up=-along)
        across = outline @ ground.up
        room = (1.0, float(across.min()) + 1.0), (high - 1.0, float(across.max()) - 1.0)
        surfaces.append(
            lettered_face(outline, ground, _says(size, side), room=room)
        )
    return closed_shell(surfaces)


def _says(size: str, side: int) -> tuple[tuple[str, ...], ...]:
    """Return what is engraved on a side: choices of lines."""
    if side % 2:
        return (("CHAMFER STOP",), ("CHAMFER", "STOP"), ("STOP",))
    return ((f"TUBE {size}".upper(),), ("TUBE", size.upper()))
