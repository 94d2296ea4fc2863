"""Least distances of curves to solids.

The search keeps, for every pair still in question, a bound that its distance cannot
fall below. It cuts pairs apart until no bound lies more than a wanted resolution below
the least distance found. What it returns is a distance that occurs, and it is
certified: nothing is nearer by more than the resolution.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.along_mesh import least_to_mesh
from loopsolver.geometry.curves import Curves, valley
from loopsolver.geometry.solid_set import Extents, SolidSet, distance_and_gradient
from loopsolver.geometry.vectors import Array, Flags, Indices

INTERVALS_A_ROUND: Final = 128
"""About how many intervals a round looks at: so few cost little more than one would."""

FEWEST_PARTS: Final = 4
"""Into how many parts at least a round cuts every interval still in question."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nearest:
    """The least distance of each group of solids, and where it is met.

    Attributes
    ----------
    distance : array (groups,) [mm]
    solid : int array (groups,)
        Which solid it is to.
    point : array (groups, 3) [mm]
        The point of the curve that is nearest.
    """

    distance: Array
    solid: Indices
    point: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pairs:
    """Pieces of curve, each with one solid in whose coordinates it is given, k of them.

    `origin`, `first` and `second` are (3, k, 1); see Curves.
    """

    origin: Array
    first: Array
    second: Array
    is_bent: Flags
    extents: Extents

    def points(self, at: Array) -> Array:
        """Return the points at parameters `at` (k, s), (3, k, s) [mm]."""
        along = np.where(self.is_bent, np.cos(at), at)
        points: Array = along * self.first
        points += np.sin(at) * self.second
        points += self.origin
        return points


def nearest_solids(
    curves: Curves, solids: SolidSet, *, groups: Indices, resolution: float
) -> Nearest:
    """Return the least signed distance of a curve to each group of solids.

    Parameters
    ----------
    curves : Curves
        The m pieces of one curve, at least one.
    solids : SolidSet
        n solids, at least one.
    groups : int array (n,)
        The group of each solid, 0 to the number of groups less 1; none is empty.
    resolution : float [mm]
        The true least distance is at most this much below the one returned.

    Returns
    -------
    Nearest
        One entry a group; negative distances where a curve enters a solid.

    Notes
    -----
    The signed distance f of a convex solid is convex, so its tangent plane at any point
    bounds it from below everywhere. For an interval of curve from a to b the planes at
    both ends are laid over its chord; they cross at the bound. An arc bulges from its
    chord to one known side by no more than r (1 - cos(angle / 2)), which lowers a plane
    by that times its slope to this side, where that is downhill. So an interval that
    runs parallel to a face costs nothing more, and elsewhere the bound closes with the
    square of the interval's length.

    References
    ----------
    Branch and bound: A. H. Land and A. G. Doig, Econometrica 28 (1960); bounds from
    samples, on intervals: S. A. Piyavskii, USSR Computational Mathematics and
    Mathematical Physics 12 (1972). From memory. The bound itself is our own.
    """
    best, piece, solid = _from_middles(curves, solids, groups)
    low, high = curves.start[piece], curves.stop[piece]
    while piece.size:
        parts = max(FEWEST_PARTS, INTERVALS_A_ROUND // piece.size)
        at = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, parts + 1)
        pairs = _pairs(curves, solids, piece, solid)
        distance, bound = _distances_and_bounds(pairs, at)
        nearest = distance.argmin(axis=1)
        row = np.arange(piece.size)
        best = _improved(
            best,
            groups[solid],
            Nearest(
                distance=distance[row, nearest],
                solid=solid,
                point=curves.points(piece, at[row, nearest]),
            ),
        )
        beaten = best.distance[groups[solid]] - resolution
        row, part = np.nonzero(bound < beaten[:, None])
        piece, solid = piece[row], solid[row]
        low, high = at[row, part], at[row, part + 1]
    return _with_meshes(best, curves, solids, groups, resolution)


def _with_meshes(
    best: Nearest, curves: Curves, solids: SolidSet, groups: Indices, resolution: float
) -> Nearest:
    """Return the nearer of what was found of convex solids and of the meshes."""
    for number, mesh in solids.meshes:
        group = groups[number]
        found = least_to_mesh(
            curves, mesh, below=float(best.distance[group]), resolution=resolution
        )
        if found is not None:
            distance, at = found
            one = Nearest(
                distance=np.array([distance]),
                solid=np.array([number]),
                point=at[None],
            )
            best = _improved(best, np.array([group]), one)
    return best


def _from_middles(
    curves: Curves, solids: SolidSet, groups: Indices
) -> tuple[Nearest, Indices, Indices]:
    """Return the least distances of the pieces' middles, and what can be nearer still.

    That is the pieces and the convex solids of those pairs whose distance could fall below
    the best of their group between the middle and the ends: no distance changes faster
    than the point that it is measured from moves.
    """
    middles = curves.middles()
    distance = solids.convex_distance(middles)
    piece = distance.argmin(axis=0)
    solid = np.arange(len(solids))
    count = int(groups.max()) + 1
    best = _improved(
        Nearest(
            distance=np.full(count, np.inf),
            solid=np.zeros(count, dtype=np.intp),
            point=np.zeros((count, 3)),
        ),
        groups,
        Nearest(distance=distance[piece, solid], solid=solid, point=middles[piece]),
    )
    bound = distance - curves.half_reach()[:, None]
    bound[:, [number for number, _ in solids.meshes]] = np.inf
    piece, solid = np.nonzero(bound < best.distance[groups])
    return best, piece, solid


def _pairs(curves: Curves, solids: SolidSet, piece: Indices, solid: Indices) -> _Pairs:
    """Return pieces of curve in the coordinates of the solid that each is paired with."""
    axes = solids.axes[:, solid]
    turned = [
        np.einsum("akc,kc->ak", axes, vectors[piece])
        for vectors in (curves.origin, curves.first, curves.second)
    ]
    return _Pairs(
        origin=(turned[0] - solids.origins[:, solid])[:, :, None],
        first=turned[1][:, :, None],
        second=turned[2][:, :, None],
        is_bent=curves.is_bent[piece, None],
        extents=solids.extents.pick(solid),
    )


def _improved(best: Nearest, group: Indices, found: Nearest) -> Nearest:
    """Return the nearer of the best so far and of what was found, group by group.

    `group` says which group each entry of `found` is of.
    """
    if best.distance.size == 1:
        row = np.array([found.distance.argmin()])
    else:
        order = np.lexsort((found.distance, group))
        row = order[np.unique(group[order], return_index=True)[1]]
    row = row[found.distance[row] < best.distance[group[row]]]
    if not row.size:
        return best
    distance, solid, point = best.distance.copy(), best.solid.copy(), best.point.copy()
    distance[group[row]] = found.distance[row]
    solid[group[row]] = found.solid[row]
    point[group[row]] = found.point[row]
    return Nearest(distance=distance, solid=solid, point=point)


def _distances_and_bounds(pairs: _Pairs, at: Array) -> tuple[Array, Array]:
    """Return distances at parameters (k, s + 1), and bounds between them (k, s) [mm]."""
    points = pairs.points(at)
    distance, gradient = distance_and_gradient(points, pairs.extents)
    here, there = gradient[:, :, :-1], gradient[:, :, 1:]
    chord = points[:, :, 1:] - points[:, :, :-1]
    leaving = (here * chord).sum(axis=0)
    arriving = (there * chord).sum(axis=0)
    bulge = _bulge(pairs, at)
    left = distance[:, :-1] + np.minimum((here * bulge).sum(axis=0), 0.0)
    right = distance[:, 1:] + np.minimum((there * bulge).sum(axis=0), 0.0)
    return distance, valley(left, leaving, right, arriving)


def _bulge(pairs: _Pairs, at: Array) -> Array:
    """Return how far each interval reaches from its chord at most, (3, k, s) [mm]."""
    middle = 0.5 * (at[:, :-1] + at[:, 1:])
    spread = at[:, 1:] - at[:, :-1]
    share = np.where(pairs.is_bent, 2.0 * np.sin(0.25 * spread) ** 2, 0.0)
    bulge: Array = share * np.cos(middle) * pairs.first
    bulge += share * np.sin(middle) * pairs.second
    return bulge
