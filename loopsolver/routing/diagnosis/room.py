"""What stands too near in front of a port: measured exactly, without a search."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopsolver.clearance.gap import ObstacleSet, prepare
from loopsolver.clearance.obstacles import Gap
from loopsolver.geometry.vectors import offset, point, sides_about
from loopsolver.routing.angled.bundle import free_along, lay, nearest, sampled
from loopsolver.routing.diagnosis.no_route import (
    BendBlocked,
    Shortfall,
    StraightBlocked,
)
from loopsolver.routing.diagnosis.stretch import Stretch
from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.tolerances import LEAST_TOLD, TOUCH
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.setting_out import take_out


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """Something too near to what a tube needs in front of a port.

    Attributes
    ----------
    fact : StraightBlocked or BendBlocked
    stretch : Stretch
        What the tube needs there, from its end on.
    """

    fact: StraightBlocked | BendBlocked
    stretch: Stretch

    @property
    def is_straight(self) -> bool:
        """Whether that is the straight that the port asks for, and not a bend after it."""
        return isinstance(self.fact, StraightBlocked)


def in_front_of(problem: RouteProblem, ports: tuple[str, str]) -> tuple[Front, ...]:
    """Return what is too near in front of the two ports of these names."""
    around = prepare(problem.obstacles)
    ends = zip(ports, (problem.start, problem.goal), strict=True)
    found = (
        _straight_front(problem, around, port, end)
        or _bend_front(problem, around, port, end)
        for port, end in ends
    )
    return tuple(front for front in found if front is not None)


def _straight_front(
    problem: RouteProblem, around: ObstacleSet, port: str, end: TubeEnd
) -> Front | None:
    """Return what is too near to the straight that a port asks for; exact."""
    if end.straight <= TOUCH:
        return None
    furthest = offset(end.seat, end.direction, end.straight)
    stub = Stretch(
        tube=Centreline(vertices=(end.seat, furthest), radius=problem.bend_radius),
        skip_start=end.covered,
    )
    gap = stub.gap(around, tube_radius=problem.tube_radius)
    by = problem.clearance - gap.distance
    if by <= LEAST_TOLD:
        return None
    near = Shortfall(name=gap.name, by=by)
    fact = StraightBlocked(port=port, length=end.straight, near=near)
    return Front(fact=fact, stretch=stub)


def _bend_front(
    problem: RouteProblem, around: ObstacleSet, port: str, end: TubeEnd
) -> Front | None:
    """Return what is too near to every first bend that a port allows.

    Bends of all listed angles are tried to several sides, from the least straight on and
    outwards as far as the straight is free. What is returned is the one that lacks
    least. None where one is free, or bends may be of any angle.
    """
    if problem.bend_angles_deg == "any":
        return None
    along = np.asarray(end.direction)
    begin = np.asarray(end.seat) + end.covered * along
    effort = problem.effort.diagnosis
    free = free_along(
        around.solids,
        begin[None],
        along[None],
        reach=problem.reach,
        most=effort.furthest_seen,
        step=effort.free_step,
    )
    furthest = max(end.covered + float(free[0]), end.straight)
    found: list[tuple[Gap, Stretch]] = []
    step = effort.room_step
    for straight in np.arange(end.straight, furthest + step, step):
        for angle_deg in problem.bend_angles_deg:
            tube = _best_bend(problem, around, end, math.radians(angle_deg), straight)
            stretch = Stretch(tube=tube, skip_start=end.covered)
            gap = stretch.gap(around, tube_radius=problem.tube_radius)
            if gap.distance >= problem.clearance - LEAST_TOLD:
                return None
            found.append((gap, stretch))
    gap, stretch = max(found, key=lambda one: one[0].distance)
    fact = BendBlocked(
        port=port,
        length=end.straight,
        angles_deg=problem.bend_angles_deg,
        bend_radius=problem.bend_radius,
        sides=effort.rolls,
        near=Shortfall(name=gap.name, by=problem.clearance - gap.distance),
    )
    return Front(fact=fact, stretch=stretch)


def _best_bend(
    problem: RouteProblem,
    around: ObstacleSet,
    end: TubeEnd,
    angle: float,
    straight: float,
) -> Centreline:
    """Return the tube of a straight and a bend that has the largest gap.

    It ends where the bend does; several sides are tried.
    """
    radius = problem.bend_radius
    rolls, looked = problem.effort.diagnosis.rolls, problem.effort.shortlist
    along = np.asarray(end.direction)
    sides = sides_about(along, rolls)
    out = take_out(radius, angle)
    seats = np.tile(np.asarray(end.seat), (rolls, 1))
    corners = seats + (straight + out) * along
    finish = corners + out * (math.cos(angle) * along + math.sin(angle) * sides)
    tubes = np.stack([seats, corners, finish], axis=1)
    points = sampled(
        tubes,
        lay(tubes, radius=radius),
        radius=radius,
        covered=(end.covered, 0.0),
        samples=(looked.straight_samples, looked.bend_samples),
    )
    best = tubes[int(np.argmax(nearest(points, around.solids)))]
    return Centreline(vertices=tuple(point(vertex) for vertex in best), radius=radius)
