"""How well each port of a scene is known, by itself and from another port."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from loopsolver.geometry.vectors import Array, Point, point
from loopsolver.scene.model import Scene
from loopsolver.tolerances import TIDY_DECIMALS

if TYPE_CHECKING:
    from loopsolver.survey.adjustment import Adjustment

Covariance = tuple[Point, Point, Point]
"""A symmetric 3x3 matrix, a row each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PortSpread:
    """How well a port is known.

    Attributes
    ----------
    port : str
    position : Covariance
        Of its face in the case frame [mm^2].
    direction : Covariance
        Of its direction, a unit vector [rad^2]: as much either way square to it, none
        along it; of every port by itself.
    """

    port: str
    position: Covariance
    direction: Covariance


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadBetween:
    """How well one port is known from another: what a tube between them feels.

    Attributes
    ----------
    start, goal : str
    position : Covariance
        Of the goal's face less the start's [mm^2]; what both share is not in it.
    start_direction, goal_direction : Covariance
        As `PortSpread.direction`.
    """

    start: str
    goal: str
    position: Covariance
    start_direction: Covariance
    goal_direction: Covariance


@dataclass(frozen=True, slots=True, kw_only=True)
class PortSpreads:
    """How well the ports of a scene are known, all from one adjustment."""

    scene: Scene
    adjustment: Adjustment

    def of(self, port: str) -> PortSpread:
        """Return how well a port is known, by its full name."""
        return PortSpread(
            port=port,
            position=_rows(self.adjustment.position_covariance(port)),
            direction=direction_spread(self.scene, port),
        )

    def between(self, start: str, goal: str) -> SpreadBetween:
        """Return how well one port is known from another."""
        return SpreadBetween(
            start=start,
            goal=goal,
            position=_rows(self.adjustment.relative_covariance(start, goal)),
            start_direction=direction_spread(self.scene, start),
            goal_direction=direction_spread(self.scene, goal),
        )


def port_spreads(scene: Scene) -> PortSpreads | None:
    """Return how well the ports of a scene are known; None if it was made in Python.

    Positions, places and ports as written count as readings with the usual spread, and
    each port's direction is known to the spread of what is square.
    """
    from loopsolver.survey.adjustment import adjust

    if scene.measures is None:
        return None
    return PortSpreads(scene=scene, adjustment=adjust(scene.measures.network))


def direction_spread(scene: Scene, port: str) -> Covariance:
    """Return how well a port's direction is known, as `PortSpread.direction` [rad^2]."""
    along = np.asarray(scene.port(port).direction)
    return _rows(scene.spread.square**2 * (np.eye(3) - np.outer(along, along)))


def _rows(matrix: Array) -> Covariance:
    """Return a matrix as plain numbers, without the last bits that sums leave."""
    x, y, z = (point(row) for row in np.round(matrix, TIDY_DECIMALS) + 0.0)
    return x, y, z
