"""What a plan holds, as frozen values: its runs, how they were chosen, what touches."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from loopsolver.errors import PlanError
from loopsolver.geometry.vectors import Point
from loopsolver.routing.control import Ended
from loopsolver.routing.diagnosis.no_route import InTheWay
from loopsolver.routing.problem import Candidate
from loopsolver.showing import Shown
from loopsolver.words import numbered

AS_BUILT: Final = 0
"""Stands where ranks do for the tube as it was built: no candidate has this rank."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRun(Shown):
    """One run of a plan.

    Attributes
    ----------
    from_port, to_port : str
        Full port names.
    candidates : tuple of Candidate
        Best first; the rank of a candidate is its place, counted from 1.
    chosen : int or None
        Rank of the chosen candidate; None where there is none.
    why : str or None
        The reason in words where no candidate is chosen; first what is in the way, then
        perhaps lines with what would help.
    in_the_way : tuple of InTheWay
        Where it has candidates and none fits beside the other runs: those in its way,
        as they are chosen.
    refused : int
        Routes of the search that failed the independent check; 0 unless it is at fault.
    built : Candidate or None
        The tube as it was bent and measured, where one was kept. It need not sit in its
        fittings to the hundredth, nor keep the rules that candidates keep.
    """

    name: str
    from_port: str
    to_port: str
    candidates: tuple[Candidate, ...]
    chosen: int | None
    why: str | None = None
    in_the_way: tuple[InTheWay, ...] = ()
    refused: int = 0
    built: Candidate | None = None

    @property
    def chosen_candidate(self) -> Candidate | None:
        """The chosen candidate, or None."""
        return None if self.chosen is None else self.candidates[self.chosen - 1]

    @property
    def tube_in_place(self) -> Candidate | None:
        """The tube as built, else the chosen candidate, or None."""
        return self.built or self.chosen_candidate

    @property
    def rank_in_place(self) -> int | None:
        """`AS_BUILT` where there is a built tube, else the chosen rank, or None."""
        return self.chosen if self.built is None else AS_BUILT

    @property
    def ranks(self) -> tuple[int, ...]:
        """The ranks of its candidates, best first."""
        return tuple(range(1, len(self.candidates) + 1))

    def candidate(self, rank: int) -> Candidate:
        """Return the candidate of that rank, counted from 1; `AS_BUILT` is the built tube.

        Raises
        ------
        PlanError
            If the run has no such candidate; the message says how many it has.
        """
        if rank == AS_BUILT and self.built is not None:
            return self.built
        if not 1 <= rank <= len(self.candidates):
            held = numbered(len(self.candidates), "candidate")
            msg = f"run {self.name!r} has no candidate {rank}; it has {held}"
            raise PlanError(msg)
        return self.candidates[rank - 1]

    def from_other_end(self) -> PlannedRun:
        """Return the same tubes told from their other end: first and last exchanged."""
        return replace(
            self,
            from_port=self.to_port,
            to_port=self.from_port,
            candidates=tuple(one.from_other_end() for one in self.candidates),
            built=None if self.built is None else self.built.from_other_end(),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """Two chosen tubes that come nearer to each other than the clearance.

    Attributes
    ----------
    first, second : str
        Names of the two runs, in the order of the plan.
    gap : float
        Between the tubes' outer surfaces; negative where they run into each other [mm].
    at : Point
        Half way between the nearest points of the two centre lines [mm].
    """

    first: str
    second: str
    gap: float
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class WouldFit:
    """Changes with which all runs of a loop would have their tube: in words, and figures.

    Attributes
    ----------
    changes : str
    runs, bends, elbows : int
    length : float
        Of all tubes, trimmed [mm].
    """

    changes: str
    runs: int
    bends: int
    elbows: int
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopSummary:
    """How the choice for the whole loop was made, and how good it can be said to be.

    Attributes
    ----------
    by : str
        What was to be least: a name in `RANKINGS`.
    total : tuple of float
        Its sum over the chosen candidates, part by part.
    bound : tuple of float
        The same if tubes could pass through each other: no choice can be better.
    is_proven : bool
        Whether no better choice can be made from the routes that were found, but for
        the length that was given for tubes that run parallel.
    ended : Ended
        How the search ended.
    kept : tuple of str
        Names of the runs whose candidates were settled before: of the choices without
        these nothing is said.
    rounds, pool : int
        Rounds of routing again, and routes chosen from.
    for_parallel : float
        How much longer the chosen tubes are than the least, for running parallel [mm].
    would_fit : WouldFit or None
        Where runs have no tube: the first change that was found to give all of them one.
    tried : str
        Where none was found: what was tried for the whole loop, in words.
    """

    by: str
    total: tuple[float, ...]
    bound: tuple[float, ...]
    is_proven: bool
    rounds: int
    pool: int
    for_parallel: float = 0.0
    ended: Ended = "done"
    kept: tuple[str, ...] = ()
    would_fit: WouldFit | None = None
    tried: str = ""
