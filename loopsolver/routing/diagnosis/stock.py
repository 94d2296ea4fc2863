"""What it takes to make a tube whose blank is longer than the stock."""

from __future__ import annotations

import math

from loopsolver.routing.diagnosis.relaxations import LENGTH_STEP
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.problem import Candidate
from loopsolver.tolerances import TOUCH
from loopsolver.tube.stock import Tube


def is_too_long(candidate: Candidate, tube: Tube) -> bool:
    """Return whether the stock is too short for a candidate's blank."""
    return candidate.blank > tube.stock_length + TOUCH


def stock_remedies(tube: Tube, route: Candidate) -> tuple[Change, ...]:
    """Return a trim allowance and a stock length that are enough for a route.

    No trim allowance below one outer diameter: something has to be left to hold the
    tube by (common practice, no source).
    """
    spare = (tube.stock_length - route.finished) / 2.0
    trim = math.floor(spare / LENGTH_STEP + TOUCH) * LENGTH_STEP
    needed = math.ceil(route.blank / LENGTH_STEP - TOUCH) * LENGTH_STEP
    stock = Change(rule="stock length", before=tube.stock_length, after=needed)
    if trim < tube.outer_diameter:
        return (stock,)
    return Change(rule="trim allowance", before=tube.trim_allowance, after=trim), stock
