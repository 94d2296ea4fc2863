"""A tube laid from its bend table and measured by samples along its true arcs.

By means of its own: nothing here calls what finds, polishes or measures a route.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Indices, Point, point
from loopsolver.routing.sampled_mesh import (
    LaidMesh,
    mesh_distance,
    triangle_distances,
)
from loopsolver.routing.sampled_solids import Solids, convex_distances
from loopsolver.tolerances import CLOSURE, GAP_RESOLUTION, UNIT_LENGTH
from loopsolver.tube.bend_table import BendTable

FEWEST_CUTS: Final = 8
"""Into how many parts at least a stretch still in question is cut."""

SAMPLES_A_ROUND: Final = 256
"""About how many samples a round takes: so few cost little more than one would."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """A laid tube, straights and arcs in turn, m of them.

    ``p(s) = start + sin(k s) / k along + (1 - cos(k s)) / k aside``, where `k` is the
    curvature and s the length along the piece, from `low` to `high`.

    Attributes
    ----------
    start, along, aside : arrays (m, 3)
        Where a piece begins [mm], its direction there, and the side that it turns to.
    curvature : array (m,) [1/mm]
        0 for a straight.
    low, high : arrays (m,)
        The part of it that is looked at [mm].
    """

    start: Array
    along: Array
    aside: Array
    curvature: Array
    low: Array
    high: Array

    def at(self, which: Indices, s: Array) -> Array:
        """Return points (k, n, 3) of pieces `which` (k,) at lengths s (k, n) [mm]."""
        bent = self.curvature[which, None]
        per = np.where(bent > 0.0, bent, 1.0)
        ahead = np.where(bent > 0.0, np.sin(per * s) / per, s)
        aside = np.where(bent > 0.0, (1.0 - np.cos(per * s)) / per, 0.0)
        points: Array = self.start[which, None] + (
            ahead[..., None] * self.along[which, None]
            + aside[..., None] * self.aside[which, None]
        )
        return points


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidTube:
    """A tube as its bend table lays it: pieces, vertices, and its last direction."""

    pieces: Pieces
    vertices: Array
    direction: Array


def laid_tube(
    table: BendTable, *, start: Point, direction: Point, towards: Array
) -> LaidTube:
    """Return a tube laid as at the bench: go straight, turn the plane, bend.

    Parameters
    ----------
    table : BendTable
    start, direction : Point
        Where the tube begins, and along what.
    towards : array (3,)
        A direction on the side to which the first bend turns.

    Notes
    -----
    Where the tube is bent to a side square to its travel, a rotation turns that side
    about the travel, and a bend turns travel and side in their own plane.
    """
    at, along = np.array(start), of_length_one(np.array(direction))
    aside = of_length_one(towards - (towards @ along) * along)
    rows: list[tuple[Array, Array, Array, float, float]] = []
    vertices = [at]
    for bend in table.bends:
        rows.append((at, along, aside, 0.0, bend.straight))
        at = at + bend.straight * along
        cos, sin = _cos_sin(bend.rotation_deg)
        aside = cos * aside + sin * across(along, aside)
        angle = math.radians(bend.angle_deg)
        vertices.append(at + table.radius * math.tan(angle / 2.0) * along)
        rows.append((at, along, aside, 1.0 / table.radius, table.radius * angle))
        cos, sin = _cos_sin(bend.angle_deg)
        at = at + table.radius * (sin * along + (1.0 - cos) * aside)
        along, aside = cos * along + sin * aside, cos * aside - sin * along
    rows.append((at, along, aside, 0.0, table.closing_straight))
    vertices.append(at + table.closing_straight * along)
    starts, alongs, asides, curvatures, lengths = zip(*rows, strict=True)
    return LaidTube(
        pieces=Pieces(
            start=np.array(starts),
            along=np.array(alongs),
            aside=np.array(asides),
            curvature=np.array(curvatures),
            low=np.zeros(len(rows)),
            high=np.maximum(np.array(lengths), 0.0),
        ),
        vertices=np.array(vertices),
        direction=along,
    )


def least_distance(
    pieces: Pieces, solids: Solids, *, enough: float = math.inf
) -> tuple[float, int, Point]:
    """Return the least signed distance of a tube's axis to solids, to which, and where.

    Parameters
    ----------
    pieces : Pieces
    solids : Solids
    enough : float [mm]
        What lies further off is not looked at more closely.

    Returns
    -------
    distance : float [mm]
        One that occurs: at the point that is returned. No point of the axis is nearer by
        more than `tolerances.GAP_RESOLUTION`, if this is below `enough`; but in a mesh it
        may be deeper.
    number : int
        Of the solid.
    where : Point

    Notes
    -----
    The distance f to a convex solid is convex and changes no faster than the point
    moves. Along a curve p of curvature k it is therefore convex but for k: by the tangent
    plane at any point, ``f(p(s)) + k s^2 / 2`` is convex in s. So with even samples at a
    spacing h, the line through two neighbours, carried on into the next gap between
    samples and lowered there by up to ``k h^2``, is a bound from below; one comes from
    either side, and the higher of them holds. Gaps whose bound is not good enough are
    sampled again, more finely.

    References
    ----------
    S. Boyd and L. Vandenberghe, Convex Optimization (2004), sections 3.1 and 3.2, for
    convex functions along lines; S. A. Piyavskii, USSR Computational Mathematics and
    Mathematical Physics 12 (1972), for sampling where a bound is lowest (both from
    memory).
    """
    middles = 0.5 * (pieces.low + pieces.high)[:, None]
    points = pieces.at(np.arange(len(middles)), middles)[:, 0]
    every = np.arange(len(solids.names))
    found = convex_distances(
        solids, every, np.broadcast_to(points, (len(every), *points.shape))
    )
    which = np.unravel_index(found.argmin(), found.shape)
    best = (float(found[which]), int(which[0]), point(points[which[1]]))
    reach = 0.5 * (pieces.high - pieces.low)
    pairs = np.nonzero(found - reach < min(best[0], enough))
    distances = partial(convex_distances, solids)
    best = _closer(pieces, (pairs[0], pairs[1]), distances, best, enough=enough)
    for number, mesh in solids.meshes:
        far = max(min(best[0], enough), 0.0) + GAP_RESOLUTION
        if (mesh.off(points) - reach).min() > far:
            continue
        least = mesh.no_nearer(points) + GAP_RESOLUTION
        pairs = _near_triangles(pieces, mesh, within=min(best[0], enough, least))
        to_triangles = partial(triangle_distances, mesh.corners)
        distance, triangle, at = _closer(
            pieces, pairs, to_triangles, (best[0], -1, best[2]), enough=enough
        )
        best = best if triangle < 0 else (distance, number, at)
        if mesh.encloses(points[0]):  # so is all of the axis, unless it crosses
            depth = mesh_distance(mesh, points[0])
            best = min(best, (depth, number, point(points[0])))
    return best


NearestOfTube = tuple[float, int, Point]


def _closer(
    pieces: Pieces,
    pairs: tuple[Indices, Indices],
    distances: Callable[[Indices, Array], Array],
    best: NearestOfTube,
    *,
    enough: float,
) -> NearestOfTube:
    """Return the least distance of pairs of a solid and a piece, if less than the best.

    `distances` measures points (k, n, 3) to as many solids (k,), all convex.
    """
    solid, piece = pairs
    low, high = pieces.low[piece], pieces.high[piece]
    while piece.size:
        parts = max(FEWEST_CUTS, SAMPLES_A_ROUND // piece.size)
        s = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, parts + 1)
        points = pieces.at(piece, s)
        found = distances(solid, points)
        row, column = np.unravel_index(found.argmin(), found.shape)
        if found[row, column] < best[0]:
            number = int(solid[row])
            best = (float(found[row, column]), number, point(points[row, column]))
        spacing = (high - low) / parts
        bound = _bounds(found, spacing[:, None], pieces.curvature[piece, None])
        rows, part = np.nonzero(bound < min(best[0] - GAP_RESOLUTION, enough))
        piece, solid = piece[rows], solid[rows]
        low, high = s[rows, part], s[rows, part + 1]
    return best


def _bounds(found: Array, spacing: Array, curvature: Array) -> Array:
    """Return what a distance cannot fall below between its samples, (k, n) [mm].

    `found` holds the samples (k, n + 1). Outside the first and the last the distance is
    only known to change no faster than the point moves.
    """
    lowered = curvature * spacing**2
    steps = np.diff(found, axis=1)
    falling = np.concatenate([-spacing, steps[:, :-1] - lowered], axis=1)
    rising = np.concatenate([steps[:, 1:] + lowered, spacing], axis=1)
    falling, rising = np.minimum(falling, 0.0), np.maximum(rising, 0.0)
    here, there = found[:, :-1], found[:, 1:]
    slope = rising - falling
    share = (here - there + rising) / np.where(slope > 0.0, slope, 1.0)
    share = np.clip(share, 0.0, 1.0)
    bound: Array = np.maximum(here + falling * share, there - rising * (1.0 - share))
    return bound


def _near_triangles(
    pieces: Pieces, mesh: LaidMesh, *, within: float
) -> tuple[Indices, Indices]:
    """Return triangles that may be within a distance of pieces, each with the piece.

    Told from the boxes round both: a piece, which turns by no more than half round, lies
    no further from the box round its ends and middle than its length.
    """
    triangles, numbers = [], []
    for number in range(len(pieces.low)):
        s = np.linspace(pieces.low[number], pieces.high[number], FEWEST_CUTS + 1)
        points = pieces.at(np.array([number]), s[None])[0]
        reach = within + (0.5 * (s[1] - s[0]) if pieces.curvature[number] else 0.0)
        near = mesh.near(points.min(axis=0), points.max(axis=0), reach)
        middles = points[:-1, None] + 0.5 * np.diff(points, axis=0)[:, None]
        corners = mesh.corners[near]
        centres = corners.mean(axis=1)
        radius = np.linalg.norm(corners - centres[:, None], axis=2).max(axis=1)
        off = np.linalg.norm(centres - middles, axis=2).min(axis=0)
        kept = near[off - radius - (s[1] - s[0]) < reach]
        triangles.append(kept)
        numbers.append(np.full(len(kept), number))
    return np.concatenate(triangles), np.concatenate(numbers)


def crosses_itself(pieces: Pieces, diameter: float) -> bool:
    """Return whether stretches with a leg or more between them touch each other.

    Neighbours are held apart by the bend between them. Pairs of stretches are halved
    until their middles are nearer than the diameter, or too far apart for any of their
    points to be. Less than `tolerances.CLOSURE` is told by nobody and is let pass.
    """
    number = np.arange(len(pieces.high))
    first, second = np.nonzero(number[None] // 2 - (number[:, None] + 1) // 2 >= 2)
    wanted = diameter - GAP_RESOLUTION
    lows = [pieces.low[first], pieces.low[second]]
    highs = [pieces.high[first], pieces.high[second]]
    while first.size:
        middles = [0.5 * (low + high) for low, high in zip(lows, highs, strict=True)]
        apart = np.linalg.norm(
            pieces.at(first, middles[0][:, None])
            - pieces.at(second, middles[1][:, None]),
            axis=2,
        )[:, 0]
        if (apart < wanted).any():
            return True
        reach = 0.5 * (highs[0] - lows[0] + highs[1] - lows[1])
        near = np.flatnonzero((apart - reach < wanted) & (reach > CLOSURE))
        first, second = np.tile(first[near], 4), np.tile(second[near], 4)
        cuts = [(lows[n][near], middles[n][near], highs[n][near]) for n in range(2)]
        halves = [((a, b), (b, c)) for a, b, c in cuts]
        pairs = [(one, two) for one in halves[0] for two in halves[1]]
        lows = [np.concatenate([pair[n][0] for pair in pairs]) for n in range(2)]
        highs = [np.concatenate([pair[n][1] for pair in pairs]) for n in range(2)]
    return False


def cut_back(pieces: Pieces, start: float, end: float) -> Pieces:
    """Return pieces less a length at either end [mm].

    Where that leaves nothing over, the point where the cuts meet is left.
    """
    lengths = pieces.high - pieces.low
    ends = np.cumsum(lengths)
    total = float(ends[-1])
    low, high = min(start, total), max(total - end, 0.0)
    if low > high:
        low = high = 0.5 * (low + high)
    begins = ends - lengths
    kept = (begins <= high) & (ends >= low)
    return Pieces(
        start=pieces.start[kept],
        along=pieces.along[kept],
        aside=pieces.aside[kept],
        curvature=pieces.curvature[kept],
        low=np.clip(low - begins, 0.0, lengths)[kept],
        high=np.clip(high - begins, 0.0, lengths)[kept],
    )


def across(first: Array, second: Array) -> Array:
    """Return the vector square to two others: their cross product."""
    a, b, c = first.tolist()
    x, y, z = second.tolist()
    return np.array([b * z - c * y, c * x - a * z, a * y - b * x])


def of_length_one(vector: Array) -> Array:
    """Return the direction of a vector, or nothing of the sort where it has none."""
    length = float(np.linalg.norm(vector))
    scaled: Array = vector / length if length > UNIT_LENGTH else vector
    return scaled


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    return math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
