"""A candidate in figures: bends, lengths, gaps, and its bend table in columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loopsolver.clearance.gap import is_clear
from loopsolver.lengths import Lengths, fixed
from loopsolver.report.angles import departure
from loopsolver.report.nearness import within_or_into
from loopsolver.report.turns import angles_and_turns
from loopsolver.routing.problem import Candidate
from loopsolver.tube.bend_table import BendTable
from loopsolver.view.panel_lines import PanelLine, figure, wrapped
from loopsolver.words import counted, listed


@dataclass(frozen=True, slots=True, kw_only=True)
class NearTube:
    """The tube of another run that is nearest to the one shown.

    `gap` is from surface to surface [mm], negative where they run into each other.
    """

    run: str
    gap: float


def bend_table_lines(
    table: BendTable, *, lengths: Lengths, departures_deg: Sequence[float] = ()
) -> tuple[PanelLine, ...]:
    """Return the bend table in columns: one row a bend, then the closing straight.

    Parameters
    ----------
    table : BendTable
    lengths : Lengths
        How lengths are shown.
    departures_deg : sequence of float
        How far each bend is from a standard angle, where any angle was allowed: one a
        bend, or none and no column for them.
    """
    names = ["straight", "rotation", "angle"]
    units = [f"L {lengths.unit}", "R deg", "A deg"]
    rows = [
        [
            lengths.number(bend.straight),
            fixed(bend.rotation_deg, 1),
            fixed(bend.angle_deg, 1),
        ]
        for bend in table.bends
    ]
    if departures_deg:
        names.append("off by")
        units.append("deg")
        for row, off_deg in zip(rows, departures_deg, strict=True):
            row.append(departure(off_deg))
    width = 9 if departures_deg else 11

    def line(first: str, cells: Sequence[str]) -> str:
        return f"{first:>4}" + "".join(f"{cell:>{width}}" for cell in cells)

    lines = [
        PanelLine(text=line("bend", names), style="faint"),
        PanelLine(text=line("", units), style="faint"),
        *(
            PanelLine(text=line(str(number), row))
            for number, row in enumerate(rows, start=1)
        ),
        PanelLine(text=line("end", [lengths.number(table.closing_straight)])),
    ]
    if departures_deg:
        lines += wrapped("off by: from the nearest standard angle", style="faint")
    return tuple(lines)


def candidate_lines(
    candidate: Candidate,
    *,
    clearance: float,
    near: NearTube | None,
    lengths: Lengths,
    formers: Sequence[float] = (),
) -> tuple[PanelLine, ...]:
    """Return the figures of a candidate.

    Parameters
    ----------
    candidate : Candidate
    clearance : float
        Least gap that the rules ask for [mm].
    near : NearTube or None
        The nearest chosen tube of another run.
    lengths : Lengths
        How lengths are shown.
    formers : sequence of float
        Centre-line radii of the formers that the run may be bent round [mm].
    """
    text = lengths.text
    bends = str(candidate.bends)
    if candidate.bends:
        bends += f" in {counted(candidate.planes, 'plane')}"
    shape = angles_and_turns(candidate.table)
    radius = text(candidate.centreline.radius)
    if len(formers) > 1:
        either = [lengths.short(former) for former in formers]
        radius += f", of {listed(either, last='or')}"
    lines = [
        *figure("bends", bends),
        *(figure("degrees", shape) if candidate.bends else ()),
        *_elbow_lines(candidate),
        *figure("length", text(candidate.length)),
        *figure("blank", text(candidate.blank)),
        *figure("bend radius", radius),
        *figure("gap", f"{text(candidate.gap.distance)} to {candidate.gap.name}"),
    ]
    if near is None:
        return tuple(lines)
    if is_clear(near.gap, clearance):
        nearest = f"{text(near.gap)} to {near.run}"
        return (*lines, *figure("nearest tube", nearest))
    other = f"the tube of {near.run}"
    problem = f"{text(near.gap)} to {other}"
    if near.gap < 0.0:
        problem = within_or_into(near.gap, other, text=text)
    problem += f"; {text(clearance)} is wanted"
    return (*lines, *wrapped(problem, style="warning"))


def _elbow_lines(candidate: Candidate) -> list[PanelLine]:
    """Return how many elbows there are and at which ports; nothing if there are none."""
    if not candidate.elbows:
        return []
    ports = " and ".join(end.port for end in candidate.ends if end.is_elbow)
    return figure("elbows", f"{candidate.elbows}, at {ports}")
