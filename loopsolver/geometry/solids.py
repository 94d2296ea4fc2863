"""The solids of a case: signed distance from points, and bounds.

All solids here are convex; the search relies on it.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.vectors import Array, Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A box at any rotation: `frame` stands in its centre, `size` is full lengths [mm]."""

    frame: Frame
    size: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """A flat-ended cylinder along its frame's z, the frame in its centre [mm]."""

    frame: Frame
    diameter: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfSpace:
    """Everything behind a plane: a case wall. `normal` points out of the solid."""

    point: Point
    normal: Point


Solid = Box | Cylinder | HalfSpace


def signed_distance(solid: Solid, points: Array) -> Array:
    """Return the exact distance from each point to the solid's surface [mm].

    Negative inside. Exact on both sides of the surface.

    Parameters
    ----------
    solid : Solid
    points : array (n, 3) [mm]

    Returns
    -------
    array (n,) [mm]
    """
    raise NotImplementedError


def bounds(solid: Solid) -> Array:
    """Return the lowest and highest x, y, z of the solid, (2, 3) [mm]; inf where open."""
    raise NotImplementedError
