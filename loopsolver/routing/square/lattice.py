"""The lattice of a run: an orthogonal frame, and the coordinates along its axes.

Coordinates are not evenly spaced: both ports' own, those moved by the least legs, the
obstacles' faces grown by what the centre line must keep from them, and a fill.

References
----------
Lines through all that a shortest square route can lie against: M. Hanan, On Steiner's
problem with rectilinear distance, SIAM Journal on Applied Mathematics 14 (1966). From
memory. The least legs, and the fill for what they make of it, are our own addition.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.clearance.shadows import Coordinates, kept_bounds
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import HalfSpace, Solid
from loopsolver.geometry.vectors import Array, Point, axis_name, point
from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.tolerances import SAME_COORDINATE, SQUARE_COSINE, TOUCH


@dataclass(frozen=True, slots=True, kw_only=True)
class SquareRun:
    """A run seen in the frame of its lattice.

    Attributes
    ----------
    problem : RouteProblem
        The run with ends and solids given in `frame`, so that both ends' directions lie
        along its axes.
    frame : Frame
        The lattice's frame in the case.
    """

    problem: RouteProblem
    frame: Frame

    @property
    def reach(self) -> float:
        """What the centre line must keep from every obstacle [mm]."""
        return self.problem.reach

    @property
    def tangent(self) -> float:
        """Tangent length of a square bend: its radius [mm]."""
        return self.problem.bend_radius

    @property
    def least_leg(self) -> float:
        """Least distance between two vertices [mm]."""
        return 2.0 * self.tangent + self.problem.straight_between_bends


def square_run(problem: RouteProblem) -> SquareRun | None:
    """Return the run in a frame that both ends lie square in, or None if none exists."""
    frame = _frame(problem.start.direction, problem.goal.direction)
    if frame is None:
        return None
    if frame == Frame():
        return SquareRun(problem=problem, frame=frame)
    seen = replace(
        problem,
        start=_end_inside(problem.start, frame),
        goal=_end_inside(problem.goal, frame),
        obstacles=tuple(_obstacle_inside(o, frame) for o in problem.obstacles),
        own_fittings=tuple(_obstacle_inside(o, frame) for o in problem.own_fittings),
    )
    return SquareRun(problem=seen, frame=frame)


def _frame(start: Point, goal: Point) -> Frame | None:
    """Return a frame that holds both directions along axes; the case's own if it can."""
    if axis_name(start) and axis_name(goal):
        return Frame()
    x, other = np.array(start), np.array(goal)
    if abs(x @ other) > SQUARE_COSINE:
        if np.linalg.norm(np.cross(x, other)) > SQUARE_COSINE:
            return None
        other = np.eye(3)[int(np.argmin(np.abs(x)))]
    y = other - (other @ x) * x
    y /= np.linalg.norm(y)
    return Frame.from_rotation((0.0, 0.0, 0.0), np.column_stack([x, y, np.cross(x, y)]))


def _into(vector: Point, frame: Frame) -> Point:
    return point(frame.rotation.T @ np.asarray(vector))


def _rounded(vector: Point) -> Point:
    """Return a direction along an axis without the rounding that a turn left."""
    return point(np.round(np.asarray(vector)))


def _end_inside(end: TubeEnd, frame: Frame) -> TubeEnd:
    return replace(
        end,
        seat=_into(end.seat, frame),
        direction=_rounded(_into(end.direction, frame)),
    )


def _obstacle_inside(obstacle: Obstacle, frame: Frame) -> Obstacle:
    return replace(obstacle, solid=_solid_inside(obstacle.solid, frame))


def _solid_inside(solid: Solid, frame: Frame) -> Solid:
    if isinstance(solid, HalfSpace):
        return replace(
            solid, point=_into(solid.point, frame), normal=_into(solid.normal, frame)
        )
    turned = Frame.from_rotation(
        _into(solid.frame.origin, frame), frame.rotation.T @ solid.frame.rotation
    )
    return replace(solid, frame=turned)


def least_bends(run: SquareRun) -> int:
    """Return a bend count below which no square tube can join the two ends.

    What the ports' axes ask for if nothing were in the way: none where they are one
    line and face each other, one where they cross at a right angle, two where a leg
    square to both joins them, otherwise three.
    """
    start, goal = run.problem.start, run.problem.goal
    miss = [abs(a - b) > TOUCH for a, b in zip(start.seat, goal.seat, strict=True)]
    first = int(np.argmax(np.abs(start.direction)))
    last = int(np.argmax(np.abs(goal.direction)))
    apart = [miss[axis] for axis in range(3) if axis not in (first, last)]
    if first != last:
        return 2 if apart[0] else 1
    facing = start.direction[first] != goal.direction[first]
    if not any(apart):
        return 0 if facing else 3
    return 3 if all(apart) else 2


def lattice_coordinates(run: SquareRun) -> Coordinates:
    """Return the sorted coordinates along the three axes of the run's lattice [mm]."""
    effort = run.problem.effort.square
    extent = _extent(run)
    kept = [np.unique(_port_coordinates(run, axis)) for axis in range(3)]
    boxes = np.array(
        [
            kept_bounds(obstacle.solid)
            for obstacle in run.problem.obstacles
            if not isinstance(obstacle.solid, HalfSpace) and not obstacle.lies_between
        ]
    ).reshape(-1, 2, 3)
    for step, together in _thrift(effort.fill):
        axes = [
            _filled(
                kept[axis],
                _faces(boxes, run, axis, together),
                extent[:, axis],
                step=step,
            )
            for axis in range(3)
        ]
        if math.prod(len(values) for values in axes) <= effort.most_nodes:
            break
    return axes[0], axes[1], axes[2]


def _thrift(fill: float) -> Iterator[tuple[float, float]]:
    """Yield what to try in turn to save nodes: fill step, and faces drawn together [mm].

    Ends with steps so wide that the largest case a scene may have stays small.
    """
    yield fill, 0.0
    for step in (fill, 2.0 * fill, 4.0 * fill, 8.0 * fill):
        for share in (1 / 24, 1 / 12, 1 / 6, 1 / 3, 2 / 3, 1.0):
            yield step, share * step


def _extent(run: SquareRun) -> Array:
    """Return the lowest and highest coordinates a centre line may have, (2, 3) [mm]."""
    corners = np.array(list(itertools.product(*zip(*run.problem.room, strict=True))))
    seen = corners @ run.frame.rotation
    return np.array([seen.min(axis=0) + run.reach, seen.max(axis=0) - run.reach])


def _port_coordinates(run: SquareRun, axis: int) -> list[float]:
    """Return the coordinates that the two ports and the least legs give on one axis."""
    values: list[float] = []
    for end in (run.problem.start, run.problem.goal):
        base = end.seat[axis]
        along = end.direction[axis]
        values.append(base)
        if along:
            base += along * (end.straight + run.tangent)
        values += [base + steps * run.least_leg for steps in (-2, -1, 0, 1, 2)]
    return values


def _faces(boxes: Array, run: SquareRun, axis: int, together: float) -> Array:
    """Return the grown faces on one axis; those nearer than `together` become one.

    Of faces drawn together the outermost stays, which is clear of all of them.
    """
    low = _thinned(-(boxes[:, 0, axis] - run.reach), together)
    high = _thinned(boxes[:, 1, axis] + run.reach, together)
    return np.concatenate([-low, high])


def _thinned(values: Array, together: float) -> Array:
    """Return values in order, each further than `together` from the next one kept.

    Goes from the greatest down, so that the greatest of neighbours stays.
    """
    kept: list[float] = []
    for value in np.unique(values)[::-1]:
        if not kept or kept[-1] - value > together:
            kept.append(float(value))
    return np.array(kept)


def _filled(kept: Array, faces: Array, extent: Array, *, step: float) -> Array:
    """Return port coordinates, faces and fill within the extent, without twins.

    The ports' own coordinates stay even outside the extent.
    """
    inside = faces[(faces >= extent[0]) & (faces <= extent[1])]
    outer = np.clip(kept, extent[0], extent[1])
    values = np.unique(np.concatenate([kept, inside, extent, outer]))
    values = values[_apart(values, set(kept.tolist()))]
    gaps = np.diff(values)
    pieces = np.maximum(np.ceil(gaps / step).astype(int), 1)
    first = np.repeat(np.cumsum(pieces) - pieces, pieces)
    number, of = np.arange(pieces.sum()) - first, np.repeat(pieces, pieces)
    between = np.repeat(values[:-1], pieces) + np.repeat(gaps, pieces) * number / of
    return np.concatenate([between, values[-1:]])


def _apart(values: Array, kept: set[float]) -> list[int]:
    """Return indices of sorted values less twins that rounding alone keeps apart."""
    if (np.diff(values) >= SAME_COORDINATE).all():
        return list(range(len(values)))
    chosen: list[int] = []
    for index, value in enumerate(values):
        if chosen and value - values[chosen[-1]] < SAME_COORDINATE:
            if float(value) in kept:
                chosen[-1] = index
            continue
        chosen.append(index)
    return chosen
