"""How high each place of a loop's inside lies, and how much of it is above a level.

All for one direction `up` (unit length). What is told of air above is true of liquid
below with `up` turned round.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.solids import Box, extents, highest
from loopsolver.geometry.vectors import Array, Indices, Point, dot
from loopsolver.hydraulics.insides import (
    BorePiece,
    Insides,
    Slices,
    Space,
    solid_ml,
    tangent,
)
from loopsolver.hydraulics.volumes import CUBIC_MM_PER_ML
from loopsolver.tolerances import NO_HEIGHT
from loopsolver.tube.centreline import BendArc, Straight

_CUTS: Final = 40  # each way across a solid: shares are then true to a few in 10,000
_MIDDLES: Final = (np.arange(_CUTS) + 0.5) / _CUTS - 0.5


def ceiling(middle: Point, along: Point | None, radius: float, up: Point) -> float:
    """Return the height of the highest point of a cross-section [mm].

    ``p . up + r sqrt(1 - (t . up)^2)``: a disc across the direction t; the point itself
    where there is none.
    """
    if along is None:
        return dot(middle, up)
    return dot(middle, up) + radius * math.sqrt(max(0.0, 1.0 - dot(along, up) ** 2))


def ceilings(
    piece: BorePiece, radius: float, up: Point
) -> tuple[tuple[float, float], ...]:
    """Return shares of a piece and the heights of its ceiling there [mm].

    Its two ends, and between them every turning point.

    Notes
    -----
    On an arc ``p . up`` is ``c + R q cos s`` with s counted from where the centre line
    is highest, and ``t . up`` is ``-q sin s``. The ceiling's slope over s is
    ``-q sin s (R + r q cos s / sqrt(1 - q^2 sin^2 s))``. Its second factor has no zero
    while the bend radius R is greater than the bore's radius r, so the ceiling turns
    where the centre line does: at s = 0 and s = pi.
    """
    shares = [0.0, 1.0]
    if isinstance(piece, BendArc):
        turned = math.atan2(dot(up, piece.v), dot(up, piece.u)) % math.pi
        if 0.0 < turned < piece.angle:
            shares.insert(1, turned / piece.angle)
    return tuple(
        (share, ceiling(_at(piece, share), tangent(piece, share), radius, up))
        for share in shares
    )


def _at(piece: BorePiece, share: float) -> Point:
    if isinstance(piece, Straight):
        x, y, z = (
            a + share * (b - a) for a, b in zip(piece.start, piece.end, strict=True)
        )
    else:
        cosine, sine = math.cos(share * piece.angle), math.sin(share * piece.angle)
        x, y, z = (
            c + piece.radius * (cosine * u + sine * v)
            for c, u, v in zip(piece.centre, piece.u, piece.v, strict=True)
        )
    return x, y, z


def share_above(solid: Space, up: Point, levels: Array) -> Array:
    """Return which share of a box or cylinder lies above each level, (n,).

    Notes
    -----
    Along the edge that reaches over the most heights the share is linear in the level,
    cut off at 0 and 1; it is averaged over the middles of even cuts across. A disc's
    cuts are weighted by their chords; where the disc reaches over more heights than
    the axis, the share of a disc above a line stands for it (circular segment).
    """
    below = levels - dot(solid.frame.origin, up)
    reaches = sorted(extents(solid, up))
    longest = reaches[-1]
    if isinstance(solid, Box):
        across = np.add.outer(reaches[0] * _MIDDLES, reaches[1] * _MIDDLES).ravel()
        weights = np.full(len(across), 1.0 / len(across))
    elif longest == extents(solid, up)[1]:  # along the axis
        edges = np.arcsin(np.linspace(-1.0, 1.0, _CUTS + 1))
        weights = np.diff(edges / np.pi + np.sin(2.0 * edges) / (2.0 * np.pi))
        across = reaches[0] * _MIDDLES
    else:
        across = reaches[0] * _MIDDLES
        heights = 2.0 * (below[:, None] - across) / max(longest, NO_HEIGHT)
        shares: Array = segment(heights).mean(axis=1) / math.pi
        return shares
    rest = (across - below[:, None]) / max(longest, NO_HEIGHT) + 0.5
    above: Array = np.clip(rest, 0.0, 1.0) @ weights
    return above


def segment(height: Array) -> Array:
    """Return the area of a unit disc above a chord at that height from its middle.

    ``arccos h - h sqrt(1 - h^2)``.
    """
    cut = np.clip(height, -1.0, 1.0)
    area: Array = np.arccos(cut) - cut * np.sqrt(1.0 - cut * cut)
    return area


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Upright:
    """A loop's inside as it stands in one direction: what is above a level.

    Attributes
    ----------
    inside : Insides
    up : Point
        Unit length.
    heights : array (n,)
        Of the slices' middles [mm].
    rise : array (n,)
        From there to the highest point of the cross-section [mm].
    skew : array (n,)
        How much the bend's inside lies on the upper side, over its radius.
    thickness : array (n,)
        Of the slices [mm].
    """

    inside: Insides
    up: Point
    heights: Array
    rise: Array
    skew: Array
    thickness: Array

    def slices_above(self, level: float, which: Indices) -> Array:
        """Return what of some slices lies above a level, each [mL].

        Notes
        -----
        A slice of a bend is thicker outside than inside by ``1 - x / R``, x counted
        towards the bend's middle; the mean x of a segment that is cut off at height h
        of a unit disc is ``2/3 (1 - h^2)^(3/2)`` over its area.
        """
        radius = self.inside.radius
        rise = np.maximum(self.rise[which], NO_HEIGHT)
        cut = np.clip((level - self.heights[which]) / rise, -1.0, 1.0)
        moment = 2.0 / 3.0 * np.power(1.0 - cut * cut, 1.5)
        area = radius**2 * (segment(cut) - radius * self.skew[which] * moment)
        above: Array = area * self.thickness[which] / CUBIC_MM_PER_ML
        return above

    def chamber_above(self, place: int, levels: Array) -> Array:
        """Return what of a chamber lies above each level [mL]."""
        chamber = self.inside.chambers[place]
        sizes = [solid_ml(one) for one in chamber.solids]
        whole = math.fsum(sizes)
        if whole <= 0.0:
            return np.zeros(len(levels))
        shares = (
            size * share_above(one, self.up, levels)
            for size, one in zip(sizes, chamber.solids, strict=True)
        )
        above: Array = chamber.volume_ml * np.sum(list(shares), axis=0) / whole
        return above

    def chamber_top(self, place: int) -> float:
        """Return how high a chamber reaches [mm]."""
        solids = self.inside.chambers[place].solids
        return max((highest(one, self.up) for one in solids), default=-math.inf)


def standing(inside: Insides, cut: Slices, up: Point) -> Upright:
    """Return a loop's inside as it stands with a side up."""
    way = np.asarray(up)
    leaning = cut.tangent @ way
    rise = np.sqrt(np.maximum(0.0, 1.0 - leaning * leaning))
    upward = way - leaning[:, None] * cut.tangent
    toward = (upward * cut.inward).sum(axis=1) / np.maximum(rise, NO_HEIGHT)
    return Upright(
        inside=inside,
        up=up,
        heights=cut.middle @ way,
        rise=inside.radius * rise,
        skew=toward * cut.curvature,
        thickness=cut.thickness,
    )
