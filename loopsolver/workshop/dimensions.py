"""Distances written on a template as dimensions."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from loopsolver.drafting.drawing import (
    Entity,
    Line,
    Place,
    between,
    direction_deg,
    polar,
)
from loopsolver.drafting.lettering import text_width
from loopsolver.drafting.placing import NEAR_JOINT, Ground, Joints
from loopsolver.drafting.symbols import arrow_head, lettered, readable_deg, spoke
from loopsolver.workshop.flat import FlatPlane
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.tube_shapes import Outlet, end_half_width

FIGURES: Final = 2.8
"""Height of the capitals of dimensions [mm]; readable at arm's length."""

WORDS: Final = 2.4
"""Height of the capitals of notes [mm]."""


def dimension(
    start: Place,
    end: Place,
    *,
    by: float,
    keep: tuple[float, float],
    says: str,
    joints: Joints,
) -> tuple[Entity, ...]:
    """Return the dimension of a distance, its line moved to the left by `by` [mm].

    Parameters
    ----------
    by : float
        To the right where negative.
    keep : two floats
        How far from the two points the extension lines begin [mm].
    """
    along_deg = direction_deg(start, end)
    out_deg = along_deg + math.copysign(90.0, by)
    far = abs(by)
    first, second = polar(start, far, out_deg), polar(end, far, out_deg)
    middle = _uncut(first, second, text_width(says, FIGURES), joints)
    angle_deg = readable_deg(along_deg)
    above = polar(middle, 0.9, angle_deg + 90.0)
    return (
        *(
            spoke(point, (min(clear, far), far + 1.5), out_deg, Layers.DIMENSION)
            for point, clear in zip((start, end), keep, strict=True)
        ),
        Line(start=first, end=second, layer=Layers.DIMENSION),
        arrow_head(first, along_deg + 180.0),
        arrow_head(second, along_deg),
        *lettered(says, above, size=FIGURES, anchor="middle", angle_deg=angle_deg),
    )


def _uncut(start: Place, end: Place, width: float, joints: Joints) -> Place:
    """Return the place along a line, near its middle, where no joint cuts lettering."""
    turn = math.radians(direction_deg(start, end))
    half = (
        0.5 * width * abs(math.cos(turn)) + FIGURES,
        0.5 * width * abs(math.sin(turn)) + FIGURES,
    )
    # What is near to a joint is seen on both pages, on one of them cut.
    for beside in (NEAR_JOINT, 0.0):
        for part in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
            place = between(start, end, part)
            if all(
                abs(cut - place[axis]) > half[axis] + beside
                for axis in (0, 1)
                for cut in joints[axis]
            ):
                return place
    return ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)


def dimensions(
    plane: FlatPlane,
    ends: tuple[Outlet, ...],
    job: Job,
    ground: Ground,
    *,
    joints: Joints,
) -> Iterator[Entity]:
    """Yield the centre-to-centre distances of a plane, each where it is free.

    The figures stay clear of `joints` between pages.
    """
    legs = list(pairwise(plane.points))
    seats = {outlet.seat: end_half_width(outlet.end, job) for outlet in ends}
    for index, (start, end) in enumerate(legs):
        near = plane.bends[max(0, index - 1) : index + 1]
        outside = -1.0 if sum(bend.side for bend in near) >= 0 else 1.0
        keep = (seats.get(start, 0.0) + 1.5, seats.get(end, 0.0) + 1.5)
        least = max(job.tube.radius + 8.0, *(clear + 3.0 for clear in keep))
        by = _free_side(ground, start, end, least=least, outside=outside)
        along_deg = direction_deg(start, end)
        out_deg = along_deg + math.copysign(90.0, by)
        for point, clear in zip((start, end), keep, strict=True):
            ground.take_line(
                polar(point, clear, out_deg), polar(point, abs(by) + 1.5, out_deg)
            )
        first, second = _dimension_strip(start, end, by)
        ground.take_line(first, second, half_width=2.2)
        yield from dimension(
            start,
            end,
            by=by,
            keep=keep,
            says=job.length(math.dist(start, end)),
            joints=joints,
        )


def _dimension_strip(start: Place, end: Place, by: float) -> tuple[Place, Place]:
    """Return the middle of the strip that a dimension line and its figures take."""
    along_deg = direction_deg(start, end)
    up_deg = readable_deg(along_deg) + 90.0
    first, second = (
        polar(polar(point, by, along_deg + 90.0), 1.4, up_deg) for point in (start, end)
    )
    return first, second


def _free_side(
    ground: Ground, start: Place, end: Place, *, least: float, outside: float
) -> float:
    """Return how far to the left a dimension line lies free, negative for right [mm]."""
    along_deg = direction_deg(start, end)
    for step in range(20):
        for side in (outside, -outside):
            by = side * (least + 5.0 * step)
            first, second = _dimension_strip(start, end, by)
            first, second = polar(first, 3.0, along_deg), polar(second, -3.0, along_deg)
            if ground.is_strip_free(first, second, half_width=2.2):
                return by
    return outside * least
