"""Candidates and planned runs, written down by hand. No search."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from loopsolver.clearance.obstacles import Gap
from loopsolver.geometry.vectors import Point
from loopsolver.plan import LoopSummary, PlannedRun
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.tube.centreline import Centreline

Points = tuple[Point, ...]

GAIN: Final = 28.0 * (2.0 - math.pi / 2.0)
"""What a bend of 90 degrees round 28 mm saves of its two legs [mm]."""

SUMMARY: Final = LoopSummary(
    by="bends",
    total=(10.0, 1200.0),
    bound=(9.0, 1150.0),
    is_proven=True,
    rounds=2,
    pool=31,
)
"""What a search says of a loop: ten bends and 1200 mm of tube, proven best of 31 routes."""


def candidate(
    *vertices: Point,
    gap: float = 5.0,
    name: str = "tank",
    at: Point | None = None,
    radius: float = 28.0,
    trim: float = 30.0,
    **more: Any,
) -> Candidate:
    """Return a tube from end to end through some vertices [mm].

    It is `gap` away from what is called `name`, at its beginning or at `at` [mm]; bent
    round `radius`, `trim` cut off at each end [mm].
    """
    return Candidate(
        centreline=Centreline(vertices=vertices, radius=radius),
        gap=Gap(distance=gap, name=name, at=vertices[0] if at is None else at),
        trim_allowance=trim,
        **more,
    )


def ending(
    port: str, outlet: Point, mouth: Point, *, fitting: str = "collar", **more: Any
) -> EndFitting:
    """Return what holds a tube's end: the way out of it, and its mouth [mm]."""
    return EndFitting(port=port, fitting=fitting, outlet=outlet, mouth=mouth, **more)


def planned(
    name: str,
    candidates: Sequence[Candidate],
    *,
    ends: tuple[str, str] = ("a.out", "b.in"),
    chosen: int | None = 1,
    why: str | None = None,
) -> PlannedRun:
    """Return a run of a plan: its candidates, which is chosen, or why there are none."""
    return PlannedRun(
        name=name,
        from_port=ends[0],
        to_port=ends[1],
        candidates=tuple(candidates),
        chosen=chosen,
        why=why,
    )
