"""Many routes of one bend count and one bend radius, reckoned together.

A bundle is an array of vertices, (routes, vertices, 3) in millimetres: tube end, bend
vertices in order, other tube end.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.solid_set import SolidSet
from loopsolver.geometry.vectors import Array

STRAIGHT_SAMPLES = 12
BEND_SAMPLES = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """Figures of the routes of a bundle.

    Attributes
    ----------
    directions : array (routes, legs, 3)
    legs : array (routes, legs) [mm]
    angles : array (routes, bends) [rad]
    tangents : array (routes, bends) [mm]
    straights : array (routes, legs) [mm]
        Less than zero where a leg is too short for its bends.
    lengths : array (routes,) [mm]
        Developed lengths.
    """

    directions: Array
    legs: Array
    angles: Array
    tangents: Array
    straights: Array
    lengths: Array


def lay(vertices: Array, *, radius: float) -> Laid:
    """Return the figures of the routes of a bundle bent round one radius [mm]."""
    steps = np.diff(vertices, axis=1)
    legs = np.sqrt((steps**2).sum(axis=2))
    directions = steps / np.maximum(legs, 1e-12)[..., None]
    before, after = directions[:, :-1], directions[:, 1:]
    cosines = (before * after).sum(axis=2)
    sines = np.sqrt((np.cross(before, after) ** 2).sum(axis=2))
    angles = np.arctan2(sines, cosines)
    tangents = radius * np.tan(np.minimum(angles, 3.1) / 2.0)
    straights = legs.copy()
    straights[:, :-1] -= tangents
    straights[:, 1:] -= tangents
    lengths = straights.sum(axis=1) + radius * angles.sum(axis=1)
    return Laid(
        directions=directions,
        legs=legs,
        angles=angles,
        tangents=tangents,
        straights=straights,
        lengths=lengths,
    )


def sampled(
    vertices: Array,
    laid: Laid,
    *,
    radius: float,
    covered: tuple[float, float],
    density: int = 1,
) -> Array:
    """Return points on the centre lines, (routes, points, 3) [mm].

    Parameters
    ----------
    covered : pair of floats [mm]
        Lengths at the two tube ends that are left out.
    density : int
        Multiplies the number of points on every piece.
    """
    routes, count, _ = vertices.shape
    outs = np.zeros((routes, count))
    outs[:, 1:-1] = laid.tangents
    ahead, back = outs[:, :-1].copy(), outs[:, 1:].copy()
    ahead[:, 0], back[:, -1] = covered
    span = np.maximum(laid.legs - ahead - back, 0.0)
    shares = np.linspace(0.0, 1.0, STRAIGHT_SAMPLES * density)
    along = ahead[..., None] + span[..., None] * shares
    points = vertices[:, :-1, None] + laid.directions[:, :, None] * along[..., None]
    parts = [points.reshape(routes, -1, 3)]
    if count > 2:
        parts.append(_on_bends(vertices, laid, radius=radius, density=density))
    return np.concatenate(parts, axis=1)


def _on_bends(vertices: Array, laid: Laid, *, radius: float, density: int) -> Array:
    """Return points inside the arcs: start + R sin(x) d + R (1 - cos(x)) n."""
    routes = len(vertices)
    before, after = laid.directions[:, :-1], laid.directions[:, 1:]
    angles = laid.angles[..., None]
    inward = after - np.cos(angles) * before
    inward = inward / np.maximum(np.sin(angles), 1e-9)
    start = vertices[:, 1:-1] - laid.tangents[..., None] * before
    cuts = BEND_SAMPLES * density
    turns = angles * (np.arange(1, cuts + 1) / (cuts + 1))
    forth = radius * np.sin(turns)[..., None]
    side = radius * (1.0 - np.cos(turns))[..., None]
    points = start[:, :, None] + forth * before[:, :, None] + side * inward[:, :, None]
    shaped: Array = points.reshape(routes, -1, 3)
    return shaped


def nearest(points: Array, solids: SolidSet) -> Array:
    """Return the least distance of each route's points to any solid, (routes,) [mm]."""
    routes, count, _ = points.shape
    distance = solids.signed_distance(points.reshape(-1, 3)).min(axis=1)
    least: Array = distance.reshape(routes, count).min(axis=1)
    return least


def free_along(
    solids: SolidSet, origins: Array, directions: Array, *, reach: float, most: float
) -> Array:
    """Return how far one can go from each origin and keep `reach`, at most `most` [mm].

    Steps by the distance that is free; never less than STEP, so what is thinner than
    that on the way may be missed: good enough to leave hopeless rays out early.
    """
    gone = np.zeros(len(origins))
    rows = np.arange(len(origins))
    while len(rows):
        here = origins[rows] + gone[rows, None] * directions[rows]
        free = solids.signed_distance(here).min(axis=1) - reach
        rows = rows[free >= 0.0]
        gone[rows] += np.maximum(free[free >= 0.0], STEP)
        rows = rows[gone[rows] < most]
    return np.minimum(gone, most)


STEP = 1.0
"""Least step of `free_along` [mm]."""
