"""The check that every candidate passes before anyone sees it.

A route must keep to the rules, and have the gap that the search takes it for. What the
search says is not believed: `rules` reads straights and angles off the vertices, and
`inspection` lays the tube from its bend table and measures it, both by means that share
nothing with the search.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from loopsolver.clearance.gap import ObstacleSet, is_clear, least_gap, prepare
from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.routing.inspection import (
    Inspector,
    inspected,
    make_inspector,
    too_near,
)
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.rules import Breach, broken_rules
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judge:
    """The rules and surroundings of one run, laid out once for many routes.

    `slack` and `slack_deg` are those of `rules.broken_rules`.
    """

    problem: RouteProblem
    around: ObstacleSet
    inspector: Inspector
    slack: float = TOUCH
    slack_deg: float = RIGHT_ANGLE_DEG


@lru_cache(maxsize=8)
def make_judge(problem: RouteProblem) -> Judge:
    """Return the judge of a run's routes as the search finds them.

    The last ones are kept: each search of a run asks for it again.
    """
    return Judge(
        problem=problem,
        around=surroundings(problem.obstacles),
        inspector=make_inspector(problem),
    )


@lru_cache(maxsize=32)
def surroundings(obstacles: tuple[Obstacle, ...]) -> ObstacleSet:
    """Return obstacles laid out for measuring: most pairs of ports have the same ones."""
    return prepare(obstacles)


def make_judge_of_written(problem: RouteProblem) -> Judge:
    """Return the judge of a run's routes as a plan file holds them: rounded.

    It measures anew what the search has measured already.
    """
    around = prepare(problem.obstacles)
    return replace(make_judge(problem), around=around, slack=WRITTEN, slack_deg=WRITTEN)


def judged(judge: Judge, centreline: Centreline) -> Verdict:
    """Return the verdict on a route that claims to solve the judge's run."""
    problem = judge.problem
    broken = broken_rules(
        problem, centreline, slack=judge.slack, slack_deg=judge.slack_deg
    )
    if broken:
        return Verdict(gap=None, faults=broken)
    gap = gap_around(judge, centreline)
    table = bend_table(centreline)
    faults, own_way = inspected(judge.inspector, centreline, table, said=gap)
    if not is_clear(gap.distance, problem.clearance):
        faults += (too_near(gap, problem),)
    return Verdict(gap=gap, faults=faults, own_way=own_way)


def gap_around(judge: Judge, centreline: Centreline) -> Gap:
    """Return the least gap of a route of the run, its ends in their fittings left out.

    Of the lattice two in five are asked for again, while a route is drawn in and eased.
    """
    problem = judge.problem
    covered = problem.start.covered, problem.goal.covered
    return gap_beside(judge.around, centreline, problem.tube_radius, covered)


@lru_cache(maxsize=1024)
def gap_beside(
    around: ObstacleSet,
    centreline: Centreline,
    tube_radius: float,
    covered: tuple[float, float],
) -> Gap:
    """Return the same of a route whose ends are covered so far, whatever its rules."""
    start, goal = covered
    return least_gap(
        centreline, around, tube_radius=tube_radius, skip_start=start, skip_end=goal
    )


def passed(judge: Judge, candidate: Candidate) -> Candidate | None:
    """Return a candidate with its gap as it is measured; None if it does not pass."""
    verdict = judged(judge, candidate.centreline)
    if verdict.gap is None or not verdict.passes:
        return None
    return replace(candidate, gap=verdict.gap)
