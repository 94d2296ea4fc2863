"""What of a bent tube stands up from a plane's sheet, or hangs below it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

import numpy as np

from loopsolver.geometry.vectors import Array, Point
from loopsolver.tube.centreline import Arc, Straight, pieces
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
    """Return the same of the tube after a plane's bends, all of it bent [mm]."""
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
    seat = np.asarray(end)
    out = seat - inner
    tip = seat + job.trim_allowance * out / np.linalg.norm(out)
    return Straight(start=end, end=(float(tip[0]), float(tip[1]), float(tip[2])))


def _reach(
    job: Job, plane: FlatPlane, parts: Iterable[Straight | Arc], trim: Straight
) -> Reach:
    """Return lowest and highest height of pieces over a plane's sheet [mm]."""
    first = plane.bends[0]
    before, at, after = np.asarray(
        job.centreline.vertices[first.number - 1 : first.number + 2]
    )
    normal = np.cross(at - before, after - at)
    up = first.side * normal / np.linalg.norm(normal)
    heights = [h for part in (*parts, trim) for h in _heights(part, at, up)]
    return min(heights), max(heights)


def _heights(piece: Straight | Arc, at: Array, up: Array) -> Iterator[float]:
    """Yield the heights of a piece's ends, and of an arc's turning points [mm].

    Notes
    -----
    On an arc the height is ``c + r (u cos t + v sin t)``, which turns where
    ``tan t = v / u``.
    """
    if isinstance(piece, Straight):
        yield float((np.asarray(piece.start) - at) @ up)
        yield float((np.asarray(piece.end) - at) @ up)
        return
    u, v = float(np.asarray(piece.u) @ up), float(np.asarray(piece.v) @ up)
    middle = float((np.asarray(piece.centre) - at) @ up)
    top = math.atan2(v, u)
    for angle in (0.0, piece.angle, top, top + math.pi, top - math.pi):
        if 0.0 <= angle <= piece.angle:
            yield middle + piece.radius * (u * math.cos(angle) + v * math.sin(angle))
