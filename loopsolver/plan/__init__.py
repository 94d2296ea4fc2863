"""Plan: the candidates of every run and which one is chosen; to and from JSON."""

from __future__ import annotations

from loopsolver.plan.assembly import planned_scene
from loopsolver.plan.effects import Effect, effects
from loopsolver.plan.looks import tubes_side_by_side
from loopsolver.plan.model import LoopSummary, Plan, PlannedRun, Touch
from loopsolver.plan.ranking import RANKINGS, ranked
from loopsolver.plan.touching import touches, ways_out
from loopsolver.routing.diagnosis.no_route import InTheWay
from loopsolver.routing.loop.progress import Ended, Progress

__all__ = [
    "RANKINGS",
    "Effect",
    "Ended",
    "InTheWay",
    "LoopSummary",
    "Plan",
    "PlannedRun",
    "Progress",
    "Touch",
    "effects",
    "planned_scene",
    "ranked",
    "touches",
    "tubes_side_by_side",
    "ways_out",
]
