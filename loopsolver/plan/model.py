"""A plan as frozen values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from loopsolver.errors import PlanError
from loopsolver.geometry.vectors import Point
from loopsolver.routing.control import Ended
from loopsolver.routing.diagnosis.no_route import InTheWay
from loopsolver.routing.problem import Candidate
from loopsolver.scene.circuit import loop_parts
from loopsolver.scene.model import Scene
from loopsolver.words import numbered, quoted

if TYPE_CHECKING:
    from loopsolver.plan.judging import Used


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRun:
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
    """

    name: str
    from_port: str
    to_port: str
    candidates: tuple[Candidate, ...]
    chosen: int | None
    why: str | None = None
    in_the_way: tuple[InTheWay, ...] = ()
    refused: int = 0

    @property
    def chosen_candidate(self) -> Candidate | None:
        """The chosen candidate, or None."""
        return None if self.chosen is None else self.candidates[self.chosen - 1]

    def candidate(self, rank: int) -> Candidate:
        """Return the candidate of that rank, counted from 1.

        Raises
        ------
        PlanError
            If the run has no such candidate; the message says how many it has.
        """
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The candidates of all runs of a scene, and which one of each is chosen.

    Attributes
    ----------
    scene : Scene
    runs : tuple of PlannedRun
    loop : LoopSummary or None
        How the choice was made; None for a plan whose choices were made by hand.
    is_edited : bool
        Whether it stood in a file that was edited by hand, but for what is chosen, or
        has no sum, as older ones. What no scene can tell is left out of it then.
    """

    scene: Scene
    runs: tuple[PlannedRun, ...]
    loop: LoopSummary | None = None
    is_edited: bool = False

    @property
    def missing(self) -> tuple[str, ...]:
        """The names of those runs of the scene that the plan does not hold."""
        held = {run.name for run in self.runs}
        return tuple(run.name for run in self.scene.runs if run.name not in held)

    @property
    def unlinked(self) -> tuple[str, ...]:
        """The parts of a loop of any order that no run of the plan leaves."""
        loop = self.scene.loop
        if loop is None or loop.order != "any":
            return ()
        left = {run.from_port.split(".", 1)[0] for run in self.runs}
        return tuple(part for part in loop_parts(self.scene) if part not in left)

    def run(self, name: str) -> PlannedRun:
        """Return the run of that name.

        Raises
        ------
        PlanError
            If the plan has no such run; the message lists those it has.
        """
        for run in self.runs:
            if run.name == name:
                return run
        held = quoted(run.name for run in self.runs) or "none"
        msg = f"no run {name!r} in this plan; there are {held}"
        raise PlanError(msg)

    def to_json(self, *, scene_path: str) -> str:
        """Return the plan file's text; `scene_path` is what stands under "scene"."""
        from loopsolver.plan.file import plan_text

        return plan_text(self, scene_path=scene_path)

    def write(
        self, path: Path | str, *, scene_path: Path | str, force: bool = False
    ) -> None:
        """Write the plan file, whole or not at all.

        Parameters
        ----------
        path : Path or str
            Of the plan file.
        scene_path : Path or str
            Of the scene's file; the plan names it as seen from its own folder.
        force : bool
            Write over a file that is no plan of loopsolver's.

        Raises
        ------
        OutputError
            If the file cannot be written, or if what stands there is no plan of
            loopsolver's.
        """
        from loopsolver.plan.file import write_plan

        write_plan(self, Path(path), scene_path=Path(scene_path), force=force)

    @classmethod
    def read(cls, path: Path | str, *, used: Used | None = None) -> Plan:
        """Return the plan in a plan file, judged against its scene, which is read again.

        Parameters
        ----------
        path : Path or str
            Of the plan file.
        used : Used, optional
            Which candidates of a run are going to be used, by rank. The others are not
            judged and must not be shown; left out, every one is judged.

        Raises
        ------
        PlanError
            If it is no plan, if something in it is not so, or if its scene is not there
            or has changed since.
        """
        from loopsolver.plan.file import load_plan
        from loopsolver.plan.judging import every_candidate

        return load_plan(Path(path), used=used or every_candidate)
