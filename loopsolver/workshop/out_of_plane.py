"""What of a bent tube stands up from a plane's sheet, or hangs below it."""

from __future__ import annotations

from collections.abc import Iterable

from loopsolver.geometry.vectors import Point, cross, difference, dot, offset, unit
from loopsolver.tube.centreline import BendArc, Straight, heights_along, pieces
from loopsolver.workshop.flat import FlatPlane
from loopsolver.workshop.job import Job

Reach = tuple[float, float]
"""How far something reaches below a sheet and above it: lowest and highest [mm]."""


def reach_before(job: Job, plane: FlatPlane) -> Reach:
    """Return lowest and highest height over a sheet of the tube before its bends [mm].

    Of the centre line over that of the plane, trim allowance and all.
    """
    start, onward = job.centreline.vertices[:2]
    parts = pieces(job.centreline)[: 2 * plane.bends[0].number - 1]
    return _reach(job, plane, parts, _trim_end(job, start, onward))


def reach_after(job: Job, plane: FlatPlane) -> Reach:
    """Return lowest and highest height over a sheet of the tube after its bends [mm]."""
    back, end = job.centreline.vertices[-2:]
    parts = pieces(job.centreline)[2 * plane.bends[-1].number :]
    return _reach(job, plane, parts, _trim_end(job, end, back))


def words_out_of_plane(job: Job, plane: FlatPlane) -> tuple[str, ...]:
    """Return how the rest of the tube stands to a sheet, in sentences.

    Tube that hangs below the sheet keeps the rest from lying flat on it. Neither is
    said of what stays within the tube's radius of the plane.
    """
    says: list[str] = []
    if plane.turn_before_deg is not None:
        says += _sentence(
            f"The tube before bend {plane.bends[0].number}",
            reach_before(job, plane),
            job,
            instead=_other_set(plane),
        )
    if plane.turn_after_deg is not None:
        says += _sentence(
            f"With all bends made, the tube after bend {plane.bends[-1].number}",
            reach_after(job, plane),
            job,
        )
    return tuple(says)


def _sentence(what: str, reach: Reach, job: Job, *, instead: str = "") -> list[str]:
    """Return whether a part of the tube stands up or hangs below, if it does either.

    `instead` is what would help where it only hangs below.
    """
    lowest, highest = reach
    stands, hangs = highest > job.tube.radius, lowest < -job.tube.radius
    if not hangs:
        return [f"{what} stands up from this sheet."] if stands else []
    says = "stands up from this sheet and " if stands else ""
    return [
        f"{what} {says}hangs below {'it' if stands else 'this sheet'} by up to "
        f"{job.length(-lowest)}: let it hang over the table's edge"
        f"{'' if stands else instead}."
    ]


def _other_set(plane: FlatPlane) -> str:
    """Return that by the other set of sheets, up and down are exchanged."""
    if plane.is_mirrored:
        return ", or bend by the plain set, printed without --mirror"
    return ", or bend by the mirrored set, printed with --mirror"


def _trim_end(job: Job, end: Point, inner: Point) -> Straight:
    """Return what is trimmed off at a tube end, as a straight."""
    out = unit(difference(end, inner))
    return Straight(start=end, end=offset(end, out, job.trim_allowance))


def _reach(
    job: Job, plane: FlatPlane, parts: Iterable[Straight | BendArc], trim: Straight
) -> Reach:
    """Return lowest and highest height of pieces over a plane's sheet [mm]."""
    first = plane.bends[0]
    before, at, after = job.centreline.vertices[first.number - 1 : first.number + 2]
    arriving, leaving = difference(at, before), difference(after, at)
    sides = (arriving, leaving) if first.side > 0 else (leaving, arriving)
    up = unit(cross(*sides))
    level = dot(up, at)
    heights = [h - level for part in (*parts, trim) for h in heights_along(part, up)]
    return min(heights), max(heights)
