"""Where routes come near to solids: one place for every stretch and solid nearby.

A solid is convex, so along a straight its distance has a single valley: a few samples
find the valley, closer ones its floor. An arc is short against what it passes, and the
same holds well enough there; the exact gap of a finished route is for the judge.

References
----------
The distance to a convex set is convex: S. Boyd and L. Vandenberghe, Convex Optimization
(2004), section 3.2. From memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.solid_set import SolidSet
from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.routing.angled.bundle import BundleFigures, bend_points, straight_points
from loopsolver.routing.effort import USUAL
from loopsolver.routing.effort.angled import ShorteningEffort


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bundle:
    """Routes of one bend count and radius, laid out, with what is covered at the ends.

    `vertices` is (routes, vertices, 3) [mm]; see `bundle.lay`.
    """

    vertices: Array
    laid: BundleFigures
    radius: float
    covered: tuple[float, float]

    def points(self, route: Indices, stretch: Indices, share: Array) -> Array:
        """Return points on stretches, (m, s, 3) [mm].

        Parameters
        ----------
        route, stretch : int arrays (m,)
            Stretches are the straights in order and after them the bends.
        share : array (m, s)
            How far along the stretch, 0 to 1.
        """
        legs = self.vertices.shape[1] - 1
        points = np.empty((*share.shape, 3))
        on_leg = stretch < legs
        points[on_leg] = straight_points(
            self.vertices,
            self.laid,
            covered=self.covered,
            at=(route[on_leg], stretch[on_leg], share[on_leg]),
        )
        points[~on_leg] = bend_points(
            self.vertices,
            self.laid,
            radius=self.radius,
            at=(route[~on_leg], stretch[~on_leg] - legs, share[~on_leg]),
        )
        return points


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contacts:
    """Nearest places of routes to solids, m of them.

    Attributes
    ----------
    route, stretch : int arrays (m,)
        As in `Bundle.points`.
    share : array (m,)
        Where on the stretch.
    point : array (m, 3) [mm]
    distance : array (m,) [mm]
        Signed distance of the point to the solid.
    away : array (m, 3)
        Unit vector in which that distance grows.
    """

    route: Indices
    stretch: Indices
    share: Array
    point: Array
    distance: Array
    away: Array

    def pick(self, which: Flags | Indices) -> Contacts:
        """Return some of the contacts."""
        return Contacts(
            route=self.route[which],
            stretch=self.stretch[which],
            share=self.share[which],
            point=self.point[which],
            distance=self.distance[which],
            away=self.away[which],
        )


def contacts(
    bundle: Bundle,
    solids: SolidSet,
    *,
    within: float,
    effort: ShorteningEffort = USUAL.shortening,
) -> Contacts:
    """Return where routes come nearer to solids than `within` [mm]."""
    if not len(solids):
        return _NONE
    routes, count, _ = bundle.vertices.shape
    stretches = 2 * count - 3
    every = np.indices((routes, stretches)).reshape(2, -1)
    samples = effort.samples
    shares = np.broadcast_to(np.linspace(0.0, 1.0, samples), (every.shape[1], samples))
    points = bundle.points(every[0], every[1], shares)
    lengths = _lengths(bundle)[every[0], every[1]]
    near = within + lengths[:, None] / (2.0 * (samples - 1))
    most = float(near.max(initial=0.0))
    distance = solids.rough_distance(points.reshape(-1, 3), most=most)
    distance = distance.reshape(every.shape[1], samples, len(solids))
    row, solid = np.nonzero(distance.min(axis=1) < near)
    lowest = distance[row, :, solid].argmin(axis=1) / (samples - 1)
    which = (every[0][row], every[1][row], solid)
    found = _closer(bundle, solids, which, lowest, effort)
    return found.pick(found.distance < within)


_NONE: Final = Contacts(
    route=np.empty(0, dtype=np.intp),
    stretch=np.empty(0, dtype=np.intp),
    share=np.empty(0),
    point=np.empty((0, 3)),
    distance=np.empty(0),
    away=np.empty((0, 3)),
)


def _lengths(bundle: Bundle) -> Array:
    """Return the lengths of all stretches, (routes, stretches) [mm]."""
    laid = bundle.laid
    return np.hstack([np.maximum(laid.straights, 0.0), bundle.radius * laid.angles])


def _closer(
    bundle: Bundle,
    solids: SolidSet,
    which: tuple[Indices, Indices, Indices],
    share: Array,
    effort: ShorteningEffort,
) -> Contacts:
    """Return the contacts of stretches with solids, sought near the lowest samples."""
    route, stretch, solid = which
    rows = np.arange(len(route))
    width = 1.0 / (effort.samples - 1)
    steps = np.linspace(-1.0, 1.0, effort.samples)
    for _ in range(effort.closer):
        shares = np.clip(share[:, None] + width * steps, 0.0, 1.0)
        points = bundle.points(route, stretch, shares)
        best = solids.distance_to(solid, points).argmin(axis=1)
        share = shares[rows, best]
        width *= 2.0 / (effort.samples - 1)
    distance, away = solids.slope_to(solid, points[rows, best])
    return Contacts(
        route=route,
        stretch=stretch,
        share=share,
        point=points[rows, best],
        distance=distance,
        away=away,
    )
