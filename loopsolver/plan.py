"""Plan: the candidates of every run and which one is chosen; to and from JSON."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from loopsolver.geometry.vectors import Point
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene


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
        The reason in words where there is no route.
    refused : int
        Routes of the search that failed the independent check; 0 unless it is at fault.
    """

    name: str
    from_port: str
    to_port: str
    candidates: tuple[Candidate, ...]
    chosen: int | None
    why: str | None = None
    refused: int = 0

    @property
    def chosen_candidate(self) -> Candidate | None:
        """The chosen candidate, or None."""
        return None if self.chosen is None else self.candidates[self.chosen - 1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """Two chosen tubes that come nearer to each other than the clearance."""

    first: str
    second: str
    gap: float
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The candidates of all runs of a scene, and which one of each is chosen."""

    scene: Scene
    runs: tuple[PlannedRun, ...]

    def to_json(self, *, scene_path: str) -> str:
        """Return the plan file's text; `scene_path` is what stands under "scene"."""
        raise NotImplementedError

    def write(self, path: Path, *, scene_path: Path, force: bool = False) -> None:
        """Write the plan file, whole or not at all.

        Raises
        ------
        OutputError
            If the file cannot be written, or stands there and is no plan of loopsolver's.
        """
        raise NotImplementedError

    @classmethod
    def read(cls, path: Path) -> Plan:
        """Return the plan in a plan file, its scene read again and compared.

        Raises
        ------
        PlanError
            If it is no plan, or its scene is not there or has changed since.
        """
        raise NotImplementedError


def touches(plan: Plan) -> tuple[Touch, ...]:
    """Return every pair of chosen tubes nearer to each other than the clearance."""
    raise NotImplementedError
