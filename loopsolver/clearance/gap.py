"""Exact least gap of a tube's centre line, and to what; and whether bodies stand clear."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.errors import GeometryError
from loopsolver.geometry.curves import Curves
from loopsolver.geometry.distance import nearest_points
from loopsolver.geometry.nearest import nearest_solids
from loopsolver.geometry.separation import stand_apart
from loopsolver.geometry.solid_set import SolidSet, stack
from loopsolver.geometry.solids import Cylinder, Solid, bounds, boxes_meet
from loopsolver.geometry.vectors import Indices, Point, difference, point
from loopsolver.tolerances import GAP_RESOLUTION, UNIT_LENGTH
from loopsolver.tube.centreline import BendArc, Centreline, Straight, pieces


def is_clear(gap: float, clearance: float) -> bool:
    """Return whether a gap is as large as a clearance, as finely as gaps are measured.

    Whatever judges a tube asks this: then none that passes in one place touches in
    another. The search draws tubes to the clearance itself, so that they pass.

    Parameters
    ----------
    gap, clearance : float [mm]
        A clearance of 0 where things just must not stand in each other.

    >>> is_clear(2.99995, 3.0), is_clear(2.9998, 3.0)
    (True, False)
    """
    return gap >= clearance - GAP_RESOLUTION


def stands_clear(body: Cylinder, obstacles: Sequence[Obstacle], *, by: float) -> bool:
    """Return whether a flat-ended cylinder keeps a distance from every obstacle.

    Parameters
    ----------
    body : Cylinder
    obstacles : sequence of Obstacle
    by : float [mm]
        The least distance; negative where the body may go so far into them.
    """
    box = bounds(body)
    return all(
        keep_clear(obstacle.solid, body, by=by)
        for obstacle in obstacles
        if boxes_meet(bounds(obstacle.solid), box, within=by)
    )


def between_fittings(clearance: float, *, is_elbow: bool) -> float:
    """Return how far fittings keep apart: elbows the clearance, others must not meet [mm].

    Parameters
    ----------
    clearance : float [mm]
    is_elbow : bool
        Whether either of the two is one.
    """
    return clearance if is_elbow else 0.0


def keep_clear(first: Solid, second: Solid, *, by: float) -> bool:
    """Return whether two bodies keep a distance, as finely as `is_clear` tells."""
    return stand_apart(first, second, by=by - GAP_RESOLUTION)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ObstacleSet:
    """Obstacles laid out once, to measure many routes against.

    Attributes
    ----------
    obstacles : tuple of Obstacle
    solids : SolidSet
        Their solids, in the same order.
    name_ids : int array
        Equal for obstacles of one name, counted in the order of first appearance.
    """

    obstacles: tuple[Obstacle, ...]
    solids: SolidSet
    name_ids: Indices


def prepare(obstacles: Sequence[Obstacle]) -> ObstacleSet:
    """Return obstacles laid out for measuring many routes against them.

    Raises
    ------
    GeometryError
        If there are none.
    """
    if not obstacles:
        msg = "a gap needs at least one obstacle, found none"
        raise GeometryError(msg)
    ids: dict[str, int] = {}
    name_ids = [ids.setdefault(obstacle.name, len(ids)) for obstacle in obstacles]
    return ObstacleSet(
        obstacles=tuple(obstacles),
        solids=stack([obstacle.solid for obstacle in obstacles]),
        name_ids=np.array(name_ids, dtype=np.intp),
    )


def _prepared(obstacles: Sequence[Obstacle] | ObstacleSet) -> ObstacleSet:
    """Return obstacles as a set, laid out now unless they are already."""
    return obstacles if isinstance(obstacles, ObstacleSet) else prepare(obstacles)


def least_gap(
    centreline: Centreline,
    obstacles: Sequence[Obstacle] | ObstacleSet,
    *,
    tube_radius: float,
    skip_start: float = 0.0,
    skip_end: float = 0.0,
) -> Gap:
    """Return the least gap between a tube and a set of obstacles.

    Parameters
    ----------
    centreline : Centreline
    obstacles : sequence of Obstacle, at least one, or ObstacleSet
        To measure many routes against the same obstacles, `prepare` them once.
    tube_radius : float [mm]
    skip_start, skip_end : float [mm]
        Length at either end that is not looked at: what lies in the tube's own fitting.
        Where they leave nothing over, the point where they meet is looked at.

    Returns
    -------
    Gap
        True to `tolerances.GAP_RESOLUTION`; the first of several that are equally near.

    Raises
    ------
    GeometryError
        If there is no obstacle, or as `tube.centreline.pieces` does.
    """
    among = _prepared(obstacles)
    looked_at = curves_of(centreline, skip_start=skip_start, skip_end=skip_end)
    (gap,) = _gaps(looked_at, among, np.zeros_like(among.name_ids), tube_radius)
    return gap


def least_gaps(
    centreline: Centreline,
    obstacles: Sequence[Obstacle] | ObstacleSet,
    *,
    tube_radius: float,
    skip_start: float = 0.0,
    skip_end: float = 0.0,
) -> dict[str, Gap]:
    """Return the least gap between a tube and each obstacle by name, nearest first.

    Obstacles of one name count as one thing. Parameters, accuracy and errors are those
    of `least_gap`.
    """
    among = _prepared(obstacles)
    looked_at = curves_of(centreline, skip_start=skip_start, skip_end=skip_end)
    gaps = _gaps(looked_at, among, among.name_ids, tube_radius)
    return {gap.name: gap for gap in sorted(gaps, key=lambda gap: gap.distance)}


def _gaps(
    curves: Curves, among: ObstacleSet, groups: Indices, tube_radius: float
) -> list[Gap]:
    """Return the least gap to each group of obstacles."""
    nearest = nearest_solids(
        curves, among.solids, groups=groups, resolution=GAP_RESOLUTION
    )
    return [
        Gap(
            distance=distance - tube_radius,
            name=among.obstacles[index].name,
            at=point(at),
        )
        for distance, index, at in zip(
            nearest.distance.tolist(),
            nearest.solid.tolist(),
            nearest.point.tolist(),
            strict=True,
        )
    ]


def tube_gap(
    first: Centreline,
    second: Centreline,
    *,
    first_radius: float,
    second_radius: float,
) -> tuple[float, Point, Point]:
    """Return the gap between two tubes [mm] and the nearest points of their centre lines.

    Negative where they run into each other. True to `tolerances.GAP_RESOLUTION`.

    Parameters
    ----------
    first, second : Centreline
    first_radius, second_radius : float
        Of the tubes' outer surfaces [mm].

    Raises
    ------
    GeometryError
        As `tube.centreline.pieces` does.
    """
    meeting = nearest_points(
        curves_of(first), curves_of(second), resolution=GAP_RESOLUTION
    )
    gap = meeting.distance - first_radius - second_radius
    return gap, point(meeting.on_first), point(meeting.on_second)


def curves_of(
    centreline: Centreline, *, skip_start: float = 0.0, skip_end: float = 0.0
) -> Curves:
    """Return a centre line as arrays, less a length at either end.

    Raises
    ------
    GeometryError
        As `tube.centreline.pieces` does.
    """
    columns = zip(*(_row(piece) for piece in pieces(centreline)), strict=True)
    origin, first, second, stop, radius = (np.array(c, dtype=float) for c in columns)
    is_bent = radius > 0.0
    per_step = np.where(is_bent, radius, 1.0)
    ends = np.cumsum(stop * per_step)
    begins = ends - stop * per_step
    length = float(ends[-1])
    low, high = min(skip_start, length), max(length - skip_end, 0.0)
    if low > high:
        low = high = 0.5 * (low + high)
    return Curves(
        origin=origin,
        first=first,
        second=second,
        start=np.clip((low - begins) / per_step, 0.0, stop),
        stop=np.clip((high - begins) / per_step, 0.0, stop),
        is_bent=is_bent,
    ).pick(np.flatnonzero((begins <= high) & (ends >= low)))


def _row(piece: Straight | BendArc) -> tuple[Point, Point, Point, float, float]:
    """Return a piece as `geometry.curves` has it, from its start on.

    That is origin, first, second and stop; then the bend's radius, 0 of a straight [mm].
    """
    if isinstance(piece, BendArc):
        first, second = _scaled(piece.radius, piece.u), _scaled(piece.radius, piece.v)
        return piece.centre, first, second, piece.angle, piece.radius
    length = math.dist(piece.start, piece.end)
    along = 1.0 / length if length > UNIT_LENGTH else 0.0
    direction = _scaled(along, difference(piece.end, piece.start))
    return piece.start, direction, (0.0, 0.0, 0.0), length, 0.0


def _scaled(by: float, vector: Point) -> Point:
    return by * vector[0], by * vector[1], by * vector[2]
