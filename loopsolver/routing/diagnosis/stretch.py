"""A stretch of tube to measure gaps of, less what its fittings hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loopsolver.clearance.gap import ObstacleSet, least_gap, least_gaps
from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.routing.problem import RouteProblem
from loopsolver.tube.centreline import Centreline


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A tube or a part of one.

    Attributes
    ----------
    tube : Centreline
    skip_start, skip_end : float
        Length at either end over which no gap is asked for [mm].
    """

    tube: Centreline
    skip_start: float = 0.0
    skip_end: float = 0.0

    def gap(
        self, around: Sequence[Obstacle] | ObstacleSet, *, tube_radius: float
    ) -> Gap:
        """Return the least gap to anything."""
        return least_gap(
            self.tube,
            around,
            tube_radius=tube_radius,
            skip_start=self.skip_start,
            skip_end=self.skip_end,
        )

    def gaps(
        self, around: Sequence[Obstacle] | ObstacleSet, *, tube_radius: float
    ) -> dict[str, Gap]:
        """Return the least gap to each thing by name, nearest first."""
        return least_gaps(
            self.tube,
            around,
            tube_radius=tube_radius,
            skip_start=self.skip_start,
            skip_end=self.skip_end,
        )


def whole_tube(tube: Centreline, problem: RouteProblem) -> Stretch:
    """Return a whole tube of a run, less what the fittings at both ends hold."""
    return Stretch(
        tube=tube, skip_start=problem.start.covered, skip_end=problem.goal.covered
    )
