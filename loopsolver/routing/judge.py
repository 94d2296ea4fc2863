"""The independent check that every candidate passes before anyone sees it.

Shares nothing with the search: it works in the case frame on the finished centre line,
with gaps along the true arcs and the bend table laid forward to the far port.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopsolver.clearance.gap import (
    Gap,
    ObstacleSet,
    is_clear,
    least_gap,
    prepare,
    tube_gap,
)
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.errors import GeometryError
from loopsolver.geometry.solids import bounds
from loopsolver.geometry.vectors import (
    Array,
    Point,
    angle_between,
    difference,
    norm,
    points_array,
)
from loopsolver.routing.problem import RouteProblem
from loopsolver.tolerances import (
    CLOSURE,
    CLOSURE_DEG,
    RIGHT_ANGLE_DEG,
    TOUCH,
    WRITTEN,
)
from loopsolver.tube.bend_table import bend_table, lay_forward
from loopsolver.tube.centreline import Centreline, piece_length, pieces
from loopsolver.tube.rules import broken_rules


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What the check found.

    Attributes
    ----------
    gap : Gap or None
        The least gap; None where the tube could not be laid at all.
    faults : tuple of str
        What the search should have kept to and did not.
    own_way : str or None
        How the tube runs into itself or its own fittings, which the search does not see.
    """

    gap: Gap | None
    faults: tuple[str, ...]
    own_way: str | None = None

    @property
    def passes(self) -> bool:
        """Whether the route may be shown."""
        return self.gap is not None and not self.faults and self.own_way is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """The rules and surroundings of one run, laid out once for many routes.

    `slack` and `slack_deg` are those of `tube.rules.broken_rules`.
    """

    problem: RouteProblem
    around: ObstacleSet
    fittings: ObstacleSet | None
    slack: float = TOUCH
    slack_deg: float = RIGHT_ANGLE_DEG


def make_judge(problem: RouteProblem) -> Judge:
    """Return the judge of a run's routes as the search finds them."""
    own = problem.own_fittings
    return Judge(
        problem=problem,
        around=prepare(problem.obstacles),
        fittings=prepare(own) if own else None,
    )


def make_judge_of_written(problem: RouteProblem) -> Judge:
    """Return the judge of a run's routes as a plan file holds them: rounded."""
    return replace(make_judge(problem), slack=WRITTEN, slack_deg=WRITTEN)


def judged(judge: Judge, centreline: Centreline) -> Verdict:
    """Return the verdict on a route that claims to solve the judge's run."""
    problem = judge.problem
    faults = list(
        broken_rules(
            centreline,
            start_straight=problem.start.straight,
            end_straight=problem.goal.straight,
            straight_between=problem.straight_between_bends,
            bend_angles=problem.bend_angles,
            max_bends=problem.max_bends,
            slack=judge.slack,
            slack_deg=judge.slack_deg,
        )
    )
    if faults:
        return Verdict(gap=None, faults=tuple(faults))
    faults += _closure_faults(problem, centreline)
    gap = gap_around(judge, centreline)
    if not is_clear(gap.distance, problem.clearance):
        faults.append(
            f"the gap to {gap.name} is {gap.distance:.4f} mm; "
            f"{problem.clearance:g} mm are wanted"
        )
    return Verdict(gap=gap, faults=tuple(faults), own_way=_own_way(judge, centreline))


def gap_around(judge: Judge, centreline: Centreline) -> Gap:
    """Return the least gap of a route of the run, its ends in their fittings left out."""
    problem = judge.problem
    return least_gap(
        centreline,
        judge.around,
        tube_radius=problem.tube_radius,
        skip_start=problem.start.covered,
        skip_end=problem.goal.covered,
    )


def _closure_faults(problem: RouteProblem, centreline: Centreline) -> list[str]:
    """Return whether the bend table, laid forward, misses the far seat or its axis."""
    vertices = centreline.vertices
    towards: Point = (0.0, 0.0, 0.0)
    if len(vertices) > 2:
        towards = difference(vertices[2], vertices[1])
    try:
        laid = lay_forward(
            bend_table(centreline),
            start=problem.start.seat,
            direction=problem.start.direction,
            first_bend_towards=towards,
        )
    except GeometryError as error:
        return [str(error)]
    miss = norm(difference(laid.vertices[-1], problem.goal.seat))
    arrival = difference(laid.vertices[-2], laid.vertices[-1])
    askew = math.degrees(angle_between(arrival, problem.goal.direction))
    faults = []
    if not miss <= CLOSURE:
        faults.append(
            f"the bend table laid forward misses the far seat by {miss:.4f} mm"
        )
    if not askew <= CLOSURE_DEG:
        faults.append(f"the bend table laid forward arrives {askew:.4f} degrees askew")
    return faults


def _own_way(judge: Judge, centreline: Centreline) -> str | None:
    """Return how the tube runs into its own fittings or itself, or None."""
    radius = judge.problem.tube_radius
    stretches = [piece_length(piece) for piece in pieces(centreline)]
    if (
        judge.fittings is not None
        and len(stretches) > 5
        and may_touch(
            centreline.vertices[1:-1], judge.problem.own_fittings, tube_radius=radius
        )
    ):
        # The first straight and bend begin in front of the fitting, by the rules.
        gap = least_gap(
            centreline,
            judge.fittings,
            tube_radius=radius,
            skip_start=sum(stretches[:2]),
            skip_end=sum(stretches[-2:]),
        )
        if not is_clear(gap.distance, 0.0):
            return f"the tube runs through its own {gap.name}"
    if crosses_itself(centreline, tube_radius=radius):
        return "the tube runs through itself"
    return None


def crosses_itself(centreline: Centreline, *, tube_radius: float) -> bool:
    """Return whether stretches with a leg or more between them touch each other.

    Neighbours are held apart by the bend between them. At the leg that is left out both
    stretches are taken on to its vertices, where they are further apart than a least leg.
    """
    vertices = centreline.vertices
    for split in range(2, len(vertices) - 1):
        head, tail = vertices[:split], vertices[split:]
        if not _boxes_meet(points_array(head), points_array(tail), 2.0 * tube_radius):
            continue
        gap, _, _ = tube_gap(
            Centreline(vertices=head, radius=centreline.radius),
            Centreline(vertices=tail, radius=centreline.radius),
            first_radius=tube_radius,
            second_radius=tube_radius,
        )
        if not is_clear(gap, 0.0):
            return True
    return False


def may_touch(
    vertices: Sequence[Point], bodies: Sequence[Obstacle], *, tube_radius: float
) -> bool:
    """Return whether a tube within the hull of some vertices may touch one of the bodies.

    Told by the boxes round them, at a fraction of the cost of the gap.
    """
    tube = points_array(vertices)
    return any(_boxes_meet(tube, bounds(body.solid), tube_radius) for body in bodies)


def _boxes_meet(first: Array, second: Array, within: float) -> bool:
    """Return whether the boxes round two sets of points come within a distance."""
    return bool(
        np.all(first.min(axis=0) - within < second.max(axis=0))
        and np.all(second.min(axis=0) - within < first.max(axis=0))
    )
