"""One run as the bench sees it: its tube, its bends, what holds its ends."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopsolver.errors import PlanError
from loopsolver.geometry.vectors import Point
from loopsolver.plan import Plan, PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Fitting, Port
from loopsolver.tolerances import CLOSURE
from loopsolver.tube.bend_table import BendTable, bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.stock import Tube
from loopsolver.units import LengthUnit
from loopsolver.workshop.wording import (
    PaperUnit,
    length_words,
    number_words,
    paper_unit,
    size_words,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetEnd:
    """What a tube end goes into: the port's full name, and its fitting if it has one."""

    port: str
    fitting: Fitting | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """All that is needed to draw the sheets of one run. Lengths in millimetres.

    Attributes
    ----------
    title : str
        Of the scene.
    number : int
        Of the run in its plan, counted from 1, as on every sheet.
    name : str
        Of the run.
    units : LengthUnit
        What the person at the bench measures in.
    table : BendTable
        Of `centreline`.
    """

    title: str
    number: int
    name: str
    units: LengthUnit
    tube: Tube
    trim_allowance: float
    centreline: Centreline
    table: BendTable
    first: SheetEnd
    last: SheetEnd

    @property
    def unit(self) -> PaperUnit:
        """What its lengths are written in."""
        return paper_unit(self.units)

    def length(self, mm: float) -> str:
        """Return a length with its unit, in inches for a scene measured in inches."""
        return length_words(mm, self.unit)

    def bare(self, mm: float) -> str:
        """Return a length without its unit, which a heading says."""
        return number_words(mm, self.unit)

    def size(self, mm: float) -> str:
        """Return a diameter or radius with its unit."""
        return size_words(mm, self.unit)


def job_of(plan: Plan, run: PlannedRun) -> Job:
    """Return the chosen candidate of a run as a job for the bench.

    Raises
    ------
    PlanError
        If no candidate of the run is chosen.
    """
    candidate = run.chosen_candidate
    if candidate is None:
        why = f": {' '.join(run.why.splitlines())}" if run.why else ""
        msg = f"run {run.name!r} has no chosen candidate, so there is no sheet{why}"
        raise PlanError(msg)
    scene = plan.scene
    line = candidate.centreline
    return Job(
        title=scene.title,
        number=1 + [one.name for one in plan.runs].index(run.name),
        name=run.name,
        units=scene.units,
        tube=scene.tube,
        trim_allowance=candidate.trim_allowance,
        centreline=line,
        table=bend_table(line),
        first=_end_of(plan, candidate, run.from_port, 0),
        last=_end_of(plan, candidate, run.to_port, -1),
    )


def _end_of(plan: Plan, candidate: Candidate, port_name: str, which: int) -> SheetEnd:
    """Return the first (0) or last (-1) end of a candidate with what holds it.

    The candidate knows best: a run may leave the choice of port and fitting to it.
    """
    if not candidate.ends:
        port = plan.scene.port(port_name)
        return _end(port, candidate.centreline.vertices[which])
    held = candidate.ends[which]
    port = plan.scene.port(held.port)
    named = [one for one in port.fittings if one.name == held.fitting]
    return SheetEnd(port=port.name, fitting=named[0] if named else None)


def _end(port: Port, seat: Point) -> SheetEnd:
    """Return a tube end with the fitting whose seat lies where the tube ends."""
    for fitting in port.fittings:
        if _seats(port, fitting, seat):
            return SheetEnd(port=port.name, fitting=fitting)
    return SheetEnd(port=port.name, fitting=port.fittings[0] if port.fittings else None)


def _seats(port: Port, fitting: Fitting, seat: Point) -> bool:
    """Return whether a tube end at `seat` can sit in a fitting on a port.

    A straight fitting's seat lies on the port's axis; an elbow's swivels round it.
    """
    turn = math.radians(fitting.turn_deg)
    if fitting.turn_deg == 0.0:
        along, across = fitting.height - fitting.depth, 0.0
    else:
        out = fitting.reach - fitting.depth
        along, across = fitting.height + out * math.cos(turn), out * math.sin(turn)
    away = [s - p for s, p in zip(seat, port.position, strict=True)]
    found = sum(a * d for a, d in zip(away, port.direction, strict=True))
    aside = math.sqrt(max(0.0, sum(a * a for a in away) - found * found))
    return abs(found - along) <= CLOSURE and abs(aside - across) <= CLOSURE
