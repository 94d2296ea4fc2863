"""Many routes of one bend count and one bend radius, reckoned together.

A bundle is an array of vertices, (routes, vertices, 3) in millimetres: tube end, bend
vertices in order, other tube end.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.solid_set import SolidSet
from loopsolver.geometry.vectors import Array, Indices
from loopsolver.tolerances import STRAIGHT_SINE, UNIT_LENGTH
from loopsolver.tube.setting_out import take_outs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BundleFigures:
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


def lay(vertices: Array, *, radius: float) -> BundleFigures:
    """Return the figures of the routes of a bundle bent round one radius [mm]."""
    steps = np.diff(vertices, axis=1)
    legs = np.sqrt((steps**2).sum(axis=2))
    directions = steps / np.maximum(legs, UNIT_LENGTH)[..., None]
    before, after = directions[:, :-1], directions[:, 1:]
    # Half chords: exact near 0 and near pi alike, which a cosine is not.
    apart, along = after - before, after + before
    angles = 2.0 * np.arctan2(
        np.sqrt((apart * apart).sum(axis=2)), np.sqrt((along * along).sum(axis=2))
    )
    tangents = take_outs(radius, np.minimum(angles, 3.1))
    straights = legs.copy()
    straights[:, :-1] -= tangents
    straights[:, 1:] -= tangents
    lengths = straights.sum(axis=1) + radius * angles.sum(axis=1)
    return BundleFigures(
        directions=directions,
        legs=legs,
        angles=angles,
        tangents=tangents,
        straights=straights,
        lengths=lengths,
    )


def turns_of(laid: BundleFigures) -> Array:
    """Return the turn before each bend but the first, (routes, bends - 1) [rad].

    As in a bend table, where the formula is told.
    """
    directions = laid.directions
    normals = np.cross(directions[:, :-1], directions[:, 1:])
    sines = (directions[:, :-2] * normals[:, 1:]).sum(axis=2)
    cosines = (normals[:, :-1] * normals[:, 1:]).sum(axis=2)
    turns: Array = np.arctan2(sines, cosines)
    return turns


def sampled(
    vertices: Array,
    laid: BundleFigures,
    *,
    radius: float,
    covered: tuple[float, float],
    samples: tuple[int, int],
) -> Array:
    """Return points on the centre lines, (routes, points, 3) [mm].

    Parameters
    ----------
    covered : pair of floats [mm]
        Lengths at the two tube ends that are left out.
    samples : pair of ints
        Points on every straight, both its ends among them, and inside every bend.
    """
    routes, count, _ = vertices.shape
    shares = np.linspace(0.0, 1.0, samples[0])
    route, leg = np.ogrid[:routes, : count - 1]
    points = straight_points(vertices, laid, covered=covered, at=(route, leg, shares))
    parts = [points.reshape(routes, -1, 3)]
    if count > 2:
        shares = np.arange(1, samples[1] + 1) / (samples[1] + 1)
        route, bend = np.ogrid[:routes, : count - 2]
        points = bend_points(vertices, laid, radius=radius, at=(route, bend, shares))
        parts.append(points.reshape(routes, -1, 3))
    return np.concatenate(parts, axis=1)


Places = tuple[Indices, Indices, Array]
"""Route, leg or bend, both (...) or broadcast to it, and shares (..., s), 0 to 1."""


def straight_points(
    vertices: Array, laid: BundleFigures, *, covered: tuple[float, float], at: Places
) -> Array:
    """Return points on straights, (..., s, 3) [mm]; what is covered is left out."""
    route, leg, share = at
    outs = np.zeros(vertices.shape[:2])
    outs[:, 1:-1] = laid.tangents
    ahead, back = outs[:, :-1].copy(), outs[:, 1:].copy()
    ahead[:, 0], back[:, -1] = covered
    span = np.maximum(laid.legs - ahead - back, 0.0)
    along = ahead[route, leg][..., None] + span[route, leg][..., None] * share
    direction = laid.directions[route, leg][..., None, :]
    points: Array = vertices[route, leg][..., None, :] + direction * along[..., None]
    return points


def bend_points(
    vertices: Array, laid: BundleFigures, *, radius: float, at: Places
) -> Array:
    """Return points on arcs, (..., s, 3) [mm].

    With d before and n square to it on the inner side, from where the arc begins:
    ``start + R sin(x) d + R (1 - cos(x)) n``.
    """
    route, bend, share = at
    before, after = laid.directions[route, bend], laid.directions[route, bend + 1]
    angle = laid.angles[route, bend][..., None]
    inward = after - np.cos(angle) * before
    inward = inward / np.maximum(np.sin(angle), STRAIGHT_SINE)
    start = vertices[route, bend + 1] - laid.tangents[route, bend][..., None] * before
    turned = angle * share
    forth = radius * np.sin(turned)[..., None] * before[..., None, :]
    side = radius * (1.0 - np.cos(turned))[..., None] * inward[..., None, :]
    points: Array = start[..., None, :] + forth + side
    return points


def nearest(points: Array, solids: SolidSet) -> Array:
    """Return the least distance of each route's points to any solid, (routes,) [mm]."""
    routes, count, _ = points.shape
    distance = solids.signed_distance(points.reshape(-1, 3)).min(axis=1)
    least: Array = distance.reshape(routes, count).min(axis=1)
    return least


def free_along(
    solids: SolidSet,
    origins: Array,
    directions: Array,
    *,
    reach: float,
    most: float,
    step: float,
) -> Array:
    """Return how far one can go from each origin and keep `reach`, at most `most` [mm].

    Goes on by the distance that is free; never by less than `step`, so what is thinner
    than that on the way may be missed.
    """
    gone = np.zeros(len(origins))
    rows = np.arange(len(origins))
    while len(rows):
        here = origins[rows] + gone[rows, None] * directions[rows]
        free = solids.signed_distance(here).min(axis=1) - reach
        rows = rows[free >= 0.0]
        gone[rows] += np.maximum(free[free >= 0.0], step)
        rows = rows[gone[rows] < most]
    return np.minimum(gone, most)
