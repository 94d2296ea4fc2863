"""The choices that a run leaves: fittings on its two ports, and a former."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from itertools import product

import numpy as np

from loopsolver.clearance.obstacles import Obstacle, obstacles_of_run
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.vectors import Point, difference, dot
from loopsolver.routing.effort import Effort
from loopsolver.routing.ends import (
    EndChoice,
    end_choices,
    problem_between,
    runs_through,
)
from loopsolver.routing.problem import Candidate, EndFitting, RouteProblem
from loopsolver.routing.square.lattice import square_run
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tolerances import ALONG_AXIS, ORDER_DECIMALS


@dataclass(frozen=True, slots=True, kw_only=True)
class Configuration:
    """A run with its fittings and its former settled."""

    problem: RouteProblem
    choices: tuple[EndChoice, EndChoice]

    @property
    def ends(self) -> tuple[EndFitting, EndFitting]:
        """The fittings at its two ends."""
        first, second = self.choices
        return first.fitting, second.fitting

    @property
    def elbows(self) -> int:
        """How many of them are elbows."""
        return sum(end.is_elbow for end in self.ends)

    def runs_through_own(self, candidate: Candidate) -> bool:
        """Return whether a tube runs through one of its own fittings."""
        radius = self.problem.tube_radius
        return runs_through(self.choices, candidate.centreline, tube_radius=radius)

    @property
    def cores(self) -> tuple[Obstacle, ...]:
        """What of both fittings its own tube must keep clear of."""
        return tuple(core for choice in self.choices for core in choice.core)

    @property
    def stem_cores(self) -> tuple[Obstacle, ...]:
        """The same of elbows alone."""
        turned = (choice for choice in self.choices if choice.fitting.is_elbow)
        return tuple(core for choice in turned for core in choice.core)


def configurations(
    scene: Scene, run: RunRequest, effort: Effort
) -> Iterator[Configuration]:
    """Yield every choice of former and fittings, the fewest elbows first.

    Of as many elbows those come first that look at the other port.

    For square bends an elbow is turned only so that its outlet lies square in one frame:
    that of the first choice that has any.
    """
    start, goal = (scene.port(ports[0]) for ports in (run.from_ports, run.to_ports))
    pairs = list(product(end_choices(scene, run, start), end_choices(scene, run, goal)))
    pairs.sort(key=partial(_out_of_the_way, difference(goal.position, start.position)))
    around = obstacles_of_run(scene, run)
    radii = sorted(run.bend_radii or scene.tube.bend_radii)
    every = [
        Configuration(
            problem=problem_between(
                scene, run, first, second, radius, around, effort=effort
            ),
            choices=(first, second),
        )
        for (first, second), radius in product(pairs, radii)
    ]
    square = next(filter(None, (square_run(one.problem) for one in every)), None)
    for settled in every:
        is_turned = settled.elbows and settled.problem.bend_angles_deg == (90.0,)
        if (
            square is None
            or not is_turned
            or _lies_along(settled.problem, square.frame)
        ):
            yield settled


def _out_of_the_way(
    between: Point, pair: tuple[EndChoice, EndChoice]
) -> tuple[int, float]:
    """Return the elbows of a pair, and how far they look away from the other port.

    `between` leads from port to port [mm].
    """
    first, second = (choice.fitting for choice in pair)
    ahead = dot(first.outlet, between) if first.is_elbow else 0.0
    back = dot(second.outlet, between) if second.is_elbow else 0.0
    return first.is_elbow + second.is_elbow, round(back - ahead, ORDER_DECIMALS)


def _lies_along(problem: RouteProblem, frame: Frame) -> bool:
    """Return whether both ends of a run lie along axes of a frame."""
    ends = np.array([problem.start.direction, problem.goal.direction])
    along = np.abs(ends @ frame.rotation)
    return bool((along.max(axis=1) > 1.0 - ALONG_AXIS).all())
