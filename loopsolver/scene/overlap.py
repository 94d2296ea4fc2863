"""How far two convex solids stand apart, or how deep they are in each other."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Solid
from loopsolver.geometry.vectors import Array, Point, point
from loopsolver.tolerances import ALONG_AXIS, UNIT_LENGTH

_SAMPLES: Final = 1500
"""Directions that are tried all round: about 5 degrees from one to the next."""

_ROUND_AN_EDGE: Final = 360
"""Directions that are tried square to each edge: a degree from one to the next."""

_STARTS: Final = 6
_FIRST_STEP: Final = 0.08
_LAST_STEP: Final = 1e-6
_SHRINK: Final = 0.75
"""The best few are followed uphill, first by steps of about a sample's width [rad].

The last is worth less than a thousandth of a millimetre on the largest body.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Separation:
    """How two solids stand to each other.

    Attributes
    ----------
    distance : float
        Free distance; negative where they overlap: less the shortest way that takes
        them apart [mm].
    direction : Point
        Unit direction in which the second solid stands from the first, or in which it
        has to move to come free.
    """

    distance: float
    direction: Point


def separation(first: Solid, second: Box | Cylinder) -> Separation:
    """Return how far apart two solids stand, or how deep they overlap.

    Notes
    -----
    By the separating axis theorem for convex sets the signed distance is the maximum
    over unit directions u of min(u . second) - max(u . first), which is their distance
    where it is positive and less their penetration depth where it is negative. Both
    extremes have closed forms for boxes and cylinders. For two boxes in overlap the
    maximum lies at a face normal or at the cross product of two edges, which are all
    tried. Where a cylinder stands along the other's axis, both are an outline times a
    height, so that the maximum is that of the heights or that of the outlines: across a
    side of the rectangle, or from it, or from the other circle, towards the centre.
    Else the best of many directions are followed uphill.

    References
    ----------
    C. Ericson, Real-Time Collision Detection (2005), sections 4.4 and 5.2.1, for the
    test; S. Cameron, IEEE Transactions on Robotics 13 (1997), for the depth (both from
    memory).
    """
    if isinstance(first, HalfSpace):
        normal = np.asarray(first.normal)[None, :]
        beyond = _lowest(second, normal) - normal @ np.asarray(first.point)
        return Separation(distance=float(beyond[0]), direction=first.normal)
    return _best(first, second, _likely(first, second))


def overlap(
    first: Solid, second: Box | Cylinder, *, allowed: float
) -> Separation | None:
    """Return how two solids overlap, or None if by no more than is allowed [mm].

    Most that come near each other are told apart along one of a few directions: these
    alone are tried first.
    """
    if isinstance(first, HalfSpace):
        apart = separation(first, second)
    else:
        likely = _likely(first, second)
        if _apart(first, second, likely).max() >= -allowed:
            return None
        apart = _best(first, second, likely)
    return apart if apart.distance < -allowed else None


def _best(first: Box | Cylinder, second: Box | Cylinder, likely: Array) -> Separation:
    """Return the separation along the best direction of all, the likely ones known."""
    values = _apart(first, second, likely)
    if values.max() < 0.0 and _is_settled_by_likely(first, second):
        place = int(values.argmax())
        direction, value = likely[place], float(values[place])
    else:
        ridges = [_square_to_axes(solid) for solid in (first, second)]
        directions = np.vstack([likely, _all_round(), *ridges])
        values = _apart(first, second, directions)
        best = np.argsort(-values, kind="stable")[:_STARTS]
        direction, value = _uphill(first, second, directions[best], values[best])
    return Separation(distance=value, direction=point(direction + 0.0))


def _apart(first: Box | Cylinder, second: Box | Cylinder, directions: Array) -> Array:
    """Return how far the second begins beyond the first's end, along each direction."""
    apart: Array = _lowest(second, directions) + _lowest(first, -directions)
    return apart


def _lowest(solid: Box | Cylinder, directions: Array) -> Array:
    """Return the least coordinate of a solid along each direction, (n,) [mm]."""
    axes = np.asarray(solid.frame.axes)
    along = np.abs(directions @ axes.T)
    match solid:
        case Box():
            reach = along @ np.asarray(solid.size) / 2.0
        case Cylinder():
            across = np.hypot(directions @ axes[0], directions @ axes[1])
            reach = (solid.height * along[:, 2] + solid.diameter * across) / 2.0
    lowest: Array = directions @ np.asarray(solid.frame.origin) - reach
    return lowest


def _likely(first: Box | Cylinder, second: Box | Cylinder) -> Array:
    """Return directions among which the best usually is: axes, products, centres."""
    axes = np.vstack([first.frame.axes, second.frame.axes])
    between = np.subtract(second.frame.origin, first.frame.origin)
    raw = [*axes, between, *np.cross(axes[:3, None], axes[3:]).reshape(9, 3)]
    raw += [
        between - axis * (between @ axis)
        for solid, axis in ((first, axes[2]), (second, axes[5]))
        if isinstance(solid, Cylinder)
    ]
    match first, second:
        case (Box(), Cylinder()):
            raw.append(_aside(first, second))
        case (Cylinder(), Box()):
            raw.append(_aside(second, first))
    vectors = np.asarray(raw)
    lengths = np.linalg.norm(vectors, axis=1)
    usable = lengths > UNIT_LENGTH
    directions = vectors[usable] / lengths[usable, None]
    return np.vstack([directions, -directions])


def _aside(box: Box, round_one: Cylinder) -> Array:
    """Return the way from a box to a cylinder's axis, if that is along an axis of it."""
    axes = np.asarray(box.frame.axes)
    centre = axes @ np.subtract(round_one.frame.origin, box.frame.origin)
    half = np.asarray(box.size) / 2.0
    beyond = centre - np.clip(centre, -half, half)
    beyond[np.abs(axes @ np.asarray(round_one.frame.axes[2])).argmax()] = 0.0
    aside: Array = beyond @ axes
    return aside


def _is_settled_by_likely(first: Box | Cylinder, second: Box | Cylinder) -> bool:
    """Whether solids in overlap part soonest along one of the likely directions."""
    if isinstance(first, Box) and isinstance(second, Box):
        return True
    along = np.abs(np.asarray(first.frame.axes) @ np.asarray(second.frame.axes).T)
    if isinstance(first, Cylinder):
        along = along[2:]
    if isinstance(second, Cylinder):
        along = along[:, 2:]
    return bool(along.max() > 1.0 - ALONG_AXIS)


@cache
def _all_round() -> Array:
    """Return directions spread evenly over the sphere, (n, 3): a golden spiral."""
    steps = np.arange(_SAMPLES) + 0.5
    height = 1.0 - 2.0 * steps / _SAMPLES
    angle = np.pi * (3.0 - np.sqrt(5.0)) * steps
    width = np.sqrt(1.0 - height**2)
    return np.column_stack([width * np.cos(angle), width * np.sin(angle), height])


def _square_to_axes(solid: Box | Cylinder) -> Array:
    """Return directions all round each straight edge of a solid, (n, 3).

    What is long stands out most sharply there: a ridge that is hard to follow uphill.
    """
    axes = np.asarray(solid.frame.axes)
    edges = axes if isinstance(solid, Box) else axes[2:]
    angles = np.linspace(0.0, 2.0 * np.pi, _ROUND_AN_EDGE, endpoint=False)
    circle = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return (circle @ _across(edges)).reshape(-1, 3)


def _uphill(
    first: Box | Cylinder, second: Box | Cylinder, starts: Array, values: Array
) -> tuple[Array, float]:
    """Return the direction of the largest separation near the starts, and its value."""
    best, reached = starts.copy(), values.copy()
    turns = np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False)
    step = _FIRST_STEP
    rows = np.arange(len(best))
    while step > _LAST_STEP:
        across = _across(best)
        shifts = np.einsum(
            "kt,akc->atc", np.stack([np.cos(turns), np.sin(turns)]), across
        )
        tried = best[:, None, :] + step * shifts
        tried /= np.linalg.norm(tried, axis=2, keepdims=True)
        found = _apart(first, second, tried.reshape(-1, 3)).reshape(tried.shape[:2])
        pick = found.argmax(axis=1)
        better = found[rows, pick] > reached
        best[better] = tried[rows, pick][better]
        reached[better] = found[rows, pick][better]
        turns += 1.0  # a ridge that lies between two turns is met by the next ones
        step *= _SHRINK
    winner = int(reached.argmax())
    return best[winner], float(reached[winner])


def _across(directions: Array) -> Array:
    """Return two unit vectors square to each direction and each other, (n, 2, 3)."""
    helper = np.eye(3)[np.abs(directions).argmin(axis=1)]
    u = np.cross(helper, directions)
    u /= np.linalg.norm(u, axis=1, keepdims=True)
    return np.stack([u, np.cross(directions, u)], axis=1)
