"""Plan: the candidates of every run and which one is chosen; to and from JSON."""

from __future__ import annotations

from loopsolver.plan.assembly import route_scene
from loopsolver.plan.model import Plan, PlannedRun, Touch
from loopsolver.plan.ranking import RANKINGS, ranked
from loopsolver.plan.touching import touches, ways_out

__all__ = [
    "RANKINGS",
    "Plan",
    "PlannedRun",
    "Touch",
    "ranked",
    "route_scene",
    "touches",
    "ways_out",
]
