"""The paper sleeve for a blank: where every bend and turn comes to lie on it.

It is as wide as the tube's circumference, so that round the tube a degree is always
the same length, and as long as the blank. x runs along the blank from its first end,
y round it. Printed side out, with the first end on the left, y grows anticlockwise as
seen along the tube from its first end; a rotation of the bend table, which is
clockwise where positive, therefore goes towards smaller y.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from loopsolver.tolerances import ORDER_DECIMALS, TIDY_DECIMALS
from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.marks import BendMark, bend_marks, blank_length
from loopsolver.workshop.job import Job


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnLine:
    """Where the inside of a bend lies round the tube.

    Attributes
    ----------
    number : int
        Of the bend.
    turned_deg : float
        Sum of the rotations since bend 1, clockwise as seen from the first end, in
        [0, 360).
    """

    number: int
    turned_deg: float


def degree_width(outer_diameter: float) -> float:
    """Return the width of one degree on a strip round a tube [mm].

    Notes
    -----
    ``pi D / 360``, for paper that is thin against the tube.
    """
    return math.pi * outer_diameter / 360.0


def turn_lines(table: BendTable) -> tuple[TurnLine, ...]:
    """Return where each bend's inside lies round the tube, bend 1 at 0 degrees."""
    turned_deg = 0.0
    lines: list[TurnLine] = []
    for number, bend in enumerate(table.bends, start=1):
        turned_deg += bend.rotation_deg if number > 1 else 0.0
        rounded_deg = round(turned_deg % 360.0, TIDY_DECIMALS) % 360.0
        lines.append(TurnLine(number=number, turned_deg=rounded_deg))
    return tuple(lines)


def seam_deg(lines: tuple[TurnLine, ...]) -> float:
    """Return the direction round the tube that is furthest from every bend's inside.

    The middle of the widest gap, the first of equal ones; the strip's edges meet there.
    """
    angles_deg = sorted({line.turned_deg for line in lines}) or [0.0]
    gaps_deg = [*pairwise(angles_deg), (angles_deg[-1], angles_deg[0] + 360.0)]
    start_deg, end_deg = max(
        gaps_deg, key=lambda gap: round(gap[1] - gap[0], ORDER_DECIMALS)
    )
    return ((start_deg + end_deg) / 2.0) % 360.0


def strip_height(turned_deg: float, *, seam_deg: float, outer_diameter: float) -> float:
    """Return y on the strip of a direction round the tube [mm]; 0 at the seam."""
    return ((seam_deg - turned_deg) % 360.0) * degree_width(outer_diameter)


@dataclass(frozen=True, slots=True, kw_only=True)
class SleeveBend:
    """One bend on the sleeve.

    Attributes
    ----------
    mark : BendMark
        Where it lies along the blank.
    angle_deg : float
    height : float
        y of its inside [mm].
    """

    mark: BendMark
    angle_deg: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sleeve:
    """A sleeve laid flat, its lower left corner at (0, 0).

    Attributes
    ----------
    length, top : float
        Along the blank and round it [mm].
    seam_deg : float
        Direction round the tube at which its long edges meet [degrees].
    """

    job: Job
    length: float
    top: float
    seam_deg: float
    bends: tuple[SleeveBend, ...]

    @property
    def cuts(self) -> tuple[float, float]:
        """Where the bent tube is cut at its first and last end [mm]."""
        return self.job.trim_allowance, self.length - self.job.trim_allowance

    def height(self, turned_deg: float) -> float:
        """Return y of a direction round the tube [mm]."""
        outer = self.job.tube.outer_diameter
        return strip_height(turned_deg, seam_deg=self.seam_deg, outer_diameter=outer)


def sleeve_of(job: Job) -> Sleeve:
    """Return the sleeve for a job's blank."""
    outer, trim = job.tube.outer_diameter, job.trim_allowance
    lines = turn_lines(job.table)
    at_seam_deg = seam_deg(lines)
    marks = bend_marks(job.table, trim_allowance=trim, outer_diameter=outer)
    return Sleeve(
        job=job,
        length=blank_length(job.table, trim_allowance=trim),
        top=math.pi * outer,
        seam_deg=at_seam_deg,
        bends=tuple(
            SleeveBend(
                mark=mark,
                angle_deg=bend.angle_deg,
                height=strip_height(
                    line.turned_deg, seam_deg=at_seam_deg, outer_diameter=outer
                ),
            )
            for mark, bend, line in zip(marks, job.table.bends, lines, strict=True)
        ),
    )
