"""Exact least gap of a tube's centre line, and to what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.vectors import Point
from loopsolver.tube.centreline import Centreline


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A least gap [mm], what it is to, and where.

    Attributes
    ----------
    distance : float
        From the tube's outer surface; negative where they overlap.
    name : str
        The obstacle's name.
    at : Point
        The point of the centre line that is nearest.
    """

    distance: float
    name: str
    at: Point


def least_gap(
    centreline: Centreline,
    obstacles: Sequence[Obstacle],
    *,
    tube_radius: float,
    skip_start: float = 0.0,
    skip_end: float = 0.0,
) -> Gap:
    """Return the least gap between a tube and a set of obstacles.

    Parameters
    ----------
    centreline : Centreline
    obstacles : sequence of Obstacle, at least one
    tube_radius : float [mm]
    skip_start, skip_end : float [mm]
        Length at either end that is not looked at: what lies in the tube's own fitting.

    Returns
    -------
    Gap
        True to `tolerances.GAP_RESOLUTION`.
    """
    raise NotImplementedError


def tube_gap(
    first: Centreline,
    second: Centreline,
    *,
    first_radius: float,
    second_radius: float,
) -> tuple[float, Point, Point]:
    """Return the gap between two tubes [mm] and the nearest points of their centre lines.

    Negative where they run into each other. True to `tolerances.GAP_RESOLUTION`.
    """
    raise NotImplementedError
