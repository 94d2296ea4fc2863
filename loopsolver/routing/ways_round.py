"""Ways round: on which sides of the bodies in a case two tubes pass.

Two tubes between the same ends are one way round if one can be moved into the other
without passing through a body. Only a body from wall to wall, a post, parts ways in this
sense: whatever else stands in the case a tube could be lifted over. To a builder it is
another way round all the same where a tube passes a memory bar on its other side.

Claimed is therefore, of bodies as they stand along the case's axes:

- Posts are told exactly: tubes are the same way round if and only if they cross the half
  planes from the posts' axes to a wall in the same order, crossings there and back struck
  out. Exact for posts that are parallel, and for others if no half plane meets a post of
  another direction; the half planes are laid so that as few do as can be.
- Of another body its middle lines along x, y and z stand for it, and go on to a wall or
  another body where no tube fits between. Two tubes pass it on different sides if the
  surface between them, ruled between points at equal shares of their lengths, crosses
  such a line more often to one side than to the other, where both tubes are beside the
  line and not beyond its end. So a tube that climbs over a body is no other way round
  than one beside it, and high above a low body there is one way only.

References
----------
S. Bhattacharya, M. Likhachev and V. Kumar, Topological constraints in search-based robot
path planning, Autonomous Robots 33 (2012), for words of crossings; the linking number of
a loop and a line as a count of crossings: C. F. Gauss, Werke V, 605 (1833). From memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from loopsolver.clearance.obstacles import Obstacle, walls
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import (
    Box,
    Cylinder,
    HalfSpace,
    Mesh,
    bounds,
    box_round,
    signed_distance,
)
from loopsolver.geometry.vectors import Array, Flags, Indices, point
from loopsolver.scene.model import Scene
from loopsolver.tolerances import NO_TIE, SAME_WAY_ROUND
from loopsolver.tube.centreline import Centreline, sample

POINT_SPACING: Final = 5.0
"""How far apart the points lie by which tubes are compared [mm]: half a tube's breadth."""

ENDLESS: Final = 1e4
"""What closes a way reaches so far, beyond every wall [mm]."""

SHARES: Final = 97
"""At so many shares of their lengths two tubes are held against each other."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Poles:
    """Lines through bodies, each along an axis of the case, that no tube can cross.

    Attributes
    ----------
    names : tuple of str
        Of their bodies.
    boxes : array (n, 2, 3) [mm]
        Lowest and highest x, y, z of their bodies.
    axis : int array (n,)
        Along which they lie.
    middle : array (n, 3) [mm]
    low, high : array (n,) [mm]
        From where to where along their axis; infinite where they end at a wall.
    """

    names: tuple[str, ...]
    boxes: Array
    axis: Indices
    middle: Array
    low: Array
    high: Array

    @property
    def is_post(self) -> Flags:
        """Which of them go from wall to wall."""
        return np.isinf(self.low) & np.isinf(self.high)


def _pole_ends(
    boxes: Array, wall: float, halves: Array, is_on: Flags, reach: float
) -> Array:
    """Return where poles along one axis end: where there is no room for a tube [mm].

    Parameters
    ----------
    boxes : array (n, 2)
        From where to where the bodies reach along the axis.
    wall : float
        Where the nearest wall beyond them lies; infinite where there is none.
    halves : array (n,)
        How far each body reaches from its middle.
    is_on : bool array (n, n)
        Which other bodies each one's line meets.
    """
    starts, stops = boxes.min(axis=1), boxes.max(axis=1)
    ends = boxes.mean(axis=1) + halves
    is_closing = (
        is_on & (starts < ends[:, None] + 2.0 * reach) & (stops > ends[:, None])
    )
    furthest = np.where(is_closing, starts, ends[:, None]).max(axis=1, initial=-np.inf)
    return np.where(wall - ends < 2.0 * reach, np.inf, np.maximum(ends, furthest))


@lru_cache(maxsize=8)
def poles_of(obstacles: tuple[Obstacle, ...], *, reach: float) -> Poles:
    """Return the poles of what stands in a case.

    Parameters
    ----------
    obstacles : tuple of Obstacle
        Half-spaces among them are walls, known where they are square to an axis.
    reach : float
        What a centre line keeps from a body [mm].
    """
    solids = [
        (o.name, o.solid) for o in obstacles if not isinstance(o.solid, HalfSpace)
    ]
    boxes = np.array([bounds(solid) for _, solid in solids]).reshape(-1, 2, 3)
    behind = np.array(
        [bounds(o.solid) for o in obstacles if isinstance(o.solid, HalfSpace)]
    ).reshape(-1, 2, 3)
    middles = boxes.mean(axis=1)
    halves = np.array([_halves(solid) for _, solid in solids]).reshape(-1, 3)
    ends = np.empty((len(solids), 3, 2))
    for axis in range(3):
        is_on = _on_lines(boxes, axis)
        for side, sign in enumerate((-1.0, 1.0)):
            walls_at = (sign * behind[:, :, axis]).min(axis=1, initial=np.inf)
            wall = walls_at.min(where=np.isfinite(walls_at), initial=np.inf)
            found = _pole_ends(
                sign * boxes[:, :, axis], wall, halves[:, axis], is_on, reach
            )
            ends[:, axis, side] = sign * found
    which, along = np.nonzero(ends[..., 1] - ends[..., 0] > SAME_WAY_ROUND)
    # Of poles in one line none comes to lie on another's half plane.
    aside = NO_TIE * (1.0 + np.arange(len(which)))[:, None] * [1.0, 2.0**0.5, 3.0**0.5]
    return Poles(
        names=tuple(solids[body][0] for body in which.tolist()),
        boxes=boxes[which],
        axis=along,
        middle=middles[which] + aside,
        low=ends[which, along, 0],
        high=ends[which, along, 1],
    )


def poles_in(scene: Scene) -> Poles:
    """Return the poles of a scene's components and keep-outs, under their names."""
    every = [
        Obstacle(name=name, solid=body.solid)
        for name, body in (
            *((part.name, body) for part in scene.components for body in part.bodies),
            *((space.name, space) for space in scene.keep_outs),
        )
    ]
    return poles_of((*every, *walls(scene)), reach=scene.reach)


def _halves(solid: Box | Cylinder | Mesh) -> Array:
    """Return how far a solid reaches from its middle along the case's axes, (3,) [mm].

    A mesh counts as the upright box round it.
    """
    if isinstance(solid, Mesh):
        return np.asarray(box_round(solid).size) / 2.0
    within = np.abs(np.asarray(solid.frame.axes))
    if isinstance(solid, Box):
        half = np.asarray(solid.size) / 2.0
    else:
        half = np.array([solid.diameter, solid.height]) / 2.0
        within = np.stack([np.hypot(within[0], within[1]), within[2]])
    reached = np.full_like(within, np.inf)
    np.divide(half[:, None], within, where=within > NO_TIE, out=reached)
    found: Array = reached.min(axis=0)
    return found


def _on_lines(boxes: Array, axis: int) -> Flags:
    """Return which other bodies each one's line along an axis meets, (n, n)."""
    middles = boxes.mean(axis=1)[:, None]
    meets = (boxes[None, :, 0] <= middles) & (middles <= boxes[None, :, 1])
    found: Flags = np.delete(meets, axis, axis=2).all(axis=2)
    return found & ~np.eye(len(boxes), dtype=np.bool_)


@lru_cache(maxsize=512)
def _points(centreline: Centreline) -> Array:
    """Return the points of a tube by which it is compared with others, (n, 3) [mm]."""
    return sample(centreline, spacing=POINT_SPACING)


def is_near(one: Centreline, other: Centreline, *, within: float) -> bool:
    """Return whether two tubes lie everywhere within a distance of each other [mm].

    Both ways: the distance of Hausdorff. Tubes further apart by less than half the
    square of POINT_SPACING over eight times the distance may be told to be near.
    """
    apart = np.linalg.norm(_points(one)[:, None] - _points(other)[None], axis=2)
    furthest = max(apart.min(axis=0).max(), apart.min(axis=1).max())
    return bool(furthest <= np.hypot(within, POINT_SPACING / 2.0))


def passed_otherwise(
    one: Centreline, other: Centreline, poles: Poles
) -> tuple[str, ...]:
    """Return the bodies that two tubes between the same ends pass on different sides.

    None where they are the same way round.

    Parameters
    ----------
    one, other : Centreline
    poles : Poles
    """
    back = [-letter for letter in reversed(word(other, poles))]
    differ = {abs(letter) - 1 for letter in _reduced([*word(one, poles), *back])}
    differ |= set(np.flatnonzero(_times_crossed(one, other, poles)).tolist())
    return tuple(dict.fromkeys(poles.names[number] for number in sorted(differ)))


def closings(centreline: Centreline, poles: Poles) -> Iterator[Box]:
    """Yield plates that close a tube's way beside one body each, those of posts first.

    From the middle of a body out to a wall, across the tube and as long as its pole. The
    body first to whose other side the tube has the least to move. Left out are plates
    that would stand in the tube's ends.

    Parameters
    ----------
    centreline : Centreline
    poles : Poles
    """
    points = _points(centreline)
    found: list[tuple[bool, float, int, int, float]] = []
    for number, axis in enumerate(poles.axis.tolist()):
        aside = points - poles.middle[number]
        within = (poles.low[number] < points) & (points < poles.high[number])
        for out in {0, 1, 2} - {axis}:
            step = np.flatnonzero(np.diff(aside[:, 3 - axis - out] > 0.0))
            half = np.ptp(poles.boxes[number, :, out]) / 2.0
            found += [
                (not poles.is_post[number], abs(far) + half, number, out, far)
                for far in aside[step[within[step, axis]], out].tolist()
            ]
    told: set[str] = set()
    for _, _, number, out, far in sorted(found):
        plate = _plate(poles, number, out, math.copysign(ENDLESS, far))
        is_clear = (
            signed_distance(plate, points[[0, 1, -2, -1]]).min() > 2.0 * POINT_SPACING
        )
        if is_clear and poles.names[number] not in told:
            told.add(poles.names[number])
            yield plate


def _plate(poles: Poles, number: int, out: int, by: float) -> Box:
    """Return a plate from a pole's middle out along an axis, as long as the pole."""
    axis, middle = int(poles.axis[number]), poles.middle[number]
    corners = np.stack([middle - POINT_SPACING / 4.0, middle + POINT_SPACING / 4.0])
    corners[:, axis] = poles.low[number], poles.high[number]
    corners[:, out] = sorted((middle[out], middle[out] + by))
    corners = np.clip(corners, -ENDLESS, ENDLESS)
    frame = Frame(origin=point(corners.mean(axis=0)))
    return Box(frame=frame, size=point(np.ptp(corners, axis=0)))


# ------------------------------------------------------------------------------ posts


@lru_cache(maxsize=512)
def word(centreline: Centreline, poles: Poles) -> tuple[int, ...]:
    """Return how a tube crosses the half planes of the posts, crossing by crossing.

    The number of the pole, counted from 1; negative where it goes the other way.
    """
    points = _points(centreline)
    found: list[tuple[float, int]] = []
    for axis in range(3):
        which = np.flatnonzero(poles.is_post & (poles.axis == axis))
        if len(which):
            out, sign = _free_side(poles, axis)
            across = 3 - axis - out
            aside = points[:, None, across] - poles.middle[which, across]
            begin, end = aside[:-1], aside[1:]
            step, pole = np.nonzero((begin > 0.0) != (end > 0.0))
            share = begin[step, pole] / (begin - end)[step, pole]
            at = points[step, out] + share * (points[step + 1, out] - points[step, out])
            hit = sign * (at - poles.middle[which[pole], out]) > 0.0
            ways = np.where(end[step, pole] > 0.0, 1, -1) * (which[pole] + 1)
            found += zip((step + share)[hit].tolist(), ways[hit].tolist(), strict=True)
    return _reduced([letter for _, letter in sorted(found)])


def _free_side(poles: Poles, axis: int) -> tuple[int, float]:
    """Return towards which side the half planes of the posts along an axis go.

    Where the fewest posts of other directions pierce them.
    """
    own = poles.middle[poles.is_post & (poles.axis == axis)]

    def pierced(side: tuple[int, float]) -> int:
        out, sign = side
        across = poles.is_post & (poles.axis == 3 - axis - out)
        beyond = sign * (poles.middle[across, out][:, None] - own[:, out]) > 0.0
        return int(np.count_nonzero(beyond))

    sides = [(out, sign) for out in range(3) if out != axis for sign in (1.0, -1.0)]
    return min(sides, key=pierced)


def _reduced(letters: Sequence[int]) -> tuple[int, ...]:
    """Return a word with every crossing struck out that is undone by the next one.

    >>> _reduced([1, 2, -2, 3])
    (1, 3)
    """
    kept: list[int] = []
    for letter in letters:
        if kept and kept[-1] == -letter:
            kept.pop()
        else:
            kept.append(letter)
    return tuple(kept)


# ----------------------------------------------------------------------- other bodies


def _times_crossed(one: Centreline, other: Centreline, poles: Poles) -> Indices:
    """Return how often the surface between two tubes crosses each pole; 0 for posts.

    Crossings to one side less those to the other, (n,).
    """
    a, b = _at_shares(_points(one)), _at_shares(_points(other))
    corners = np.concatenate(
        [np.stack([a[:-1], a[1:], b[:-1]]), np.stack([a[1:], b[1:], b[:-1]])], axis=1
    )
    lowest, highest = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
    times = np.zeros(len(poles.names), dtype=np.intp)
    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        # A surface crosses no line that is beside all of it.
        is_within = (lowest <= poles.middle) & (poles.middle <= highest)
        is_met = is_within[:, u] & is_within[:, v]
        which = np.flatnonzero(~poles.is_post & (poles.axis == axis) & is_met)
        if not len(which):
            continue
        x = corners[None, ..., u] - poles.middle[which, u][:, None, None]
        y = corners[None, ..., v] - poles.middle[which, v][:, None, None]
        facing = x[:, [1, 2, 0]] * y[:, [2, 0, 1]] - y[:, [1, 2, 0]] * x[:, [2, 0, 1]]
        turn = (facing > 0.0).all(axis=1).astype(np.intp) - (facing < 0.0).all(axis=1)
        along = corners[None, ..., axis]
        low, high = (each[which, None, None] for each in (poles.low, poles.high))
        is_beside = ((low < along) & (along < high)).all(axis=1)
        times[which] = (turn * is_beside).sum(axis=1)
    return times


def _at_shares(points: Array) -> Array:
    """Return points at equal shares of a tube's length, (SHARES, 3) [mm]."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    at = np.linspace(0.0, along[-1], SHARES)
    return np.stack([np.interp(at, along, points[:, c]) for c in range(3)], axis=1)
