"""Names on a template: of bends, of tube ends, of what goes on elsewhere.

Each is placed where there is room.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from loopsolver.drafting.drawing import (
    Anchor,
    Entity,
    Face,
    Line,
    Place,
    direction_deg,
    polar,
)
from loopsolver.drafting.extent import Extent, around
from loopsolver.drafting.lettering import cut_to_width, text_width
from loopsolver.drafting.placing import Ground
from loopsolver.drafting.symbols import (
    arrow_head,
    lettered,
    numbered_disc,
    readable_deg,
    spoke,
)
from loopsolver.report.angles import degree_sign
from loopsolver.report.bent_tube import hold_at
from loopsolver.workshop.dimensions import WORDS
from loopsolver.workshop.flat import FlatBend, FlatPlane
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.tube_shapes import (
    TANGENT_BEYOND,
    Outlet,
    end_half_width,
    line_across,
)

_BALLOON: Final = 4.2  # radius of the disc with a bend's number [mm]


def bend_labels(plane: FlatPlane, job: Job, ground: Ground) -> Iterator[Entity]:
    """Yield number, angle and radius of each bend, on its inside where free.

    With what to hold it at, where test bends tell: the sheet shows what it then has.
    """
    for bend in plane.bends:
        angle = degree_sign(bend.angle_deg)
        radius = f"R {job.size(job.table.radius)}"
        held = hold_at(job.tube, bend.angle_deg)
        radius = f"hold {held}°, {radius}" if held else radius
        width = (
            2.0 * _BALLOON
            + 2.0
            + max(text_width(angle, 3.4, Face.STRONG), text_width(radius, WORDS))
        )
        middle = _free_middle(
            _round_bend(bend, job), (width, 2.0 * _BALLOON), ground, spare=0.8
        )
        left = middle[0] - width / 2.0
        disc = (left + _BALLOON, middle[1])
        yield from numbered_disc(disc, bend.number, radius=_BALLOON)
        text = left + 2.0 * _BALLOON + 2.0
        yield from lettered(angle, (text, middle[1] + 0.5), size=3.4, face=Face.STRONG)
        yield from lettered(radius, (text, middle[1] - 3.4), size=WORDS)
        ground.take_box(_box(middle, (width, 2.0 * _BALLOON)))


def _box(middle: Place, size: Place) -> Extent:
    """Return a box by its middle, its width and its height."""
    (x, y), (width, height) = middle, size
    return (x - width / 2.0, y - height / 2.0, x + width / 2.0, y + height / 2.0)


def _free_middle(
    wanted: Iterable[Place], size: Place, ground: Ground, *, spare: float
) -> Place:
    """Return the first of the wanted middles at which a box is free, else the last."""
    middle = (0.0, 0.0)
    for middle in wanted:
        if ground.is_free(_box(middle, size), spare=spare):
            break
    return middle


def _round_bend(bend: FlatBend, job: Job) -> Iterator[Place]:
    """Return places near a bend: inside it, then outside, the nearest first."""
    outward_deg = direction_deg(bend.centre, bend.vertex)
    reach = job.table.radius + job.tube.radius
    for step in range(6):
        for aside_deg in (0.0, 20.0, -20.0, 40.0, -40.0):
            yield polar(bend.centre, -9.0 - 3.0 * step, outward_deg + aside_deg)
    for step in range(14):
        for aside_deg in (0.0, 15.0, -15.0, 35.0, -35.0):
            yield polar(bend.centre, reach + 6.0 + 4.0 * step, outward_deg + aside_deg)


def end_marks(
    plane: FlatPlane, ends: tuple[Outlet, ...], job: Job, ground: Ground
) -> Iterator[Entity]:
    """Yield the lettering of seats, mouths, and where the tube leaves the plane."""
    for outlet in ends:
        fitting, out_deg = outlet.end.fitting, outlet.out_deg
        inner_deg = _inner_side_deg(plane, outlet.seat, out_deg)
        half = end_half_width(outlet.end, job)
        yield from _across_label("seat: cut here", outlet.seat, inner_deg, half, ground)
        if fitting is not None:
            mouth = polar(outlet.seat, -fitting.depth, out_deg)
            half = fitting.diameter / 2.0 + 4.0
            yield from _across_label("mouth", mouth, inner_deg, half, ground)
        yield from _trim_label(outlet, job, ground)
    for place, other, says in _leaves(plane):
        along_deg = direction_deg(other, place)
        half = job.tube.radius + TANGENT_BEYOND
        yield line_across(place, along_deg, half, Layers.TANGENT)
        reach = job.tube.radius + 3.0
        yield spoke(place, (0.0, reach), along_deg, Layers.TANGENT)
        yield arrow_head(polar(place, reach + 1.0, along_deg), along_deg)
        inner_deg = _inner_side_deg(plane, place, along_deg)
        yield from _across_label(says, place, inner_deg, half, ground)


def _inner_side_deg(plane: FlatPlane, place: Place, out_deg: float) -> float:
    """Return the direction across a tube end towards the inside of the nearest bend."""
    if not plane.bends:
        return out_deg + 90.0
    bend = min(plane.bends, key=lambda bend: math.dist(bend.vertex, place))
    turn = math.radians(direction_deg(place, bend.centre) - out_deg)
    return out_deg + math.copysign(90.0, math.sin(turn))


def _leaves(plane: FlatPlane) -> Iterator[tuple[Place, Place, str]]:
    """Return where the tube leaves the plane, a place before that, and what is there."""
    if plane.turn_before_deg is not None:
        yield (
            plane.tube_start,
            plane.points[1],
            f"from bend {plane.bends[0].number - 1}",
        )
    if plane.turn_after_deg is not None:
        yield (
            plane.tube_end,
            plane.points[-2],
            f"on to bend {plane.bends[-1].number + 1}",
        )


def _trim_label(outlet: Outlet, job: Job, ground: Ground) -> tuple[Entity, ...]:
    """Return what is trimmed off, written between the tube's edges if it fits there.

    The bench sheet says it as well, so that it is left out where pages are joined.
    """
    says = f"trim {job.length(job.trim_allowance)}"
    size = min(WORDS, 0.5 * job.tube.radius)
    wide = text_width(says, size)
    if wide > job.trim_allowance - 3.0:
        return ()
    middle = polar(outlet.seat, job.trim_allowance / 2.0, outlet.out_deg)
    reach = (polar(middle, part * wide, outlet.out_deg) for part in (-0.5, 0.5))
    if not ground.is_off_joints(around(reach)):
        return ()
    angle_deg = readable_deg(outlet.out_deg)
    return lettered(
        says,
        polar(middle, -size / 2.0, angle_deg + 90.0),
        size=size,
        anchor="middle",
        angle_deg=angle_deg,
    )


def _across_label(
    says: str, place: Place, wanted_deg: float, half: float, ground: Ground
) -> tuple[Entity, ...]:
    """Return lettering that carries a line across the tube on, where it is free.

    On the wanted side if there is room, else on the other, else further out.
    """
    width = text_width(says, WORDS) + 1.0
    tries = [
        (4.0 * step, wanted_deg + turn_deg)
        for step in range(12)
        for turn_deg in (0.0, 180.0)
    ]
    further, chosen_deg = tries[0]
    for further, chosen_deg in tries:
        near = polar(place, half + further + 1.5 + WORDS, chosen_deg)
        far = polar(place, half + further + 1.5 + width, chosen_deg)
        strip = around((polar(place, half, chosen_deg), far))
        if ground.is_off_joints(strip) and ground.is_strip_free(
            near, far, half_width=0.7 * WORDS
        ):
            break
    start = polar(place, half + further + 1.5, chosen_deg)
    ground.take_line(
        polar(place, half, chosen_deg),
        polar(start, width, chosen_deg),
        half_width=0.7 * WORDS,
    )
    leader: tuple[Entity, ...] = ()
    if further > 0.0:
        begin, end = polar(place, half, chosen_deg), polar(start, -1.0, chosen_deg)
        leader = (Line(start=begin, end=end, layer=Layers.LEADER),)
    angle_deg = readable_deg(chosen_deg)
    is_ahead = math.cos(math.radians(angle_deg - chosen_deg)) > 0.0
    anchor: Anchor = "start" if is_ahead else "end"
    return leader + lettered(
        says,
        polar(start, -WORDS / 2.0, angle_deg + 90.0),
        size=WORDS,
        anchor=anchor,
        angle_deg=angle_deg,
    )


def end_labels(ends: tuple[Outlet, ...], job: Job, ground: Ground) -> Iterator[Entity]:
    """Yield which end each of the tube ends in a plane is, and the port it goes to."""
    for outlet in ends:
        port = cut_to_width(outlet.end.port, width=46.0, size=WORDS)
        width = max(text_width(outlet.name, 3.4, Face.STRONG), text_width(port, WORDS))
        size = (width + 1.0, 9.0)
        middle = _free_middle(_round_end(outlet, job, size), size, ground, spare=0.8)
        ground.take_box(_box(middle, size))
        x, y = middle
        yield from _leader_to_end(outlet, job, middle, size)
        yield from lettered(
            outlet.name, (x, y + 0.6), size=3.4, anchor="middle", face=Face.STRONG
        )
        yield from lettered(port, (x, y - 3.6), size=WORDS, anchor="middle")


def _leader_to_end(
    outlet: Outlet, job: Job, middle: Place, size: Place
) -> tuple[Entity, ...]:
    """Return a thin line from a name to the tube end, if it stands away from it."""
    left, bottom, right, top = _box(middle, size)
    nearest: list[tuple[Place, Place]] = []
    for part in (0.0, 0.25, 0.5, 0.75, 1.0):
        x, y = polar(outlet.seat, part * job.trim_allowance, outlet.out_deg)
        edge = (min(max(x, left), right), min(max(y, bottom), top))
        nearest.append((edge, (x, y)))
    start, end = min(nearest, key=lambda pair: math.dist(*pair))
    if math.dist(start, end) < end_half_width(outlet.end, job) + 3.0:
        return ()
    return (Line(start=start, end=end, layer=Layers.LEADER),)


def _round_end(outlet: Outlet, job: Job, size: Place) -> Iterator[Place]:
    """Return places near a trimmed-off end: beside it first, then beyond it."""
    turn = math.radians(outlet.out_deg)
    wide = abs(size[0] * math.sin(turn)) + abs(size[1] * math.cos(turn))
    half = end_half_width(outlet.end, job)
    for step in range(12):
        by = half + wide / 2.0 + 1.0 + 3.0 * step
        for along in (1.0, 0.5, 0.0):
            base = polar(outlet.seat, along * job.trim_allowance, outlet.out_deg)
            for side_deg in (90.0, -90.0):
                yield polar(base, by, outlet.out_deg + side_deg)
