"""Routes with three or four bends of any angle, over vertices spread through the case.

The first vertex lies on the one port's axis, the last on the other's; between them one
or two lie on the nodes of a coarse grid. What is found is a start for shortening,
near enough to closed in all but the last millimetres of room.

References
----------
Nodes that are even instead of random, joined where the straight between them is free: S.
M. LaValle, M. S. Branicky and S. R. Lindemann, On the relationship between classical grid
search and probabilistic roadmaps, International Journal of Robotics Research 23 (2004).
Here only routes of two or three legs between the axes are joined.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopsolver.clearance.distance_field import DistanceField
from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.routing.control import heed_time
from loopsolver.routing.effort import Effort
from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.tolerances import ORDER_DECIMALS, UNIT_LENGTH
from loopsolver.tube.setting_out import take_outs


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a route may do: bends that are worth having [rad], least lengths [mm], room.

    `reach` is what the search asks for: by `lacking` less than the centre line must keep.
    With `angles` [rad] all bends are near one of these.
    """

    radius: float
    slightest: float
    sharpest: float
    straight: float
    field: DistanceField
    reach: float
    effort: Effort
    angles: tuple[float, ...] = ()

    @property
    def lacking(self) -> float:
        """What routes may lack in room or in a straight [mm]."""
        return self.effort.shortlist.most_lacking

    def outs(self, angle: Array) -> Array:
        """Return take-outs [mm]; inf where a bend is too sharp or too slight."""
        fits = (angle >= self.slightest) & (angle <= self.sharpest)
        if self.angles:
            off = np.abs(angle[..., None] - np.array(self.angles)).min(axis=-1)
            fits = off <= math.radians(self.effort.laying_out.near_listed_deg)
        outs: Array = np.where(fits, take_outs(self.radius, angle), np.inf)
        return outs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fan:
    """Legs from places on a port's axis to nodes.

    Attributes
    ----------
    vertices : array (s, 3) [mm]
    legs : array (s, n) [mm]
        Length of tube from the seat over the vertex to the node; inf where there is no
        way.
    directions : array (s, n, 3)
        Of the legs from vertex to node.
    outs : array (s, n) [mm]
        Take-out of the bend on the axis.
    """

    vertices: Array
    legs: Array
    directions: Array
    outs: Array


def grid_routes(problem: RouteProblem, *, bends: int) -> Array:
    """Return routes of three or four bends, (n, bends + 2, 3) [mm], shorter ones first.

    Parameters
    ----------
    problem : RouteProblem
    bends : int
        3 or 4.
    """
    limits = limits_of(problem, bends)
    effort = problem.effort.laying_out
    step = effort.one_waypoint_step if bends == 3 else effort.two_waypoints_step
    nodes = _nodes(limits, step)
    fans = [fan(end, nodes, limits) for end in (problem.start, problem.goal)]
    if not len(nodes) or any(not len(fan.vertices) for fan in fans):
        return np.empty((0, bends + 2, 3))
    over = _over_one_node if bends == 3 else _over_two_nodes
    inner, lengths = over(nodes, fans[0], fans[1], limits)
    best = np.argsort(np.round(lengths, ORDER_DECIMALS), kind="stable")[
        : effort.most_over_waypoints
    ]
    ends = [
        np.broadcast_to(np.asarray(end.seat), (len(best), 1, 3))
        for end in (problem.start, problem.goal)
    ]
    return np.concatenate([ends[0], inner[best], ends[1]], axis=1)


def limits_of(problem: RouteProblem, bends: int) -> Limits:
    """Return what routes of so many bends may do."""
    return Limits(
        radius=problem.bend_radius,
        slightest=math.radians(problem.least_bend_deg(bends)),
        sharpest=math.radians(problem.bend_range[1]),
        straight=problem.straight_between_bends,
        field=problem.field,
        reach=problem.reach - problem.effort.shortlist.most_lacking,
        effort=problem.effort,
    )


def _nodes(limits: Limits, spacing: float) -> Array:
    """Return the nodes of a grid at which a vertex may lie, (n, 3) [mm]."""
    field = limits.field
    every = max(1, round(spacing / field.step))
    begin = every // 2
    values = field.values[begin::every, begin::every, begin::every]
    corner = limits.effort.laying_out.waypoint_corner
    open_nodes = np.argwhere(values >= limits.reach + limits.lacking - corner)
    nodes: Array = field.low + field.step * (begin + every * open_nodes)
    return nodes


def fan(end: TubeEnd, nodes: Array, limits: Limits) -> Fan:
    """Return the legs from one port's axis to all nodes."""
    seat, along = np.asarray(end.seat), np.asarray(end.direction)
    free = end.covered + limits.field.free_along(
        (seat + end.covered * along)[None], along[None], reach=limits.reach
    )
    outward = limits.effort.laying_out.waypoint_outward
    on_axis = end.straight + np.array(outward, dtype=float)
    vertices = seat + on_axis[:, None] * along
    way = nodes - vertices[:, None]
    legs = np.maximum(np.linalg.norm(way, axis=2), UNIT_LENGTH)
    directions = way / legs[..., None]
    angles = np.arccos(np.clip(directions @ along, -1.0, 1.0))
    outs = limits.outs(angles)
    first = on_axis[:, None] - outs
    kept = (
        (first >= end.straight - limits.lacking)
        & (first <= free[0])
        & (outs <= legs - limits.straight)
    )
    if free[0] < end.straight - limits.lacking:
        kept[:] = False
    i, j = np.nonzero(kept)
    kept[i, j] = with_room(limits, vertices[i], nodes[j], outs[i, j])
    with np.errstate(invalid="ignore"):
        tube = on_axis[:, None] + legs - 2.0 * outs + limits.radius * angles
    return Fan(
        vertices=vertices,
        legs=np.where(kept, tube, np.inf),
        directions=directions,
        outs=outs,
    )


def with_room(limits: Limits, begin: Array, end: Array, out: Array) -> Flags:
    """Return which legs seem to have room, (n,); from `out` on to near their ends."""
    effort = limits.effort.laying_out
    way = end - begin
    length = np.maximum(np.linalg.norm(way, axis=1), UNIT_LENGTH)
    low = np.minimum(out / length, 1.0)
    high = np.maximum(1.0 - effort.waypoint_corner / length, low)
    kept = np.ones(len(way), dtype=np.bool_)
    for share in effort.leg_shares:
        rows = np.flatnonzero(kept)
        at = (low + share * (high - low))[rows, None]
        kept[rows] = limits.field.at(begin[rows] + at * way[rows]) >= limits.reach
    return kept


def _over_one_node(
    nodes: Array, start: Fan, goal: Fan, limits: Limits
) -> tuple[Array, Array]:
    """Return first, middle and last vertices, (m, 3, 3), and lengths of tube [mm]."""
    inner, lengths = [np.empty((0, 3, 3))], [np.empty(0)]
    for i, vertex in enumerate(start.vertices):
        for j, last in enumerate(goal.vertices):
            heed_time()
            both = np.flatnonzero(
                np.isfinite(start.legs[i]) & np.isfinite(goal.legs[j])
            )
            angle = _angle(start.directions[i, both], -goal.directions[j, both])
            out = limits.outs(angle)
            axis = start.legs[i, both] + goal.legs[j, both]
            room = np.minimum(
                _leg(vertex, nodes[both]) - start.outs[i, both],
                _leg(last, nodes[both]) - goal.outs[j, both],
            )
            good = room - out >= limits.straight - limits.lacking
            some = both[good]
            ends = [np.broadcast_to(v, (len(some), 3)) for v in (vertex, last)]
            inner.append(np.stack([ends[0], nodes[some], ends[1]], axis=1))
            lengths.append(axis[good] - 2.0 * out[good] + limits.radius * angle[good])
    return np.concatenate(inner), np.concatenate(lengths)


def _leg(vertex: Array, nodes: Array) -> Array:
    legs: Array = np.linalg.norm(nodes - vertex, axis=1)
    return legs


def _angle(before: Array, after: Array) -> Array:
    angle: Array = np.arccos(np.clip((before * after).sum(axis=-1), -1.0, 1.0))
    return angle


def _over_two_nodes(
    nodes: Array, start: Fan, goal: Fan, limits: Limits
) -> tuple[Array, Array]:
    """Return the four inner vertices, (m, 4, 3), and lengths of tube [mm].

    Every node is reached over the place on its port's axis that makes it nearest.
    """
    effort = limits.effort.laying_out
    first, second = (_nearest(fan, effort.most_waypoints) for fan in (start, goal))
    i, j = (grid.ravel() for grid in np.indices((len(first), len(second))))
    a, b = first[i], second[j]
    over_a, over_b = start.legs.argmin(axis=0)[a], goal.legs.argmin(axis=0)[b]
    way = nodes[b] - nodes[a]
    leg = np.maximum(np.linalg.norm(way, axis=1), UNIT_LENGTH)
    direction = way / leg[:, None]
    angle_a = _angle(start.directions[over_a, a], direction)
    angle_b = _angle(direction, -goal.directions[over_b, b])
    out_a, out_b = limits.outs(angle_a), limits.outs(angle_b)
    short = limits.straight - limits.lacking
    good = np.flatnonzero(
        (leg - out_a - out_b >= short)
        & (_beyond(start, nodes, over_a, a) - out_a >= short)
        & (_beyond(goal, nodes, over_b, b) - out_b >= short)
    )
    saved = 2.0 * (out_a + out_b) - limits.radius * (angle_a + angle_b)
    lengths = start.legs[over_a, a] + leg + goal.legs[over_b, b] - saved
    best = np.argsort(np.round(lengths[good], ORDER_DECIMALS), kind="stable")[
        : effort.most_over_two
    ]
    good = good[best]
    room = with_room(limits, nodes[a[good]], nodes[b[good]], out_a[good])
    good = good[room]
    a, b, over_a, over_b = a[good], b[good], over_a[good], over_b[good]
    inner = [start.vertices[over_a], nodes[a], nodes[b], goal.vertices[over_b]]
    return np.stack(inner, axis=1), lengths[good]


def _nearest(fan: Fan, most: int) -> Indices:
    """Return the nodes that a fan reaches, the nearest first, so many at most."""
    least = fan.legs.min(axis=0)
    order = np.argsort(np.round(least, ORDER_DECIMALS), kind="stable")
    return order[: min(most, int(np.isfinite(least).sum()))]


def _beyond(fan: Fan, nodes: Array, over: Indices, node: Indices) -> Array:
    """Return the part of each leg that lies beyond the bend on the axis [mm]."""
    legs = np.linalg.norm(nodes[node] - fan.vertices[over], axis=1)
    beyond: Array = legs - fan.outs[over, node]
    return beyond
