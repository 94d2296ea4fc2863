"""What of a bent tube stands up from a plane's sheet, or hangs below it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loopsolver.geometry.vectors import Point, cross, difference, dot, offset, unit
from loopsolver.tube.centreline import BendArc, Straight, heights_along, pieces
from loopsolver.workshop.flat import FlatPlane
from loopsolver.workshop.job import Job

Reach = tuple[float, float]
"""How far something reaches below a sheet and above it: lowest and highest [mm]."""


def words_out_of_plane(job: Job, plane: FlatPlane) -> tuple[str, ...]:
    """Return how the rest of the tube stands to a sheet, in sentences.

    Tube that hangs below the sheet keeps the rest from lying flat on it. Neither is
    said of what stays within the tube's radius of the plane.
    """
    says: list[str] = []
    line = job.centreline
    parts, points = pieces(line), line.vertices
    other = (
        "plain set, printed without"
        if plane.is_mirrored
        else "mirrored set, printed with"
    )
    if plane.turn_before_deg is not None:
        says += _sentence(
            f"The tube before bend {plane.bends[0].number}",
            _reach(job, plane, parts[: 2 * plane.bends[0].number - 1], points[:2]),
            job,
            instead=f", or bend by the {other} --mirror",
        )
    if plane.turn_after_deg is not None:
        says += _sentence(
            f"With all bends made, the tube after bend {plane.bends[-1].number}",
            _reach(job, plane, parts[2 * plane.bends[-1].number :], points[:-3:-1]),
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


def _reach(
    job: Job,
    plane: FlatPlane,
    parts: Iterable[Straight | BendArc],
    end: Sequence[Point],
) -> Reach:
    """Return lowest and highest height of pieces over a plane's sheet [mm].

    Parameters
    ----------
    end : sequence of Point
        The tube's end that they lead to, where it is trimmed, and the vertex next to it.
    """
    first = plane.bends[0]
    before, at, after = job.centreline.vertices[first.number - 1 : first.number + 2]
    arriving, leaving = difference(at, before), difference(after, at)
    sides = (arriving, leaving) if first.side > 0 else (leaving, arriving)
    up = unit(cross(*sides))
    level = dot(up, at)
    out = unit(difference(end[0], end[1]))
    trim = Straight(start=end[0], end=offset(end[0], out, job.trim_allowance))
    heights = [h - level for part in (*parts, trim) for h in heights_along(part, up)]
    return min(heights), max(heights)
