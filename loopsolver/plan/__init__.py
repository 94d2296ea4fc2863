"""Plan: the candidates of every run and which one is chosen; to and from JSON."""

from __future__ import annotations

from loopsolver.plan.composing import planned_scene
from loopsolver.plan.effects import Effect, effects
from loopsolver.plan.file import Plan
from loopsolver.plan.model import LoopSummary, PlannedRun, Touch, WouldFit
from loopsolver.plan.ranking import RANKINGS, ranked
from loopsolver.plan.touching import touches, tubes_side_by_side, ways_out
from loopsolver.routing.control import Control, Ended
from loopsolver.routing.diagnosis.no_route import InTheWay

__all__ = [
    "RANKINGS",
    "Control",
    "Effect",
    "Ended",
    "InTheWay",
    "LoopSummary",
    "Plan",
    "PlannedRun",
    "Touch",
    "WouldFit",
    "effects",
    "planned_scene",
    "ranked",
    "touches",
    "tubes_side_by_side",
    "ways_out",
]
