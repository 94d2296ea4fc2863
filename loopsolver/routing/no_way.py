"""What proves that a run has no tube, whatever its bends: seen before any is laid out.

A tube's first straights are where they are; and its centre line leads from one port to the
other through places that keep far enough from everything.

References
----------
Places that are joined, found as the connected components of an image: A. Rosenfeld and J.
L. Pfaltz, Sequential operations in digital picture processing, Journal of the ACM 13
(1966). From memory.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from loopsolver.clearance.gap import ObstacleSet, is_clear
from loopsolver.geometry.vectors import offset
from loopsolver.routing.judge import gap_beside, make_judge
from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.tolerances import GAP_RESOLUTION
from loopsolver.tube.centreline import Centreline


@lru_cache(maxsize=1)
def is_proven_none(problem: RouteProblem) -> bool:
    """Return whether it is certain that a problem has no tube.

    Of ports that are so near to each other that their straights meet nothing is said. The
    last answer is kept: a search asks beside laid tubes, and where the lattice has none.
    """
    start, goal = problem.start, problem.goal
    if math.dist(start.seat, goal.seat) <= start.straight + goal.straight:
        return False
    around = make_judge(problem).around
    gaps = [room_beyond(problem, end, around) for end in (start, goal)]
    return not is_clear(min(gaps), problem.clearance) or not _is_joined(problem)


def room_beyond(problem: RouteProblem, end: TubeEnd, around: ObstacleSet) -> float:
    """Return the least gap of the straight that a port asks for [mm].

    Parameters
    ----------
    problem : RouteProblem
    end : TubeEnd
        One of its two.
    around : ObstacleSet
        Its obstacles.
    """
    if end.straight <= end.covered:
        return math.inf
    stub = (end.seat, offset(end.seat, end.direction, end.straight))
    line = Centreline(vertices=stub, radius=problem.bend_radius)
    covered = (end.covered, 0.0)
    return gap_beside(around, line, problem.tube_radius, covered).distance


def _is_joined(problem: RouteProblem) -> bool:
    """Return whether there may be a way between the ends that keeps its distance.

    Every place of a centre line has a node of the distance field so near that this keeps
    but half a cell's diagonal less, and the node of the next place is one beside it.
    """
    from scipy.ndimage import label

    field = problem.field
    near = math.sqrt(3.0) / 2.0 * field.step
    least = min(problem.reach - GAP_RESOLUTION - near, float(field.values.max()))
    parts, _ = label(field.values >= least, structure=np.ones((3, 3, 3)))
    ends = []
    for end in (problem.start, problem.goal):
        place = np.array(offset(end.seat, end.direction, end.covered))
        node = np.rint((place - field.low) / field.step).astype(int)
        ends.append(int(parts[tuple(np.clip(node, 0, np.array(parts.shape) - 1))]))
    return ends[0] == ends[1] != 0
