"""The check that every candidate passes before anyone sees it.

A route must keep to the rules, and have the gap that the search takes it for. What the
search says is not believed: `rules` reads straights and angles off the vertices, and
`inspection` lays the tube from its bend table and measures it, both by means that share
nothing with the search.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopsolver.clearance.gap import ObstacleSet, is_clear, least_gap, prepare
from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.geometry.solids import bounds
from loopsolver.geometry.vectors import AXES, Array, Point, points_array
from loopsolver.routing import sampled_tube
from loopsolver.routing.inspection import (
    Inspector,
    inspected,
    make_inspector,
    too_near,
)
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.rules import Breach, broken_rules
from loopsolver.routing.sampled_tube import laid_tube
from loopsolver.tolerances import RIGHT_ANGLE_DEG, TOUCH, WRITTEN
from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What the check found.

    Attributes
    ----------
    gap : Gap or None
        The least gap; None where the tube could not be laid at all.
    faults : tuple of Breach
        What the search should have kept to and did not.
    own_way : Breach or None
        How the tube runs into itself or its own fittings, which the search does not see.
    """

    gap: Gap | None
    faults: tuple[Breach, ...]
    own_way: Breach | None = None

    @property
    def passes(self) -> bool:
        """Whether the route may be shown."""
        return self.gap is not None and not self.faults and self.own_way is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """The rules and surroundings of one run, laid out once for many routes.

    `slack` and `slack_deg` are those of `rules.broken_rules`.
    """

    problem: RouteProblem
    around: ObstacleSet
    inspector: Inspector
    slack: float = TOUCH
    slack_deg: float = RIGHT_ANGLE_DEG


def make_judge(problem: RouteProblem) -> Judge:
    """Return the judge of a run's routes as the search finds them."""
    return Judge(
        problem=problem,
        around=prepare(problem.obstacles),
        inspector=make_inspector(problem),
    )


def make_judge_of_written(problem: RouteProblem) -> Judge:
    """Return the judge of a run's routes as a plan file holds them: rounded."""
    return replace(make_judge(problem), slack=WRITTEN, slack_deg=WRITTEN)


def judged(judge: Judge, centreline: Centreline) -> Verdict:
    """Return the verdict on a route that claims to solve the judge's run."""
    problem = judge.problem
    broken = broken_rules(
        problem, centreline, slack=judge.slack, slack_deg=judge.slack_deg
    )
    if broken:
        return Verdict(gap=None, faults=broken)
    gap = gap_around(judge, centreline)
    found = inspected(judge.inspector, centreline, bend_table(centreline), said=gap)
    faults = found.faults
    if not is_clear(gap.distance, problem.clearance):
        faults += (too_near(gap.distance, gap.name, problem),)
    return Verdict(gap=gap, faults=faults, own_way=found.own_way)


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


def crosses_itself(centreline: Centreline, *, tube_radius: float) -> bool:
    """Return whether stretches with a leg or more between them touch each other."""
    tube = laid_tube(
        bend_table(centreline),
        start=centreline.vertices[0],
        direction=AXES["+x"],
        towards=np.array(AXES["+y"]),
    )
    return sampled_tube.crosses_itself(tube.pieces, 2.0 * tube_radius)


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
