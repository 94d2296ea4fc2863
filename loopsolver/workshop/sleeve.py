"""The paper sleeve for a blank: where every bend and turn comes to lie on it.

It is as wide as the tube's circumference, so that round the tube a degree is always
the same length, and as long as the blank. x runs along the blank from its first end,
y round it. Printed side out, with the first end on the left, y grows anticlockwise as
seen along the tube from its first end; a rotation of the bend table, which is
clockwise where positive, therefore goes towards smaller y.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Final

from loopsolver.drafting.drawing import Place, Polygon
from loopsolver.tolerances import ORDER_DECIMALS, TIDY_DECIMALS
from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.marks import BendMark
from loopsolver.workshop.bench_figures import job_marks
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers

HALF: Final = 2.0
"""Half a diamond's width and height [mm]: a knife cuts it, a pen point goes in."""

DISC: Final = 3.2
"""Radius of the disc with a bend's number [mm]."""

_BETWEEN: Final = 0.6  # paper left between two diamonds, and beside a disc [mm]


def degree_width(outer_diameter: float) -> float:
    """Return the width of one degree on a strip round a tube [mm].

    Notes
    -----
    ``pi D / 360``, for paper that is thin against the tube.
    """
    return math.pi * outer_diameter / 360.0


def turn_lines(table: BendTable) -> tuple[float, ...]:
    """Return where each bend's inside lies round the tube [degrees], bend 1 at 0.

    Clockwise as seen along the tube from its first end, from 0 to below 360.
    """
    turns_deg = [0.0, *accumulate(bend.rotation_deg for bend in table.bends[1:])]
    return tuple(
        round(turned_deg % 360.0, TIDY_DECIMALS) % 360.0
        for turned_deg in turns_deg[: len(table.bends)]
    )


def seam_deg(lines: Iterable[float]) -> float:
    """Return the direction round the tube that is furthest from every bend's inside.

    The middle of the widest gap, the first of equal ones; the strip's edges meet there.
    """
    angles_deg = sorted(set(lines)) or [0.0]
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
    outer = job.tube.outer_diameter
    lines = turn_lines(job.table)
    at_seam_deg = seam_deg(lines)
    return Sleeve(
        job=job,
        length=job.blank,
        top=math.pi * outer,
        seam_deg=at_seam_deg,
        bends=tuple(
            SleeveBend(
                mark=mark,
                angle_deg=bend.angle_deg,
                height=strip_height(line, seam_deg=at_seam_deg, outer_diameter=outer),
            )
            for mark, bend, line in zip(
                job_marks(job), job.table.bends, lines, strict=True
            )
        ),
    )


def strip_marks(sleeve: Sleeve) -> tuple[list[Place], list[Place]]:
    """Return the diamonds of a strip and the discs beside them.

    Centres come first, then starts, then ends. What would run into another diamond, or
    over the strip's edge, has none; nor has the centre of a bend whose disc finds no
    other place.
    """
    windows: list[Place] = []
    for part in ("centre", "start", "end"):
        for bend in sleeve.bends:
            place = (getattr(bend.mark, part), bend.height)
            if _is_inside(sleeve, place, HALF) and not _meets(place, windows):
                windows.append(place)
    discs: list[Place] = []
    for bend in sleeve.bends:
        disc = _disc(sleeve, bend, windows, discs)
        discs.append(disc)
        windows = [one for one in windows if not _is_under(one, disc)]
    return windows, discs


def diamond(place: Place) -> Polygon:
    """Return the diamond round a place, white inside."""
    x, y = place
    return Polygon(
        points=((x - HALF, y), (x, y - HALF), (x + HALF, y), (x, y + HALF)),
        layer=Layers.WINDOW,
        fill=1.0,
    )


def flap_diamond(place: Place, *, top: float, flap: float) -> Polygon | None:
    """Return what is cut out of the flap that lies under a diamond; None if none does.

    The flap goes on beyond the strip's upper edge, at `top`, and when wrapped lies under
    the lower one. A diamond over the flap's own edge becomes a notch.
    """
    x, y = place
    up, edge = y + top, top + flap
    if y - HALF >= flap:
        return None
    if y + HALF <= flap:
        return diamond((x, up))
    half = HALF - abs(flap - y)
    sides = ((x - HALF, up), (x + HALF, up)) if y < flap else ()
    points = (
        *sides[:1],
        (x, up - HALF),
        *sides[1:],
        (x + half, edge),
        (x - half, edge),
    )
    return Polygon(points=points, layer=Layers.WINDOW, fill=1.0)


def _disc(
    sleeve: Sleeve, bend: SleeveBend, windows: Sequence[Place], discs: Sequence[Place]
) -> Place:
    """Return the first free place for a bend's disc, its centre if none is."""
    x, y = bend.mark.centre, bend.height
    off = HALF + DISC + _BETWEEN
    for place in ((x, y + off), (x, y - off), (x + off, y), (x - off, y)):
        if (
            _is_inside(sleeve, place, DISC)
            and not any(_is_under(one, place) for one in windows)
            and all(math.dist(place, one) > 2.0 * DISC + _BETWEEN for one in discs)
        ):
            return place
    return (x, y)


def _is_inside(sleeve: Sleeve, place: Place, reach: float) -> bool:
    """Return whether what reaches so far round a place lies on the strip."""
    x, y = place
    room = reach + _BETWEEN
    return room <= x <= sleeve.length - room and room <= y <= sleeve.top - room


def _meets(place: Place, windows: Sequence[Place]) -> bool:
    """Return whether a diamond would run into another one."""
    apart = 2.0 * HALF + _BETWEEN
    return any(abs(place[0] - x) + abs(place[1] - y) < apart for x, y in windows)


def _is_under(window: Place, disc: Place) -> bool:
    """Return whether a disc would cover part of a diamond."""
    return math.dist(window, disc) < HALF + DISC
