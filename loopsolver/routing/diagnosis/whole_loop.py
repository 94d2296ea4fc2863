"""What would let all runs of a loop fit, as data: changes, and what was tried."""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.routing.diagnosis.no_route import OtherFitting, OtherPort
from loopsolver.routing.diagnosis.rule_changes import Change


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherOrder:
    """The loop goes through its parts in this order; in any, where there are none."""

    parts: tuple[str, ...]


LoopChange = Change | OtherPort | OtherFitting | OtherOrder
"""What may be changed for all runs of a loop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopRemedy:
    """Changes with which all runs of a loop are laid, and what they come to.

    Attributes
    ----------
    changes : tuple of LoopChange
    runs, bends, elbows : int
    length : float
        Of all tubes [mm].
    """

    changes: tuple[LoopChange, ...]
    runs: int
    bends: int
    elbows: int
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopRemedies:
    """What was tried for a loop in which runs are left out.

    Attributes
    ----------
    found : LoopRemedy or None
        The first that lays all runs.
    tried : tuple of LoopChange
        What was tried before it, or without success; of a rule the most generous value.
    is_all_tried : bool
        False where the search ended before one was found or all were tried.
    """

    found: LoopRemedy | None
    tried: tuple[LoopChange, ...]
    is_all_tried: bool = True
