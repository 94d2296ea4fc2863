"""What the ports and the rules alone say against a route, bodies left out.

The facts hold as they stand; whether a route would exist without what they tell is for
probes to find out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import product

import numpy as np

from loopsolver.geometry.vectors import (
    angle_between,
    axis_name,
    difference,
    dot,
    norm,
    offset,
    point,
)
from loopsolver.routing.diagnosis.no_route import (
    Askew,
    CannotTurn,
    CornerTooNear,
    FacingBlocked,
    FacingTooNear,
    Fact,
    OffsetTooNarrow,
    OffsetTooShort,
    OutOfLine,
    ReturnTooNarrow,
    Shortfall,
)
from loopsolver.routing.diagnosis.stretch import whole_tube
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.square.lattice import square_run
from loopsolver.scene.references import PortPair
from loopsolver.tolerances import (
    LEAST_TOLD,
    NEARLY_IN_LINE,
    SAME_ANGLE,
    SQUARE_COSINE,
    TOUCH,
)
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.setting_out import offset_advance, take_out


def can_turn(angles: Sequence[float], *, through: float, bends: int) -> bool:
    """Return whether at most so many bends can turn a tube through an angle in all.

    Parameters
    ----------
    angles : sequence of float [rad]
        Those that are allowed.
    through : float [rad]
        Between the direction at the start and the one at the end, 0 to pi.
    bends : int

    Notes
    -----
    A bend of angle a, turned about the tube to any side, takes a direction that is t
    off the first one to any that is |t - a| to t + a off, where what exceeds pi comes
    back as 2 pi less it (the sides of a spherical triangle). So the angles that n bends
    can reach are intervals, each widened by one more bend.
    """
    reached = [(0.0, 0.0)]
    for _ in range(bends):
        if _holds(reached, through):
            return True
        reached = _merged(
            _widened(interval, angle) for interval in reached for angle in angles
        )
    return _holds(reached, through)


_Interval = tuple[float, float]


def _holds(intervals: Iterable[_Interval], angle: float) -> bool:
    return any(
        low - SAME_ANGLE <= angle <= high + SAME_ANGLE for low, high in intervals
    )


def _widened(interval: _Interval, angle: float) -> _Interval:
    """Return the angles that one more bend reaches from those of an interval."""
    low, high = interval
    nearest_in = min(max(angle, low), high)
    furthest_in = min(max(math.pi - angle, low), high)
    return (
        abs(nearest_in - angle),
        math.pi - abs(furthest_in + angle - math.pi),
    )


def _merged(intervals: Iterable[_Interval]) -> list[_Interval]:
    """Return intervals in order, those that touch as one."""
    merged: list[_Interval] = []
    for low, high in sorted(intervals):
        if merged and low <= merged[-1][1] + SAME_ANGLE:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return merged


def direction_facts(problem: RouteProblem, ports: PortPair) -> tuple[CannotTurn, ...]:
    """Return that the listed angles cannot meet the ports' directions."""
    if problem.bend_angles_deg == "any":
        return ()
    home = point(-value for value in problem.goal.direction)
    through = angle_between(problem.start.direction, home)
    angles = [math.radians(angle_deg) for angle_deg in problem.bend_angles_deg]
    if can_turn(angles, through=through, bends=problem.max_bends):
        return ()
    return (
        CannotTurn(
            ports=ports,
            through_deg=math.degrees(through),
            max_bends=problem.max_bends,
            angles_deg=problem.bend_angles_deg,
        ),
    )


def least_set(radius: float, angle: float, between: float) -> float:
    """Return the least distance of parallel lines that two equal bends can join [mm].

    Parameters
    ----------
    radius : float
        Centre-line radius [mm].
    angle : float
        Angle of both bends [rad].
    between : float
        Least straight between them [mm].

    Notes
    -----
    ``2 R (1 - cos a) + s sin a``. An arc of radius R that turns by a leads R (1 - cos a)
    away from the line it leaves, the straight between leads s sin a further, and the
    second arc is the first one's mirror image. At 90 degrees this is 2 R + s.
    """
    return 2.0 * radius * (1.0 - math.cos(angle)) + between * math.sin(angle)


def least_return(radius: float, angle: float, between: float) -> float:
    """Return the least distance of the two lines of a U of two bends [mm].

    The bends are of `angle` and of pi less it [rad].

    Notes
    -----
    ``2 R + s sin a``: the first arc leads R (1 - cos a) to the side, the second, which
    turns on until the tube runs back, R (cos a + 1).
    """
    return 2.0 * radius + between * math.sin(angle)


def least_advance(
    radius: float, angle: float, set_off: float, ends: tuple[float, float]
) -> float:
    """Return how far along its lines an offset of two equal bends reaches at least [mm].

    From tube end to tube end; `ends` are the least straights there [mm].

    Notes
    -----
    Both straights, both lengths from tangent point to vertex, and the way from vertex
    to vertex, set / tan a.
    """
    return sum(ends) + 2.0 * take_out(radius, angle) + offset_advance(set_off, angle)


def out_of_line_facts(problem: RouteProblem) -> tuple[OutOfLine, ...]:
    """Return by how little ports miss being in line, where turns cannot make it up.

    Only what is square to both ports counts: along a port a leg makes it up.
    """
    run = square_run(problem)
    if run is None or problem.turn_step_deg == "any":
        return ()
    between = difference(problem.goal.seat, problem.start.seat)
    off = []
    for axis in map(point, run.frame.rotation.T):
        by = abs(dot(axis, between))
        ports = (problem.start.direction, problem.goal.direction)
        is_aside = all(abs(dot(axis, one)) < SQUARE_COSINE for one in ports)
        if is_aside and LEAST_TOLD < by <= NEARLY_IN_LINE:
            off.append(((axis_name(axis) or "")[1:], by))
    if not off:
        return ()
    return (
        OutOfLine(
            off=tuple(off),
            turn_step_deg=problem.turn_step_deg,
            max_bends=problem.max_bends,
        ),
    )


def simple_tube_facts(problem: RouteProblem, ports: PortPair) -> tuple[Fact, ...]:
    """Return what the simplest tube between two ports lacks, bodies left out.

    Where the ports' axes are parallel that is an offset or a U of two bends. Where they
    cross it is one bend, and where the ports face each other in line it is none.
    """
    found = _two_bend_facts(problem, ports)
    if problem.bend_angles_deg == (90.0,) and square_run(problem) is None:
        angle = angle_between(problem.start.direction, problem.goal.direction)
        found += (Askew(ports=ports, angle_deg=math.degrees(angle)),)
    return found


def _two_bend_facts(problem: RouteProblem, ports: PortPair) -> tuple[Fact, ...]:
    if problem.bend_angles_deg == "any":
        return ()
    angles = sorted(math.radians(angle_deg) for angle_deg in problem.bend_angles_deg)
    facing = dot(problem.start.direction, problem.goal.direction)
    between = difference(problem.goal.seat, problem.start.seat)
    along = dot(between, problem.start.direction)
    aside = norm(offset(between, problem.start.direction, -along))
    if facing < -1.0 + SAME_ANGLE:
        if aside <= TOUCH:
            return _in_line_facts(problem, along, ports)
        return _offset_facts(problem, angles, along=along, aside=aside)
    if facing > 1.0 - SAME_ANGLE:
        return _return_facts(problem, angles, aside)
    return _corner_facts(problem, angles, ports)


def _in_line_facts(
    problem: RouteProblem, along: float, ports: PortPair
) -> tuple[Fact, ...]:
    """Return that ports in line are too near to each other, or what stands between."""
    if along <= 0.0:
        return ()
    needed = max(problem.start.straight, problem.goal.straight)
    if along < needed - LEAST_TOLD:
        return (FacingTooNear(ports=ports, needed=needed, there_is=along),)
    tube = Centreline(vertices=(problem.start.seat, problem.goal.seat), radius=1.0)
    gap = whole_tube(tube, problem).gap(
        problem.obstacles, tube_radius=problem.tube_radius
    )
    by = problem.clearance - gap.distance
    if by <= LEAST_TOLD:
        return ()
    return (FacingBlocked(ports=ports, near=Shortfall(name=gap.name, by=by)),)


def _offset_facts(
    problem: RouteProblem, angles: list[float], *, along: float, aside: float
) -> tuple[Fact, ...]:
    radius, spacing = problem.bend_radius, problem.straight_between_bends
    needs = {angle: least_set(radius, angle, spacing) for angle in angles}
    angle = min(needs, key=lambda one: (needs[one], one))
    if aside < needs[angle] - LEAST_TOLD:
        return (
            OffsetTooNarrow(
                angle_deg=math.degrees(angle), needed=needs[angle], there_is=aside
            ),
        )
    if along <= 0.0:
        return ()
    ends = (problem.start.straight, problem.goal.straight)
    fitting = [angle for angle in angles if aside >= needs[angle] - TOUCH]
    reaches = {angle: least_advance(radius, angle, aside, ends) for angle in fitting}
    angle = min(reaches, key=lambda one: (reaches[one], one))
    if along >= reaches[angle] - LEAST_TOLD:
        return ()
    return (
        OffsetTooShort(
            angle_deg=math.degrees(angle), needed=reaches[angle], there_is=along
        ),
    )


def _return_facts(
    problem: RouteProblem, angles: list[float], aside: float
) -> tuple[Fact, ...]:
    radius, spacing = problem.bend_radius, problem.straight_between_bends
    pairs = [
        first
        for first, second in product(angles, repeat=2)
        if abs(first + second - math.pi) < SAME_ANGLE
    ]
    if not pairs:
        return ()
    needs = {first: least_return(radius, first, spacing) for first in pairs}
    first = min(needs, key=lambda one: (needs[one], one))
    if aside >= needs[first] - LEAST_TOLD:
        return ()
    angles_deg = math.degrees(first), math.degrees(math.pi - first)
    return (
        ReturnTooNarrow(angles_deg=angles_deg, needed=needs[first], there_is=aside),
    )


def _corner_facts(
    problem: RouteProblem, angles: list[float], ports: PortPair
) -> tuple[Fact, ...]:
    """Return which leg of a tube of one bend is too short, where the axes cross."""
    start, goal = problem.start, problem.goal
    p, d = np.asarray(start.seat), np.asarray(start.direction)
    q, g = np.asarray(goal.seat), np.asarray(goal.direction)
    angle = angle_between(start.direction, point(-g))
    if not any(abs(angle - allowed) < SAME_ANGLE for allowed in angles):
        return ()
    legs = np.linalg.lstsq(np.column_stack([d, -g]), q - p, rcond=None)[0]
    if np.linalg.norm(p + legs[0] * d - q - legs[1] * g) > TOUCH or legs.min() <= 0.0:
        return ()
    out = take_out(problem.bend_radius, angle)
    return tuple(
        CornerTooNear(
            port=port,
            angle_deg=math.degrees(angle),
            needed=end.straight + out,
            there_is=float(leg),
        )
        for leg, end, port in zip(legs, (start, goal), ports, strict=True)
        if leg < end.straight + out - LEAST_TOLD
    )
