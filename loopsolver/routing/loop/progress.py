"""Who is told how far the search is, and how it can end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    from loopsolver.routing.problem import Candidate

Ended = Literal["done", "time", "stopped", "stopped early"]
"""How a search ended: nothing more was to be gained, its time was over, or the user
stopped it: among rounds, or early, before every run was routed alone."""

Started = Callable[[str, int, int], None]
"""Told before each run is routed alone: its name, its number from 1, how many."""

Improved = Callable[[int, Sequence["Candidate"]], None]
"""Told after the first choice and each round: how many rounds, the best so far."""

Explaining = Callable[[str], None]
"""Told before it is looked into why a run is not in the loop: its name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Who is told of the progress.

    Attributes
    ----------
    started : callable
        Told before each run is routed alone: its name, its number counted from 1, how
        many there are.
    improved : callable
        Told after the first choice for the loop and after each round of routing again:
        how many rounds there were, and the candidates that are best so far.
    explaining : callable
        Told the name of a run that is not in the loop before it is tried what would
        help it.
    """

    started: Started = lambda _name, _number, _count: None
    improved: Improved = lambda _rounds, _best: None
    explaining: Explaining = lambda _name: None


SILENT: Final = Progress()
