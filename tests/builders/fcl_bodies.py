"""Solids as bodies of a general collision library, python-fcl."""

from __future__ import annotations

import fcl
import numpy as np

from loopsolver.geometry.solids import Box, Cylinder


def in_fcl(solid: Box | Cylinder, *, skin: float = 0.0) -> fcl.CollisionObject:
    """Return a solid as the library's body, smaller by `skin` on every side [mm]."""
    shape = (
        fcl.Box(*(length - 2.0 * skin for length in solid.size))
        if isinstance(solid, Box)
        else fcl.Cylinder(solid.diameter / 2.0 - skin, solid.height - 2.0 * skin)
    )
    placed = fcl.Transform(solid.frame.rotation, np.array(solid.frame.origin))
    return fcl.CollisionObject(shape, placed)
