"""Chosen tubes beside each other: which touch, and over what length they are parallel."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations
from typing import TYPE_CHECKING

from loopsolver.clearance.gap import is_clear, tube_gap
from loopsolver.geometry.vectors import Point
from loopsolver.plan.file import Plan
from loopsolver.plan.model import Touch
from loopsolver.scene.model import Scene
from loopsolver.tube.centreline import Centreline

if TYPE_CHECKING:
    from loopsolver.routing.loop.parallels import SideBySide


def touches(plan: Plan) -> tuple[Touch, ...]:
    """Return every pair of chosen tubes nearer to each other than the clearance.

    In the order of the plan's runs. Runs without a route take no part.
    """
    found: list[Touch] = []
    for first, second in combinations(_chosen(plan), 2):
        gap, at = _gap(plan.scene, first[1], second[1])
        if not is_clear(gap, plan.scene.rules.clearance):
            found.append(Touch(first=first[0], second=second[0], gap=gap, at=at))
    return tuple(found)


def ways_out(plan: Plan, touch: Touch) -> tuple[tuple[str, int], ...]:
    """Return which other candidates would keep clear of all chosen tubes.

    At most one for each of the two runs: the best by rank. Every other run stays as it
    is chosen.

    Parameters
    ----------
    plan : Plan
    touch : Touch
        One of the plan's.

    Returns
    -------
    tuple of (str, int)
        Run and rank.
    """
    found: list[tuple[str, int]] = []
    for name in (touch.first, touch.second):
        if plan.run(name).built is not None:  # what is built is not chosen anew
            continue
        others = [line for other, line in _chosen(plan) if other != name]
        for rank, candidate in enumerate(plan.run(name).candidates, start=1):
            if _clears(plan.scene, candidate.centreline, others):
                found.append((name, rank))
                break
    return tuple(found)


def tubes_side_by_side(plan: Plan) -> SideBySide:
    """Return over what length the chosen tubes run side by side, and how evenly."""
    from loopsolver.routing.loop.parallels import side_by_side

    return side_by_side(
        [line for _, line in _chosen(plan)],
        outer_diameter=plan.scene.tube.outer_diameter,
    )


def _chosen(plan: Plan) -> list[tuple[str, Centreline]]:
    return [
        (run.name, candidate.centreline)
        for run in plan.runs
        if (candidate := run.tube_in_place) is not None
    ]


def _clears(scene: Scene, line: Centreline, others: Iterable[Centreline]) -> bool:
    """Tell whether a tube keeps the clearance from all others."""
    clearance = scene.rules.clearance
    return all(is_clear(_gap(scene, line, other)[0], clearance) for other in others)


def _gap(scene: Scene, line: Centreline, other: Centreline) -> tuple[float, Point]:
    """Return the gap between two tubes, and where [mm].

    For tubes that cannot be nearer than the clearance: a gap that they surely have.
    """
    radius = scene.tube.radius
    surely = _least_possible_gap(line, other) - 2.0 * radius
    if surely >= scene.rules.clearance:
        return surely, line.vertices[0]
    gap, near, far = tube_gap(line, other, first_radius=radius, second_radius=radius)
    x, y, z = ((a + b) / 2.0 for a, b in zip(near, far, strict=True))
    return gap, (x, y, z)


def _least_possible_gap(first: Centreline, second: Centreline) -> float:
    """Return the distance between the boxes round two centre lines' vertices [mm].

    A centre line lies within the hull of its vertices, so it is never nearer than this.
    """
    apart = [
        max(min(two) - max(one), min(one) - max(two), 0.0)
        for one, two in zip(
            zip(*first.vertices, strict=True),
            zip(*second.vertices, strict=True),
            strict=True,
        )
    ]
    return math.hypot(*apart)
