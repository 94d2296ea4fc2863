"""Which straights and arcs come too near to a solid, found without the package's help.

Distances are taken to the nearest point of the solid, found by clipping coordinates.
A stretch is halved until it is sure to be near or far: walking along it by a millimetre
changes no distance by more than a millimetre.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Solid

Array = NDArray[np.float64]

HAIR = 1e-5
"""Nearer to the limit than this [mm], a stretch counts neither as free nor as blocked."""

FREE, UNSURE, BLOCKED = 1, 0, -1


def clipped_distance(solid: Solid, points: Array) -> Array:
    """Distance to the solid, 0 inside, from its nearest point."""
    if isinstance(solid, HalfSpace):
        away = (points - np.array(solid.point)) @ np.array(solid.normal)
        return np.maximum(away, 0.0)
    own = (points - np.array(solid.frame.origin)) @ np.array(solid.frame.axes).T
    if isinstance(solid, Box):
        half = np.array(solid.size) / 2.0
        nearest = np.clip(own, -half, half)
    else:
        assert isinstance(solid, Cylinder)
        across = np.linalg.norm(own[:, :2], axis=1)
        share = np.minimum(1.0, solid.diameter / 2.0 / np.maximum(across, 1e-300))
        height = np.clip(own[:, 2], -solid.height / 2.0, solid.height / 2.0)
        nearest = np.column_stack([own[:, :2] * share[:, None], height])
    return np.linalg.norm(own - nearest, axis=1)


@dataclass(frozen=True)
class Stretches:
    """Straights or arcs, one a row; `at` gives points from rows and lengths along."""

    lengths: Array
    at: Callable[[NDArray[np.intp], Array], Array]


def straights(starts: Array, ends: Array) -> Stretches:
    lengths = np.linalg.norm(ends - starts, axis=1)
    along = (ends - starts) / np.maximum(lengths, 1e-300)[:, None]

    def at(rows: NDArray[np.intp], walked: Array) -> Array:
        return starts[rows] + walked[:, None] * along[rows]

    return Stretches(lengths=lengths, at=at)


def arcs(vertices: Array, come_from: Array, go_to: Array, radius: float) -> Stretches:
    """Quarter arcs at vertices, between two square unit directions away from them."""
    centres = vertices + radius * (come_from + go_to)

    def at(rows: NDArray[np.intp], walked: Array) -> Array:
        turned = (walked / radius)[:, None]
        spokes = np.cos(turned) * go_to[rows] + np.sin(turned) * come_from[rows]
        return centres[rows] - radius * spokes

    return Stretches(
        lengths=np.full(len(vertices), radius * np.pi / 2.0),
        at=at,
    )


def verdicts(stretches: Stretches, solid: Solid, *, limit: float) -> NDArray[np.int8]:
    """FREE, BLOCKED or UNSURE for every stretch: is it `limit` away from the solid?"""
    count = len(stretches.lengths)
    found = np.full(count, FREE, dtype=np.int8)
    rows = np.arange(count)
    low, high = np.zeros(count), stretches.lengths.copy()
    while len(rows):
        middle, half = (low + high) / 2.0, (high - low) / 2.0
        distance = clipped_distance(solid, stretches.at(rows, middle))
        found[rows[distance < limit - HAIR]] = BLOCKED
        open_still = (distance - half < limit + HAIR) & (found[rows] != BLOCKED)
        small = open_still & (half < HAIR / 4.0)
        found[rows[small]] = UNSURE
        go_on = open_still & ~small & (found[rows] != UNSURE)
        rows, low, high, middle = (
            values[go_on] for values in (rows, low, high, middle)
        )
        low, high = np.append(low, middle), np.append(middle, high)
        rows = np.append(rows, rows)
    return found


def worst_verdicts(
    stretches: Stretches, solids: Sequence[Solid], *, limit: float
) -> NDArray[np.int8]:
    """The least favourable verdict on each stretch over several solids."""
    worst = np.full(len(stretches.lengths), FREE, dtype=np.int8)
    if not len(worst):
        return worst
    rows = np.arange(len(worst))
    middles = stretches.at(rows, stretches.lengths / 2.0)
    centre = middles.mean(axis=0)
    around = np.linalg.norm(middles - centre, axis=1) + stretches.lengths / 2.0
    far = limit + HAIR + around.max()
    for solid in solids:
        if clipped_distance(solid, centre[None, :])[0] > far:
            continue
        np.minimum(worst, verdicts(stretches, solid, limit=limit), out=worst)
    return worst
