"""What would let all runs of a loop fit, in words."""

from __future__ import annotations

from typing import Final

from loopsolver.lengths import Lengths
from loopsolver.report.rule_changes import change_in_words
from loopsolver.routing.diagnosis.no_route import OtherFitting, OtherPort
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.diagnosis.whole_loop import (
    LoopChange,
    LoopRemedies,
    LoopRemedy,
    OtherOrder,
)
from loopsolver.words import listed, some_of

MOST_TRIED: Final = 6
"""Of what was tried for a whole loop no more than so many are named."""


def other_port_in_words(change: OtherPort) -> str:
    """Return which port is to be taken instead of which."""
    return f"{change.end} {change.port} instead of {change.instead_of}"


def loop_remedy_in_words(remedy: LoopRemedy, lengths: Lengths) -> str:
    """Return what is to be changed for all runs of a loop to fit."""
    return listed([_loop_change(one, lengths) for one in remedy.changes])


def loop_remedies_in_words(remedies: LoopRemedies, lengths: Lengths) -> str:
    """Return what was tried in vain for all runs of a loop to fit."""
    tried = [_loop_change(one, lengths) for one in remedies.tried]
    if not tried:
        if remedies.is_all_tried:
            return (
                "no other port, bend angle, order, former or clearance can let all runs "
                "fit"
            )
        return "what would let all runs fit was not tried: the search had ended"
    told = some_of(tried, most=MOST_TRIED)
    told = f"tried quickly for the loop as a whole, and not enough: {told}"
    return told if remedies.is_all_tried else f"{told}; then the search ended"


def _loop_change(change: LoopChange, lengths: Lengths) -> str:
    """Return what is changed for all runs of a loop."""
    match change:
        case Change():
            return change_in_words(change, lengths)
        case OtherOrder(parts=parts):
            return f"the order {', '.join(parts)}" if parts else "another order"
        case OtherPort():
            return f"{change.run!r} {other_port_in_words(change)}"
        case OtherFitting():
            return f'the fitting "{change.fitting}" on {change.port}'
