"""One run as the bench sees it: its tube, its bends, what holds its ends."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopsolver.drafting.paging import Foot
from loopsolver.errors import PlanError
from loopsolver.geometry.vectors import Point, difference, dot
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan import Plan, PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Fitting, Port
from loopsolver.tolerances import CLOSURE
from loopsolver.tube.bend_table import BendTable, bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.marks import blank_length
from loopsolver.tube.stock import Tube
from loopsolver.units import LengthUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetEnd:
    """What a tube end goes into: the port's full name, and its fitting if it has one."""

    port: str
    fitting: Fitting | None

    @property
    def depth(self) -> float:
        """How far the tube goes in [mm]; 0 without a fitting."""
        return 0.0 if self.fitting is None else self.fitting.depth


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
    def blank(self) -> float:
        """Length of its blank [mm]."""
        return blank_length(
            self.table, trim_allowance=self.trim_allowance, take_up=self.tube.take_up
        )

    @property
    def finished(self) -> float:
        """Length of the tube that is left when both ends are cut [mm]."""
        return self.blank - 2.0 * self.trim_allowance

    @property
    def lengths(self) -> Lengths:
        """How its lengths are written."""
        return lengths_for(self.units)

    def length(self, mm: float) -> str:
        """Return a length with its unit, in inches for a scene measured in inches."""
        return self.lengths.plain(mm)

    def bare(self, mm: float) -> str:
        """Return a length without its unit, which a heading says."""
        return self.lengths.number(mm)

    def span(self, start: float, end: float) -> str:
        """Return from where to where along the blank, the unit said once."""
        return f"{self.bare(start)} to {self.length(end)}"

    def size(self, mm: float) -> str:
        """Return a diameter or radius with its unit."""
        return self.lengths.size(mm)

    def foot(self, what: str, *lines: str, belongs: str) -> Foot:
        """Return what stands at the foot of the pages that are about the run."""
        return Foot(
            name=f"{self.number} {self.name}",
            what=what,
            lines=lines,
            units=self.units,
            belongs=belongs,
        )


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
        seat = candidate.centreline.vertices[which]
        seated = [one for one in port.fittings if _seats(port, one, seat)]
        found = next(iter((*seated, *port.fittings)), None)
        return SheetEnd(port=port.name, fitting=found)
    held = candidate.ends[which]
    port = plan.scene.port(held.port)
    named = [one for one in port.fittings if one.name == held.fitting]
    return SheetEnd(port=port.name, fitting=named[0] if named else None)


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
    away = difference(seat, port.position)
    found = dot(away, port.direction)
    aside = math.sqrt(max(0.0, dot(away, away) - found * found))
    return abs(found - along) <= CLOSURE and abs(aside - across) <= CLOSURE
